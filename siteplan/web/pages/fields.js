// Fields of a form: a label, a field under it, a hint, and a line for what is wrong with it.

import { element, labelled } from "./element.js";

const EXAMPLES = {
    ft: { length: "such as 18 in or 4 ft 6 in", volume: "such as 1000 gal", potential: "such as 240 V", current: "such as 20 A", number: "a number" },
    m: { length: "such as 450 mm or 1.4 m", volume: "such as 3800 L", potential: "such as 230 V", current: "such as 20 A", number: "a number" },
};
const UNIT_AT_END = [[/ gpm$/, " (gallons a minute)"], [/ gpd$/, " (gallons a day)"], [/ percent$/, " (percent)"], [/ gallons$/, " (gallons)"], [/ min per inch$/, " (minutes an inch)"]];
let lists = 0;

// A field that `change`s when it is left; `name` is the key of what it writes.
export function text(title, name, value, change, { known, ...options } = {}) {
    const input = element("input", { type: "text", autocomplete: "off", ...options, value: value === undefined || value === null ? "" : String(value) });
    input.addEventListener("change", () => change(input.value.trim()));
    const box = named(title, name, input);
    if (known) {
        lists += 1;
        const list = element("datalist", { id: `known-${lists}` });
        for (const one of known) list.append(element("option", { value: one }));
        input.setAttribute("list", list.id);
        box.append(list);
        if (known.length <= 8) box.append(element("p", { className: "hint", text: `The rules know: ${known.join(", ")}.` }));
    }
    return box;
}

export function choice(title, name, value, options, change) {
    const select = element("select", {});
    const all = options.some(([id]) => id === value) ? options : [[value ?? "", String(value ?? "not stated")], ...options];
    for (const [id, words] of all) select.append(element("option", { value: id, text: words }));
    select.value = value ?? "";
    select.addEventListener("change", () => change(select.value));
    return named(title, name, select);
}

// A field for a fact of a sort of layers/kinds.toml.
export function fact(name, sort, value, units, known, change) {
    const title = titled(name);
    if (sort === "yes_no") {
        const shown = value === true || value === false ? (value ? "yes" : "no") : String(value ?? "");
        const options = [["", "not stated"], ["yes", "yes"], ["no", "no"]];
        const all = ["", "yes", "no"].includes(shown) ? options : [...options, [shown, shown]];
        return choice(title, name, shown, all, (chosen) => change(chosen === "" ? "" : chosen === "yes"));
    }
    const number = (typed) => (typed !== "" && Number.isFinite(Number(typed)) ? Number(typed) : typed);
    const placeholder = EXAMPLES[units === "m" ? "m" : "ft"][sort] ?? "";
    const write = sort === "number" ? (typed) => change(number(typed)) : change;
    return text(title, name, value, write, { type: sort === "date" ? "date" : "text", placeholder, known });
}

// Show what is wrong with a field at the field; "" if nothing is.
export function fault(box, words) {
    const field = box.querySelector("input, select, textarea");
    const line = box.querySelector(".fault") ?? element("p", { className: "fault" });
    if (!line.isConnected) box.append(line);
    line.id ||= `${field.id}-fault`;
    line.textContent = words;
    line.hidden = !words;
    if (words) {
        field.setAttribute("aria-invalid", "true");
        field.setAttribute("aria-describedby", line.id);
    } else {
        field.removeAttribute("aria-invalid");
        field.removeAttribute("aria-describedby");
    }
}

function named(title, name, field) {
    const box = labelled(title, field);
    box.dataset.key = name;
    return box;
}

function titled(name) {
    const words = UNIT_AT_END.reduce((words, [end, unit]) => words.replace(end, unit), name.replaceAll("_", " "));
    return words[0].toUpperCase() + words.slice(1);
}
