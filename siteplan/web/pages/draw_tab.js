// The tab of the drawing: add a thing, choose one, change it in its form.

import { cornerAfter, cornersOf, withCorner, withoutCorner } from "./corners.js";
import { at, desk } from "./desk.js";
import { element } from "./element.js";
import { showFirstSteps } from "./first_steps.js";
import { setHeight } from "./flat.js";
import { chosenForm, showFaults } from "./form.js";
import { SORT_OF, placesText, readPlace, shapeAt, sizeText } from "./shapes.js";
import { beginDrawing, watchPen } from "./strip.js";
import { showTab } from "./tabs.js";
import { listThings } from "./things_list.js";
import { bySidesForm, outlineAt } from "./typed.js";

const STEP_M = { ft: 0.3048, "ft-in": 0.3048, m: 1 };
const ARROWS = { ArrowUp: [0, 1], ArrowDown: [0, -1], ArrowLeft: [-1, 0], ArrowRight: [1, 0] };

let chosen = null;
let chosenKind;
let mode = "";
let wanted = null;
let wrong = [];
let startedWith;

export function choose(key, how) {
    const thing = desk.drawing.thing(key);
    const sort = SORT_OF[thing?.feature.geometry?.type];
    const another = thing && key !== chosen;
    chosen = thing ? key : null;
    mode = thing ? how ?? (sort === "point" ? "move" : "corners") : "";
    desk.ground.choose(chosen, mode);
    if (another) showTab("draw");
    showForm();
    if (another) at("chosen").scrollIntoView();
    desk.tell("choose", { key: chosen });
}

function showForm() {
    const thing = desk.drawing.thing(chosen);
    chosenKind = thing?.feature.properties?.kind;
    at("chosen").hidden = !thing;
    at("add").hidden = Boolean(thing) || !at("grid").hidden;
    if (!thing) {
        at("chosen").replaceChildren();
        return;
    }
    const { kinds, words, units, drawing, ground } = desk;
    const now = () => drawing.thing(chosen).feature;
    const put = (geometry, what) => geometry && drawing.replace(chosen, { ...now(), geometry }, "page", { words: `${what} ${nameOf(now())}` });
    at("chosen").replaceChildren(...chosenForm({
        feature: thing.feature, kinds, words, units, mode,
        act: {
            change: (update) => drawing.replace(chosen, update(now()), "form"),
            put,
            putCorner: (number, place) => put(withCorner(now().geometry, number, place), "size a side of"),
            remove: () => drawing.remove(chosen),
            done: () => choose(null),
            mode: (name) => choose(chosen, name),
            reach: (number) => {
                choose(chosen, "corners");
                ground.handles.focus(`corner ${number + 1}`);
            },
            add: (number) => put(cornerAfter(now().geometry, number), "add a corner to"),
            takeOut: (number) => put(withoutCorner(now().geometry, number), "take a corner out of"),
        },
    }));
    showFaults(at("chosen"), thing.feature.id, wrong);
}

const nameOf = ({ id, properties }) => properties?.name || id || "it";

// Follow a change without taking the field away from under the hands; another kind has other fields.
function followForm() {
    const { geometry, properties } = desk.drawing.thing(chosen)?.feature ?? {};
    if (chosenKind !== properties?.kind) return void refreshForm();
    at("chosen-size").textContent = sizeText(geometry, desk.units);
    at("chosen-head").textContent = properties.name || desk.kinds.get(properties.kind)?.name || "Unnamed";
    if (at("places")) at("places").value = placesText(geometry);
}

// Build the form anew: what was open stays open, and the focus stays where it was.
function refreshForm() {
    const fields = () => [...at("chosen").querySelectorAll("input, select, textarea, button, summary")];
    const place = fields().indexOf(document.activeElement);
    const open = [...at("chosen").querySelectorAll("details[open]")].map(({ id }) => id);
    showForm();
    for (const id of open) at(id)?.setAttribute("open", "");
    if (place >= 0) fields()[place]?.focus();
}

