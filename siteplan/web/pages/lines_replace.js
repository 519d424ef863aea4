// Numbers of the rules replaced for this site: which, by what, why, and who granted it. They print on every sheet.

import { desk } from "./desk.js";
import { button, element, labelled, wrap } from "./element.js";
import { blank, entry, refusal, typedIn } from "./lines_field.js";
import { words } from "./lines_words.js";

const NUMBERS = {
    distance: "Distance", fixed: "Cover", frost_plus: "Below the frost depth", floor: "Never less than", least: "At least", most: "At most",
    depth: "Frost depth", beside: "Beside each other", crossing: "Where they cross", shelf: "Shelf", tolerance: "Hand-dig zone each side",
    casing_height: "Casing above grade", above_flood: "Casing above the flood", times_trunk: "Times the trunk diameter", limit_deg: "Bends between pull points, degrees",
};
const nameOf = (key) => NUMBERS[key] ?? key.replaceAll("_", " ");
let chosen = "";
let sought = "";

export function replacedSection() {
    const stated = words.values.override ?? [];
    const parts = stated.map(replaced);
    if (!stated.length) parts.push(element("p", { text: "Every number stands as the rules have it." }));
    return [...parts, ...adding()];
}

function rowOf(id) {
    return words.rules?.rows.find((row) => row.id === id);
}

function replaced(override, number) {
    const at = ["override", number];
    const row = rowOf(override.row);
    const keys = Object.keys(override).filter((key) => key !== "row" && key !== "reason");
    const set = (key, label) => entry([...at, key], { key, label, sort: "text", required: true, help: "" }, override[key]);
    return wrap("article", [
        element("h3", { text: row ? `${row.heading}: ${row.words}` : override.row }),
        element("p", { className: "hint", text: row ? row.citation : "No row of the rules in force has this name." }),
        wrap("div", [...keys.map((key) => set(key, nameOf(key))), set("reason", "Why, and who granted it")], "facts"),
        ...refusal(at),
        wrap("p", [button("As the rules have it", () => words.change([{ do: "remove", at }], "a number as the rules have it", at))], "tools"),
    ], "card");
}

function adding() {
    if (!words.rules) return [];
    const search = element("input", { type: "search", id: "replace-search", value: sought, autocomplete: "off", placeholder: "such as well, frost, sewer" });
    const select = element("select", { id: "replace-row" });
    const form = element("div", {});
    const show = () => {
        chosen = select.value;
        form.replaceChildren(...rowForm(rowOf(chosen)));
    };
    const list = () => {
        sought = search.value;
        select.replaceChildren(...options(sought.toLowerCase()));
        select.value = rowOf(chosen) && [...select.options].some(({ value }) => value === chosen) ? chosen : "";
        show();
    };
    search.addEventListener("input", list);
    select.addEventListener("change", show);
    list();
    return [element("h3", { text: "Replace a number" }), wrap("div", [labelled("Search the rules", search), labelled("Number of the rules", select)], "stack"), form];
}

// Rows behind the verdicts of the plan first, then all by heading.
function options(part) {
    const judged = new Set((desk.plan?.findings ?? []).map(({ rule }) => rule?.row).filter(Boolean));
    const found = words.rules.rows.filter((row) => `${row.heading} ${row.words} ${row.citation}`.toLowerCase().includes(part));
    const groups = new Map([["Behind the verdicts of this plan", found.filter(({ id }) => judged.has(id))]]);
    for (const row of found) groups.set(row.heading, [...(groups.get(row.heading) ?? []), row]);
    const offered = [...groups].filter(([, rows]) => rows.length).map(([heading, rows]) => {
        const group = element("optgroup", { label: heading });
        group.append(...rows.map((row) => element("option", { value: row.id, text: `${row.words} (${row.layer})` })));
        return group;
    });
    return [element("option", { value: "", text: found.length ? "choose one" : "nothing of that name" }), ...offered];
}

function rowForm(row) {
    if (!row) return [];
    const numbers = wrap("div", Object.entries(row.numbers).map(([key, number]) => blank(["override", "new", key], { key, label: nameOf(key), sort: "text", help: number ? `The rules say ${number}` : "The rules give no single number" })), "facts");
    const why = wrap("div", [
        blank(["override", "new", "reason"], { key: "reason", label: "Why it differs here", sort: "text", required: true, help: "It prints on every sheet" }),
        blank(["override", "new", "who"], { key: "who", label: "Who granted it, or that it is your own choice", sort: "text", required: true, wide: true, example: "Lewis and Clark County, letter of 3 May" }),
    ], "facts");
    const fault = element("p", { className: "fault" });
    fault.setAttribute("role", "alert");
    const write = async () => {
        const { reason, who } = typedIn(why);
        const stated = typedIn(numbers);
        const lacking = [[Object.keys(stated).length, "Type the number with its unit."], [reason, "Say why it differs here."], [who, "Say who granted it."]].find(([given]) => !given);
        fault.textContent = lacking?.[1] ?? "";
        if (lacking) return;
        const kept = row.together ? row.numbers : {};
        const values = { row: row.id, ...kept, ...stated, reason: `${reason}; granted by ${who}` };
        if (await words.change([{ do: "add", table: "override", values }], "a number replaced", ["override", "new"], { ...values, reason, who })) chosen = "";
    };
    return [element("p", { text: `${row.words}. ${row.citation}.` }), numbers, why, fault, ...refusal(["override", "new"]), wrap("p", [button("Replace the number", write, "main")], "tools")];
}

// Another part of the page asks to replace the number of a row.
export function chooseRow(id) {
    chosen = id;
    sought = "";
}
