// The tab of the drawing: add a thing, choose one, change it in its form.

import { at, desk } from "./desk.js";
import { button, element, wrap } from "./element.js";
import { chosenForm } from "./form.js";
import { SORT_OF, placesText, readPlace, shapeAt, sizeText } from "./shapes.js";
import { showTab } from "./tabs.js";

let chosen = null;
let chosenKind;
let mode = "";

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
    const { kinds, methods, units, drawing } = desk;
    at("chosen").replaceChildren(...chosenForm({
        feature: thing.feature, kinds, methods, units, mode,
        act: {
            change: (update) => drawing.replace(chosen, update(drawing.thing(chosen).feature), "form"),
            remove: () => drawing.remove(chosen),
            done: () => choose(null),
            mode: (name) => choose(chosen, name),
        },
    }));
}

// Follow a change without taking the field away from under the hands; another kind has other fields.
function followForm() {
    const { geometry, properties } = desk.drawing.thing(chosen)?.feature ?? {};
    if (chosenKind !== properties?.kind) return void refreshForm();
    at("chosen-size").textContent = sizeText(geometry, desk.units);
    if (at("places")) at("places").value = placesText(geometry);
}

// Build the form anew and keep the focus where it was.
function refreshForm() {
    const fields = () => [...at("chosen").querySelectorAll("input, select, textarea, button, summary")];
    const place = fields().indexOf(document.activeElement);
    const open = at("chosen").querySelector("details")?.open ?? false;
    showForm();
    const details = at("chosen").querySelector("details");
    if (details) details.open = open;
    if (place >= 0) fields()[place]?.focus();
}

function listThings() {
    const { drawing, kinds, ground } = desk;
    at("things-count").textContent = String(drawing.things.length);
    at("things").replaceChildren(...drawing.things.map(({ key, feature }) => {
        const properties = feature.properties ?? {};
        const kind = kinds.get(properties.kind)?.name ?? properties.kind ?? "unknown";
        return wrap("li", [button(`${properties.name || feature.id || "unnamed"}: ${kind}`, () => {
            choose(key);
            ground.goToThing(key);
            at("chosen").querySelector("button")?.focus();
        })]);
    }));
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
}

function placed(is) {
    at("go").hidden = is;
}

// The kinds that may be drawn have been read: fill the tools before the map is made.
export function takeCatalogue({ groups, methods }) {
    fillKinds(groups);
    desk.methods = methods;
}

// A drawing has been read: show it from the start.
export function showDrawing() {
    choose(null);
    desk.ground.render(desk.drawing.things);
    listThings();
    placed(desk.ground.showAll());
}

export function watchGround() {
    const { ground, drawing } = desk;
    ground.addEventListener("choose", ({ detail: { key } }) => choose(key));
    ground.addEventListener("drawn", ({ detail: { kind, geometry } }) => addThing(kind, geometry));
    ground.addEventListener("moved", ({ detail: { key, geometry } }) => {
        const thing = drawing.thing(key);
        if (thing) drawing.replace(key, { ...thing.feature, geometry }, "map");
    });
    ground.addEventListener("drawing", ({ detail: { words, sort } }) => {
        at("strip").hidden = words === null;
        at("strip-words").textContent = words ?? "";
        at("strip-finish").hidden = sort === "point";
        at("strip-back").hidden = sort === "point";
    });
}

export function beginDrawTab() {
    const { drawing } = desk;
    drawing.addEventListener("change", ({ detail: { from } }) => {
        at("undo").disabled = !drawing.canUndo;
        at("redo").disabled = !drawing.canRedo;
        listThings();
        if (!desk.ground || from === "load") return;
        if (!drawing.thing(chosen)) choose(null);
        if (from !== "map") desk.ground.render(drawing.things);
        if (from === "page") refreshForm();
        else followForm();
    });
    desk.on("plan", ({ data }) => {
        desk.ground.showPlan(data.shapes, new Set(drawing.things.map(({ feature }) => feature.id)));
        if (!at("go").hidden) placed(desk.ground.showAll());
    });

    const wanted = () => [desk.kinds.get(at("add-kind").value), at("add-shape").value];
    at("add-kind").addEventListener("change", fillShapes);
    at("add-draw").addEventListener("click", () => desk.ground.draw(...wanted()));
    at("add-middle").addEventListener("click", () => {
        const [kind, sort] = wanted();
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
    at("strip-finish").addEventListener("click", () => desk.ground.finish());
    at("strip-back").addEventListener("click", () => desk.ground.takeBack());
    at("strip-cancel").addEventListener("click", () => desk.ground.stop());
    at("undo").addEventListener("click", () => drawing.undo());
    at("redo").addEventListener("click", () => drawing.redo());
    addEventListener("keydown", (event) => {
        const typing = event.target.matches?.("input, textarea, select");
        if (event.key === "Escape" && chosen !== null) choose(null);
        if (typing || !(event.ctrlKey || event.metaKey)) return;
        const key = event.key.toLowerCase();
        if (key === "z" && !event.shiftKey) drawing.undo();
        else if (key === "y" || key === "z") drawing.redo();
        else return;
        event.preventDefault();
    });
}
