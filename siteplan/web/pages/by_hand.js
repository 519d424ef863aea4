// Routes fixed by hand: points that a line passes, a trench drawn by hand, sides of the building without an entry. Each is one
// step of the drawing, saved in it and in site.toml together.

import { nearestOn } from "./along.js";
import { at, desk } from "./desk.js";
import { button, element, wrap } from "./element.js";
import { counts } from "./numbers.js";
import { showTab } from "./tabs.js";

const SIDES = ["north", "east", "south", "west"];

let lines = [];
let told = "";
let stopPicking = null;

export function showLines(data) {
    const countsOf = (id) => counts(data.findings.filter(({ subject }) => subject === id));
    lines = data.lines.map((line) => ({ ...line, counts: countsOf(line.id), here: data.by_hand }));
    const words = JSON.stringify(lines.map(({ way, trench, ...rest }) => [rest, way.length > 0, trench.length > 0]));
    if (words === told) return;
    told = words;
    const held = document.activeElement?.dataset?.does;
    at("by-hand").replaceChildren(...lines.map(box));
    at("draw-by-hand").hidden = !data.by_hand || !lines.some(({ trench, drawn }) => trench.length && !drawn);
    if (held) at("by-hand").querySelector(`[data-does="${CSS.escape(held)}"]`)?.focus();
}

function box(line) {
    const does = (what, words, act) => {
        const made = button(words, () => act(line));
        made.dataset.does = `${what} ${line.id}`;
        made.setAttribute("aria-label", `${words}: ${line.name}`);
        return made;
    };
    const parts = [wrap("p", [element("b", { text: line.name }), ` ${line.length}; ${line.counts}. ${how(line)}`])];
    const item = wrap("li", parts);
    item.dataset.line = line.id;
    if (!line.here) return item;
    const tools = [];
    const fixed = line.drawn || line.through.length;
    if (line.way.length) tools.push(does("pin", "Pin a point", pin));
    if (line.drawn) tools.push(does("bend", "Move its bends", ({ drawn }) => bend(drawn)));
    if (fixed) tools.push(does("route", "Let siteplan route it again", routeAgain));
    if (line.building && !line.drawn) item.append(sides(line));
    item.append(wrap("p", tools, "tools"));
    return item;
}

function how(line) {
    if (line.drawn) return `Its trench lies as drawn: ${nameOf(line.drawn)}.`;
    if (line.through.length) return `Routed through ${line.through.map(nameOf).join(", ")}.`;
    return line.way.length ? "Routed by siteplan." : "It needs no trench of its own.";
}

function nameOf(id) {
    return desk.drawing.things.find(({ feature }) => feature.id === id)?.feature.properties?.name || id;
}

function sides(line) {
    const marks = SIDES.map((side) => {
        const box = element("input", { type: "checkbox", checked: line.closed_sides.includes(side) });
        box.dataset.does = `${side} ${line.id}`;
        box.addEventListener("change", () => {
            const closed = SIDES.filter((one) => (one === side ? box.checked : line.closed_sides.includes(one)));
            fix(line, { closed_sides: closed.length ? closed : null }, `sides of ${line.to} for ${line.name}`);
        });
        return wrap("label", [box, ` ${side}`]);
    });
    return wrap("fieldset", [element("legend", { text: `Sides of ${line.to} that ${line.name} may not enter` }), ...marks], "sides");
}

// Write some of {drawn, through, closed_sides} of a line, with things that come and go.
function fix(line, keys, words, { add = [], remove = [] } = {}) {
    const control = Object.entries(keys).map(([key, value]) => [["line", line.id, key], value]);
    return desk.drawing.fix({ add, remove, control }, words);
}

// --- points

function pin(line) {
    pick(`${line.name}: click or tap the point that it is to pass.`, (place) => {
        const id = desk.drawing.freeId("pass_point");
        const point = { type: "Feature", id, properties: { kind: "pass_point", name: `${line.name}: pinned`, method: "drawn" }, geometry: { type: "Point", coordinates: place } };
        const drawn = drawnThing(line);
        const through = inOrder(line, [...line.through, id], new Map([[id, place]]));
        const { key } = fix(line, { drawn: null, through }, `pin a point for ${line.name}`, { add: [point], remove: drawn ? [drawn.key] : [] })[0];
        choose(key);
    });
}

