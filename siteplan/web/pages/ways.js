// Other ways to lay the trench: each with what it costs more or less and why; drawn beside the plan, and taken as the plan.

import { ask } from "./api.js";
import { at, desk } from "./desk.js";
import { button, element, wrap } from "./element.js";

let shown = null;
let told = "";

export function showWays({ stage, ways, by_hand: here }) {
    const words = JSON.stringify([stage, ways]);
    if (words === told) return;
    told = words;
    show(null);
    at("ways-count").textContent = ways.length ? `${ways.length}, the first ${ways[0].difference}` : stage === "proven" ? "none found" : "sought when the plan is proven";
    at("ways").replaceChildren(...ways.map((way) => row(way, here)));
}

function row(way, here) {
    const name = button(way.name, () => show(shown === way.number ? null : way.number));
    name.setAttribute("aria-pressed", "false");
    name.dataset.way = way.number;
    const take = button("Take this way", () => takeWay(way, take));
    const told = [wrap("p", [name, element("b", { text: way.price })], "tools"), element("p", { text: `${way.length} of trench. ${way.why}` })];
    return wrap("li", here ? [...told, wrap("p", [take], "tools")] : told);
}

function show(number) {
    shown = number;
    for (const name of at("ways").querySelectorAll("[data-way]")) name.setAttribute("aria-pressed", String(Number(name.dataset.way) === number));
    desk.ground?.plan.showWay(number);
    if (number !== null) at("ways-state").textContent = "";
}

// Fix the way in the drawing and in site.toml; it is undone like any change of the drawing.
async function takeWay(way, pressed) {
    pressed.disabled = true;
    at("ways-state").textContent = "Planning it again, to see that it comes out the same";
    const { ok, data } = await ask("POST", "/api/plan/way", { number: way.number });
    pressed.disabled = false;
    at("ways-state").textContent = ok ? "" : data.faults.join(" ");
    if (!ok) return;
    const lines = new Set(data.control.filter(([path]) => path[0] === "line").map(([path]) => path[1]));
    const drawn = [...lines].map((line) => desk.drawing.control("line", line, "drawn"));
    const remove = desk.drawing.things.filter(({ feature }) => drawn.includes(feature.id)).map(({ key }) => key);
    show(null);
    desk.drawing.fix({ add: data.features, remove, control: data.control }, `take the way ${way.name}`);
    at("ways-state").textContent = `Taken: ${way.name}, planned at ${data.price}. Undo takes it back.`;
}