function addThing(kind, geometry) {
    const id = desk.drawing.freeId(kind.id);
    const name = kind.name[0].toUpperCase() + kind.name.slice(1);
    const properties = { kind: kind.id, name, method: "drawn" };
    const { key } = desk.drawing.add({ type: "Feature", id, properties, geometry });
    choose(key);
    if (matchMedia("(pointer: fine)").matches) at("chosen").querySelector("input")?.focus();
}

function fillKinds(groups) {
    desk.kinds.clear();
    at("add-kind").replaceChildren(...groups.map((group) => {
        const box = element("optgroup", { label: group.name });
        for (const kind of group.kinds) {
            desk.kinds.set(kind.id, { ...kind, group: group.name });
            box.append(element("option", { value: kind.id, text: kind.name }));
        }
        return box;
    }));
    fillShapes();
}

function fillShapes() {
    const { shapes } = desk.kinds.get(at("add-kind").value);
    at("add-shape").replaceChildren(...shapes.map((sort) => element("option", { value: sort, text: sort })));
    at("add-shape").disabled = shapes.length === 1;
    showSides();
}

function showSides() {
    at("by-sides").hidden = at("add-shape").value !== "area";
}

const toDraw = () => [desk.kinds.get(at("add-kind").value), at("add-shape").value];

function begin(kind, sort, typed = null, outline = null) {
    choose(null);
    wanted = { kind, typed };
    beginDrawing(kind.name, sort, outline);
}

function firstSteps() {
    const draw = (kind, sort) => {
        at("add-kind").value = kind;
        fillShapes();
        at("add-shape").value = sort;
        showSides();
        begin(desk.kinds.get(kind), sort);
    };
    showFirstSteps({ begin: draw, startedWith });
    startedWith = undefined;
}

// The site has been read: fill the tools before the map is made.
export function takeSite({ catalogue, words, elevation_m: heightM, starting, units }) {
    fillKinds(catalogue.groups);
    desk.words = words;
    startedWith = starting;
    setHeight(heightM);
    at("by-sides").replaceChildren(element("summary", { text: "By its sides: type length and depth" }), bySidesForm(units, () => desk.ground.middle, (typed, outline) => begin(toDraw()[0], "area", typed, outline)));
}

// A drawing has been read: show it from the start.
export function showDrawing() {
    const { ground, drawing } = desk;
    choose(null);
    ground.render(drawing.things);
    list();
    if (ground.showAll()) ground.placed = true;
    at("go").hidden = ground.placed;
    firstSteps();
}

function list() {
    listThings((key) => {
        choose(key);
        desk.ground.goToThing(key);
        at("chosen").querySelector("button")?.focus();
    });
}

export function watchGround() {
    const { ground, drawing, follower } = desk;
    watchPen();
    ground.addEventListener("choose", ({ detail: { key } }) => choose(key));
    ground.addEventListener("drawn", ({ detail: { geometry } }) => addThing(wanted.kind, geometry));
    ground.addEventListener("put", async ({ detail: { place } }) => {
        const { kind, typed } = wanted;
        const { ok, data } = await outlineAt(typed, place);
        if (ok) addThing(kind, data.geometry);
    });
    const take = ({ key, geometry }, from, options) => {
        const thing = drawing.thing(key);
        if (thing) drawing.replace(key, { ...thing.feature, geometry }, from, options);
    };
    ground.addEventListener("carried", ({ detail: { key, geometry } }) => follower.carry(drawing.collectionWith(key, geometry)));
    ground.addEventListener("back", () => follower.putBack());
    ground.addEventListener("changed", ({ detail }) => {
        const thing = drawing.thing(detail.key);
        if (thing) take(detail, "page", { words: `${detail.what} ${nameOf(thing.feature)}` });
    });
    ground.addEventListener("nudged", ({ detail }) => take(detail, "nudge", { words: detail.what, joins: `${detail.key} ${detail.what}` }));
}

