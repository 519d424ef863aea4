// The price table: low, likely and high of each row. Only rows that differ from the usual ones are written.

import { element, wrap } from "./element.js";
import { refusal, tableForm } from "./lines_field.js";
import { keyOf, words } from "./lines_words.js";

const SORTS = ["low", "likely", "high"];

export function pricesSection() {
    const own = words.values.rates ?? {};
    const { rows, currency } = words.state.prices;
    const body = element("tbody", {});
    body.append(...rows.map((row) => priceRow(row, own[row.id])));
    const head = wrap("thead", [wrap("tr", ["What", ...SORTS.map((sort) => sort[0].toUpperCase() + sort.slice(1))].map((text) => element("th", { scope: "col", text })))]);
    return [
        element("p", { text: `For scale only: your own prices belong here. The usual ones are in ${currency}. Empty the three fields of a row to have the usual prices back.` }),
        ...tableForm("rates"),
        wrap("table", [head, body], "prices"),
    ];
}

function priceRow(row, own) {
    const at = ["rates", row.id];
    const now = Array.isArray(own) ? own : own === undefined ? row.usual : [own, own, own];
    const refused = words.refused.get(keyOf(at));
    const inputs = SORTS.map((sort, place) => {
        const input = element("input", { value: refused?.typed?.[place] ?? String(now[place] ?? ""), id: `entry-rates-${row.id}-${sort}`, inputMode: "decimal", autocomplete: "off" });
        input.setAttribute("aria-label", `${row.name}, ${sort}`);
        input.dataset.shown = input.value;
        input.addEventListener("change", () => write(row, own, inputs.map(({ value }) => value.trim())));
        return input;
    });
    const per = row.unit === "each" ? "each" : `a ${row.unit === "m" ? "metre" : "foot"}`;
    const name = wrap("th", [`${row.name}, ${per}`, ...(own === undefined ? [] : [" ", element("b", { text: "yours" })]), ...refusal(at)]);
    name.scope = "row";
    name.title = row.source;
    return wrap("tr", [name, ...inputs.map((input) => wrap("td", [input]))]);
}

function write(row, own, typed) {
    const at = ["rates", row.id];
    const empty = typed.every((one) => one === "");
    const usual = typed.every((one, place) => one !== "" && Number(one) === row.usual[place]);
    if (empty || usual) {
        words.change(own === undefined ? [{ do: "set", at, to: "" }] : [{ do: "remove", at }], `usual prices of ${row.name}`, at, typed);
        return;
    }
    if (typed.some((one) => one === "")) return;
    words.change([{ do: "set", at, to: typed }], `price of ${row.name}`, at, typed);
}