// Points in the order in which the trench comes to them.
function inOrder(line, ids, fresh) {
    const { map } = desk.ground;
    const project = ([longitude, latitude]) => map.project([latitude, longitude]);
    const along = new Map(ids.map((id) => {
        const place = fresh.get(id) ?? desk.drawing.things.find(({ feature }) => feature.id === id)?.feature.geometry.coordinates;
        return [id, place ? nearestOn(line.way, place, project).part : Infinity];
    }));
    return [...ids].sort((one, other) => along.get(one) - along.get(other));
}

// Have one place pointed at on the map, whatever lies there.
function pick(words, take) {
    stopPicking?.();
    const { map } = desk.ground;
    const ground = map.getContainer();
    const done = (place) => {
        stopPicking();
        if (place) take(place.map((part) => Number(part.toFixed(9))));
    };
    const clicked = (event) => {
        if (event.target.closest(".leaflet-control")) return;
        event.stopPropagation();
        const { lng, lat } = map.mouseEventToLatLng(event);
        done([lng, lat]);
    };
    const keyed = (event) => event.key === "Escape" && done(null);
    stopPicking = () => {
        ground.removeEventListener("click", clicked, true);
        removeEventListener("keydown", keyed, true);
        ground.classList.remove("drawing");
        at("by-hand-picking").hidden = true;
        stopPicking = null;
    };
    ground.addEventListener("click", clicked, true);
    addEventListener("keydown", keyed, true);
    ground.classList.add("drawing");
    at("by-hand-words").textContent = words;
    at("by-hand-tools").replaceChildren(
        button("Put it in the middle of the map", () => done(desk.ground.middle)),
        button("Cancel", () => done(null)),
    );
    at("by-hand-picking").hidden = false;
}

// --- the trench

function drawnThing(line) {
    return line.drawn ? desk.drawing.things.find(({ feature }) => feature.id === line.drawn) : null;
}

// Every trench as it lies becomes a drawn route of one of the lines in it, so that the plan stays as it is until a bend is moved.
function drawByHand() {
    const taken = new Set(desk.drawing.things.map(({ feature }) => feature.id));
    let number = 0;
    const freeId = () => {
        do number += 1; while (taken.has(`drawn_route-${number}`));
        return `drawn_route-${number}`;
    };
    const routes = lines.filter(({ trench, drawn }) => trench.length && !drawn).map((line) => ({ line, id: freeId() }));
    const add = routes.map(({ line, id }) => ({
        type: "Feature", id, properties: { kind: "drawn_route", name: `${line.name}: by hand`, method: "drawn" },
        geometry: { type: "LineString", coordinates: line.trench },
    }));
    const control = routes.flatMap(({ line, id }) => Object.entries({ drawn: id, through: null, closed_sides: null }).map(([key, value]) => [["line", line.id, key], value]));
    const remove = routes.flatMap(({ line }) => pinsOf(line));
    desk.drawing.fix({ add, remove, control }, "draw the trenches by hand");
    bend(routes[0].id);
}

function bend(id) {
    const thing = desk.drawing.things.find(({ feature }) => feature.id === id);
    if (thing) choose(thing.key);
}

// Choose a thing so that its handles can be dragged, and stay with the plan.
function choose(key) {
    desk.ground.dispatchEvent(new CustomEvent("choose", { detail: { key } }));
    showTab("plan");
}

// Pinned points of a line that no other line passes.
function pinsOf(line) {
    const others = new Set(lines.filter((other) => other.id !== line.id).flatMap(({ through }) => through));
    const own = new Set(line.through.filter((id) => !others.has(id)));
    return desk.drawing.things.filter(({ feature }) => own.has(feature.id)).map(({ key }) => key);
}

function routeAgain(line) {
    const drawn = drawnThing(line);
    const remove = [...pinsOf(line), ...(drawn ? [drawn.key] : [])];
    fix(line, { drawn: null, through: null }, `route ${line.name} again`, { remove });
}

export function beginByHand() {
    at("draw-by-hand").addEventListener("click", drawByHand);
}
