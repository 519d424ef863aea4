// Forms that change or make a shape by typed lengths and directions. The server reads them and works the shape out.

import { ask } from "./api.js";
import { button, element, labelled, wrap } from "./element.js";
import { angleAt, bearingOf, sideM } from "./flat.js";
import { cornersOf } from "./corners.js";
import { lengthText } from "./shapes.js";

const SQUARE_DEG = 1;
const LENGTH = { ft: "such as 36 ft 6 in", "ft-in": "such as 36 ft 6 in", m: "such as 11.1 m" };
const BEARING = "such as N 26 10 E, or 90";

// A form of some fields [name, title, options] and a button; `act` gets what is typed and answers {ok, data}.
function typedForm(title, fields, words, act) {
    const inputs = Object.fromEntries(fields.map(([name, , options]) => [name, field(options)]));
    const fault = element("p", { className: "fault" });
    fault.setAttribute("role", "alert");
    const form = wrap("form", [
        element("h3", { text: title }),
        wrap("div", fields.map(([name, label]) => labelled(label, inputs[name])), "facts"),
        element("button", { text: words }),
        fault,
    ], "typed");
    form.addEventListener("submit", async (event) => {
        event.preventDefault();
        const typed = Object.fromEntries(Object.entries(inputs).map(([name, input]) => [name, input.value.trim()]));
        const { ok, data } = await act(typed);
        fault.textContent = ok ? "" : data.faults.join(" ");
    });
    return form;
}

function field({ choices, ...options }) {
    if (!choices) return element("input", { type: "text", autocomplete: "off", ...options });
    const select = element("select", {});
    for (const [value, text] of choices) select.append(element("option", { value, text }));
    return select;
}

// An area by its sides: `lay` gets what was typed and the outline about the middle of the map, to be put down.
export function bySidesForm(units, middle, lay) {
    return typedForm("By its sides", [
        ["width", "Length of the first wall", { placeholder: LENGTH[units] }],
        ["depth", "Depth, square to it", { placeholder: LENGTH[units] }],
        ["direction", "Direction of the first wall", { value: "90", placeholder: BEARING }],
        ["side", "The depth goes", { choices: [["left", "to the left of it"], ["right", "to the right of it"]] }],
        ["held", "Put down by its", { choices: [["corner", "first corner"], ["middle", "middle"]] }],
    ], "Put it on the map", async (typed) => {
        const at = middle();
        const answer = await outlineAt(typed, at);
        if (answer.ok) lay(typed, { about: at, geometry: answer.data.geometry });
        return answer;
    });
}

export const outlineAt = (typed, at) => ask("POST", "/api/draft/rectangle", { ...typed, at });

// Size, move and turn the chosen thing. `change(geometry, words)` takes what the server answers.
export function changeForms(geometry, units, change) {
    const asking = (name, words, more) => async (typed) => {
        const answer = await ask("POST", `/api/draft/${name}`, { ...typed, geometry: more() });
        if (answer.ok) change(answer.data.geometry, words);
        return answer;
    };
    const forms = [];
    const sides = rectangleSides(geometry);
    const now = () => geometry;
    if (sides) {
        const [width, depth] = sides.map((side) => lengthText(side, units));
        forms.push(typedForm("Size", [
            ["width", "First wall, corner 1 to 2", { value: width }],
            ["depth", "Wall square to it, corner 2 to 3", { value: depth }],
        ], "Size it", asking("resize", "size", now)));
    }
    forms.push(typedForm("Move", [
        ["length", "How far", { placeholder: LENGTH[units] }],
        ["direction", "Direction", { placeholder: BEARING }],
    ], "Move it", asking("move", "move", now)));
    if (geometry.type !== "Point") {
        forms.push(typedForm("Turn about its middle", [
            ["degrees", "Degrees", { placeholder: "such as 15" }],
            ["sense", "Which way", { choices: [["right", "to the right, as the clock goes"], ["left", "to the left"]] }],
        ], "Turn it", asking("turn", "turn", now)));
    }
    return forms;
}

// Lengths of the first two sides [m] of an area with four square corners; null of any other.
function rectangleSides(geometry) {
    const { places, closed } = cornersOf(geometry) ?? {};
    if (!closed || places.length !== 4) return null;
    const square = places.every((place, n) => Math.abs(angleAt(places.at(n - 1), place, places[(n + 1) % 4]) - 90) <= SQUARE_DEG);
    return square ? [sideM(places[0], places[1]), sideM(places[1], places[2])] : null;
}

// The corners of a line or an area: side to the next, its direction, the angle at the corner. A typed length moves the next corner.
// `act` is {reach(number), add(number), takeOut(number), putCorner(number, place)}.
export function cornerTable(geometry, units, act) {
    const { places, closed } = cornersOf(geometry);
    const table = element("table", { id: "corners" });
    const head = ["Corner", "Side to the next", "Direction", "Angle", ""].map((text) => element("th", { scope: "col", text }));
    const fault = element("p", { className: "fault" });
    fault.setAttribute("role", "alert");
    const rows = places.map((place, n) => {
        const next = places[n + 1] ?? (closed ? places[0] : null);
        const [before, after] = [closed ? places.at(n - 1) : places[n - 1], next];
        const reach = button(String(n + 1), () => act.reach(n));
        reach.setAttribute("aria-label", `Go to corner ${n + 1} on the map`);
        const side = next && element("input", { type: "text", autocomplete: "off", value: lengthText(sideM(place, next), units) });
        side?.setAttribute("aria-label", `Side from corner ${n + 1} to ${(n + 1) % places.length + 1}`);
        side?.addEventListener("change", async () => {
            const asked = { from: place, towards: next, length: side.value };
            const { ok, data } = await ask("POST", "/api/draft/step", asked);
            fault.textContent = ok ? "" : data.faults.join(" ");
            if (ok) act.putCorner((n + 1) % places.length, data.place);
        });
        const angle = before && after ? `${angleAt(before, place, after).toFixed(1)}°` : "";
        const more = button("Add", () => act.add(n));
        more.setAttribute("aria-label", `New corner after corner ${n + 1}`);
        const less = button("Take out", () => act.takeOut(n));
        less.setAttribute("aria-label", `Take out corner ${n + 1}`);
        const cells = [reach, side ?? "", next ? `${bearingOf(place, next).toFixed(1)}°` : "", angle, wrap("span", [more, " ", less])];
        return wrap("tr", cells.map((cell) => wrap("td", [cell])));
    });
    table.append(wrap("thead", [wrap("tr", head)]), wrap("tbody", rows));
    const hint = element("p", { className: "hint", text: "A typed length moves the corner at its end." });
    return wrap("div", [table, hint, fault]);
}