function showHistory() {
    const { drawing } = desk;
    for (const [id, title, words] of [["undo", "Undo", drawing.undoWords], ["redo", "Redo", drawing.redoWords]]) {
        at(id).disabled = words === null;
        at(id).textContent = words === null ? title : `${title}: ${words}`;
        at(id).title = at(id).textContent;
    }
}

// Arrow keys move the chosen thing, or the corner that has the focus, by a foot or a metre; with Shift by a tenth.
function nudge(event) {
    const way = ARROWS[event.key];
    const typing = event.target.matches?.("input, textarea, select, [role=tab], .handle.turn");
    if (!way || typing || chosen === null || desk.ground.pen.sort || event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.target !== document.body && !at("map").contains(event.target)) return;
    event.preventDefault();
    event.stopPropagation();
    const step = STEP_M[desk.units] * (event.shiftKey ? 0.1 : 1);
    desk.ground.handles.nudge(way.map((part) => part * step));
}

export function beginDrawTab() {
    const { drawing, follower } = desk;
    drawing.addEventListener("change", ({ detail: { from } }) => {
        showHistory();
        if (!desk.ground || from === "load") return;
        list();
        if (!drawing.thing(chosen)) choose(null);
        desk.ground.render(drawing.things);
        firstSteps();
        if (from === "form") followForm();
        else if (chosen !== null) refreshForm();
    });
    follower.addEventListener("follow", ({ detail: { what, data } }) => {
        if (what !== "saved" && what !== "refused") return;
        wrong = what === "refused" ? data.faults : [];
        const thing = drawing.thing(chosen);
        if (thing) showFaults(at("chosen"), thing.feature.id, wrong);
    });
    desk.on("placed", () => {
        at("go").hidden = true;
        firstSteps();
        at("first").scrollIntoView();
    });
    desk.on("plan", ({ data }) => {
        const { ground } = desk;
        ground.showPlan(data, new Set(drawing.things.map(({ feature }) => feature.id)));
        if (!ground.placed && ground.showAll()) ground.placed = true;
        at("go").hidden = ground.placed;
    });

    at("add-kind").addEventListener("change", fillShapes);
    at("add-shape").addEventListener("change", showSides);
    at("add-draw").addEventListener("click", () => begin(...toDraw()));
    at("add-middle").addEventListener("click", () => {
        const [kind, sort] = toDraw();
        addThing(kind, shapeAt(sort, desk.ground.middle));
    });
    at("go").addEventListener("submit", (event) => {
        event.preventDefault();
        const field = at("go-place");
        try {
            desk.ground.goTo(readPlace(field.value));
            field.setCustomValidity("");
        } catch (error) {
            field.setCustomValidity(error.message);
            field.reportValidity();
        }
    });
    at("go-place").addEventListener("input", () => at("go-place").setCustomValidity(""));
    for (const name of ["corners", "square"]) {
        at(`catch-${name}`).addEventListener("change", (event) => (desk.ground.catching[name] = event.target.checked));
    }
    at("show-grid").addEventListener("change", (event) => desk.ground.showGrid(event.target.checked));
    at("undo").addEventListener("click", () => drawing.undo());
    at("redo").addEventListener("click", () => drawing.redo());
    addEventListener("keydown", nudge, { capture: true });
    addEventListener("keydown", (event) => {
        const typing = event.target.matches?.("input, textarea, select");
        if (event.key === "Escape" && chosen !== null) choose(null);
        if (event.key === "Delete" && chosen !== null && (event.target === document.body || event.target === at("map") || event.target.matches(".mark.chosen, .handle.middle"))) drawing.remove(chosen);
        if (typing || !(event.ctrlKey || event.metaKey)) return;
        const key = event.key.toLowerCase();
        if (key === "z" && !event.shiftKey) drawing.undo();
        else if (key === "y" || key === "z") drawing.redo();
        else return;
        event.preventDefault();
    });
}
