// The plan in numbers: trench, cut, dirt and price, what the price leaves out, the take-off, and each line's length.

import { at } from "./desk.js";
import { element, wrap } from "./element.js";

const STAGES = { searched: "Searched through from nothing, and not proven yet." };

export function showNumbers({ stage, numbers, price, take_off: takeOff, certificate }) {
    at("stage").textContent = [STAGES[stage], certificate].filter(Boolean).join(" ");
    at("numbers").replaceChildren(...numbers.map(([name, value]) => pair(name, value)), priceOf(price));
    at("price-words").textContent = [price.words, price.sharing].filter(Boolean).join(" ");
    if (price.left_out) at("left-out").replaceChildren(...price.left_out.map((words) => element("li", { text: words })));
    fill("take-off", takeOff);
    fill("prices", price.rows);
}

function pair(name, ...value) {
    return wrap("div", [element("dt", { text: name }), element("dd", { text: value.join("") })]);
}

function priceOf({ low, likely, high }) {
    const box = pair("Price of the trench, likely", likely);
    box.className = "price";
    box.append(element("dd", { className: "range", text: `low ${low}, high ${high}` }));
    return box;
}

function fill(id, rows) {
    at(id).tBodies[0].replaceChildren(...rows.map((cells) => wrap("tr", cells.map((text, n) => element(n ? "td" : "th", n ? { text } : { text, scope: "row" })))));
}

// "1 short · 2 not checked": how much of the review wants a look.
export function counts(findings) {
    const number = new Map();
    const open = findings.filter(({ verdict }) => isOpen(verdict));
    for (const { verdict } of open) number.set(verdict, (number.get(verdict) ?? 0) + 1);
    return [...number].map(([verdict, count]) => `${count} ${verdict}`).join(" · ") || "nothing short or open";
}

export const isOpen = (verdict) => !["clear", "not applicable"].includes(verdict);
