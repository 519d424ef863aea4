// What must be mended, above everything else in the panel: why the drawing is not saved, or why it has no plan.

import { at } from "./desk.js";
import { button, element } from "./element.js";

const shown = new Map();
const ORDER = ["saving", "planning", "other"];

// Show a problem {head, lines, tools: [[words, act]]} from a source of ORDER, or none (null). The first in order is shown.
export function problem(source, what) {
    if (what === null) shown.delete(source);
    else shown.set(source, what);
    const one = ORDER.map((name) => shown.get(name)).find(Boolean);
    at("problems").hidden = !one;
    if (!one) return;
    at("problems-head").textContent = one.head;
    at("problems-list").replaceChildren(...one.lines.map((line) => element("li", { text: line })));
    at("problems-tools").replaceChildren(...(one.tools ?? []).map(([words, act]) => button(words, act)));
}
