// Fields of the forms of site.toml: label, help, how it is typed, and under it what was expected where it was refused.

import { button, element, wrap } from "./element.js";
import { keyOf, words } from "./lines_words.js";

const WIDE = new Set(["address", "at", "beyond_lot", "directions", "instruments", "legal", "machine", "reason", "scales", "way_in"]);
const YES_NO = [["yes", "yes"], ["no", "no"]];

export const capital = (text) => text.charAt(0).toUpperCase() + text.slice(1);

// A field of a form for a value of the file; a change is sent at once.
// `more` may hold {options: [[value, words]] or [[group, [[value, words]]]], usual, edits(value): what to send instead, label}.
export function entry(at, field, value, more = {}) {
    const label = more.label ?? field.label;
    const write = (typed, raw = typed) => words.change(more.edits?.(typed) ?? [{ do: "set", at, to: typed }], label, at, raw);
    return fieldOf(at, { ...field, ...more, label }, value, write);
}

// A field of a form that is sent as a whole. `read()` of the box gives what is typed.
export function blank(at, field, value, more = {}) {
    const box = fieldOf(at, { ...field, ...more, label: more.label ?? field.label }, value, () => {});
    box.querySelector("input, select").dataset.blank = keyOf(at);
    return box;
}

// Read the fields of a blank form by key; those left empty are left out.
export function typedIn(box) {
    const found = [...box.querySelectorAll("[data-key]")].map((field) => [field.dataset.key, field.entered()]);
    return Object.fromEntries(found.filter(([, value]) => value !== "" && value !== undefined));
}

function fieldOf(at, field, value, write) {
    const refused = words.refused.get(keyOf(at));
    const shown = refused?.typed !== undefined ? refused.typed : asTyped(value, field.sort);
    const control = controlOf(field, shown, write);
    control.id = `entry-${at.join("-")}`;
    control.dataset.shown = control.value;
    if (field.required) control.required = true;
    const box = wrap("div", [element("label", { htmlFor: control.id, text: field.label }), control], field.wide || WIDE.has(field.key) ? "entry wide" : "entry");
    box.dataset.key = field.key;
    box.entered = () => fromTyped(control.value.trim(), field.sort);
    const about = [];
    if (field.help) about.push(note(box, `${control.id}-help`, capital(field.help), "hint"));
    const wrong = refused?.words ? `Not written: ${refused.words}` : words.faultAt(at)?.words;
    if (wrong) {
        about.push(note(box, `${control.id}-fault`, capital(wrong), "fault"));
        control.setAttribute("aria-invalid", "true");
    }
    if (about.length) control.setAttribute("aria-describedby", about.join(" "));
    return box;
}

function note(box, id, text, className) {
    box.append(element("p", { id, text, className }));
    return id;
}

function controlOf(field, shown, write) {
    const send = (control) => write(fromTyped(control.value.trim(), field.sort), control.value);
    let control;
    if (field.sort === "yes_no" || field.sort === "choice") {
        control = chooser(field, shown);
    } else {
        control = element("input", { value: shown, type: field.sort === "date" ? "date" : "text", autocomplete: "off", spellcheck: false });
        if (field.example && field.sort !== "date") control.placeholder = `such as ${field.example}`;
    }
    control.addEventListener("change", () => send(control));
    return control;
}

function chooser(field, shown) {
    const options = field.sort === "yes_no" ? YES_NO : field.options;
    const usual = field.usual === true ? "yes" : field.usual;
    const none = [["", field.required ? "choose one" : usual ? `not stated: ${usual}` : "not stated"]];
    const offered = options.flatMap(([first, second]) => (Array.isArray(second) ? second : [[first, second]]));
    const strange = shown !== "" && !offered.some(([value]) => value === shown) ? [[shown, `${shown} (${field.strange ?? "unknown"})`]] : [];
    const control = element("select", {});
    const rows = [...(field.required && shown !== "" ? [] : none), ...strange, ...options];
    for (const [first, second] of rows) {
        if (!Array.isArray(second)) control.append(element("option", { value: first, text: second }));
        else if (second.length) {
            const group = element("optgroup", { label: first });
            group.append(...second.map(([value, text]) => element("option", { value, text })));
            control.append(group);
        }
    }
    control.value = shown;
    return control;
}

function asTyped(value, sort) {
    if (value === undefined || value === null) return "";
    if (sort === "yes_no") return value === true ? "yes" : value === false ? "no" : String(value);
    return Array.isArray(value) ? value.join(", ") : String(value);
}

function fromTyped(typed, sort) {
    if (sort === "yes_no" && typed !== "") return typed === "yes" ? true : typed === "no" ? false : typed;
    return typed;
}

// What was refused of a whole form or card, or nothing.
export function refusal(at) {
    const refused = words.refused.get(keyOf(at));
    return refused?.words ? [element("p", { className: "fault", text: `Not written: ${refused.words}` })] : [];
}

// Whether anything of a card or form was refused.
export const refusedIn = (at) => [...words.refused.keys()].some((key) => key === keyOf(at) || key.startsWith(`${keyOf(at)}.`));

// The form of a table of the file. One that may be missing is sent as a whole, and can be taken out.
export function tableForm(table, { leaveOut = [], optional = "", instead = {} } = {}) {
    const stated = words.values[table];
    const fields = words.forms[table].filter(({ key }) => !leaveOut.includes(key));
    if (!optional || stated) {
        const grid = wrap("div", fields.map((field) => entry([table, field.key], field, stated?.[field.key], exchanged(table, field.key, instead, stated))), "facts");
        const out = optional ? [wrap("p", [button(`Take out ${optional}`, () => words.change([{ do: "remove", at: [table] }], `${optional} taken out`, [table]))], "tools")] : [];
        return [grid, ...refusal([table]), ...out];
    }
    const grid = wrap("div", fields.map((field) => blank([table, field.key], field)), "facts");
    const write = () => {
        const values = typedIn(grid);
        words.change([{ do: "add", table, values }], `${optional} added`, [table], values);
    };
    return [grid, ...refusal([table]), wrap("p", [button(`Write ${optional}`, write, "main")], "tools")];
}

// Where one key stands instead of another, stating one takes the other out.
function exchanged(table, key, instead, stated) {
    const other = instead[key];
    if (!other || stated?.[other] === undefined) return {};
    return { edits: (value) => [{ do: "remove", at: [table, other] }, { do: "set", at: [table, key], to: value }] };
}
