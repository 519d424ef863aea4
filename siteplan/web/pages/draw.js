// Puts the page together: the drawing, the map, the form, the saving and the plan.

import { ask } from "./api.js";
import { Drawing } from "./drawing.js";
import { Follower } from "./follow.js";
import { chosenForm, element } from "./form.js";
import { Ground } from "./ground.js";
import { Review, counts } from "./review.js";
import { SORT_OF, placesText, readPlace, shapeAt, sizeText } from "./shapes.js";

const at = (id) => document.getElementById(id);
const drawing = new Drawing();
const follower = new Follower(drawing);
const review = new Review();
const kinds = new Map();
let methods = [];
let units = "ft";
let ground = null;
let chosen = null;
let chosenKind;
let mode = "";
let placed = false;
let refused = null;
let faults = null;

// --- reading, saving, planning

follower.addEventListener("follow", ({ detail: { what, data } }) => {
    const words = { waiting: "Not saved yet", saving: "Saving", saved: "Saved", refused: "Not saved", elsewhere: "Not saved", unread: "Not read" };
    if (words[what]) at("saved").textContent = words[what];
    if (what === "saved") refused = null;
    if (what === "refused") refused = { head: "Not saved. Mend this:", lines: data.faults, tools: [["Try again", () => follower.save()]] };
    if (what === "unread") refused = { head: "The drawing cannot be read. Mend this:", lines: data.faults, tools: [["Read it again", begin]] };
    if (what === "elsewhere") {
        const tools = [["Take the file, drop my changes", begin], ["Write mine over it", () => follower.writeOver()]];
        refused = { head: "Not saved:", lines: data.faults, tools };
    }
    if (what === "outdated") begin();
    if (what === "planning") at("planned").textContent = "Planning";
    if (what === "waiting" || what === "planning") stale("Being planned again: this is of the drawing before.");
    if (what === "planned") showPlan(data);
    if (what === "unplanned") showNoPlan(data);
    showProblems();
});

function stale(why) {
    review.stale(why);
    ground?.stale(Boolean(why));
}

function showPlan(data) {
    faults = null;
    stale("");
    review.show(data);
    at("planned").textContent = `Plan: ${counts(data.findings)}`;
    ground.showPlan(data.shapes, new Set(drawing.things.map(({ feature }) => feature.id)));
    if (!placed) placed = ground.showAll();
    at("go").hidden = placed;
}

function showNoPlan(data) {
    faults = { head: "No plan of this drawing:", lines: data.faults };
    at("planned").textContent = "No plan";
    stale("No plan could be made of this drawing: this is the last one.");
    ground.showBlocked(data.blocked);
}

function showProblems() {
    const problem = refused ?? faults;
    at("problems").hidden = problem === null;
    if (problem === null) return;
    at("problems-head").textContent = problem.head;
    at("problems-list").replaceChildren(...problem.lines.map((line) => element("li", { text: line })));
    at("problems-tools").replaceChildren(...(problem.tools ?? []).map(([words, act]) => {
        const button = element("button", { type: "button", text: words });
        button.addEventListener("click", act);
        return button;
    }));
}

addEventListener("beforeunload", (event) => {
    if (follower.unsaved) event.preventDefault();
});

// --- choosing and changing

function choose(key, how) {
    const thing = drawing.thing(key);
    const sort = SORT_OF[thing?.feature.geometry?.type];
    const another = thing && key !== chosen;
    chosen = thing ? key : null;
    mode = thing ? how ?? (sort === "point" ? "move" : "corners") : "";
    ground.choose(chosen, mode);
    showForm();
    if (another) at("chosen").scrollIntoView();
}

function showForm() {
    const thing = drawing.thing(chosen);
    chosenKind = thing?.feature.properties?.kind;
    at("chosen").hidden = !thing;
    at("add").hidden = Boolean(thing) || !at("grid").hidden;
    if (!thing) {
        at("chosen").replaceChildren();
        return;
    }
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

drawing.addEventListener("change", ({ detail: { from } }) => {
    at("undo").disabled = !drawing.canUndo;
    at("redo").disabled = !drawing.canRedo;
    listThings();
    if (!ground || from === "load") return;
    if (!drawing.thing(chosen)) choose(null);
    if (from !== "map") ground.render(drawing.things);
    if (from === "page") refreshForm();
    else followForm();
});

// Follow a change without taking the field away from under the hands; another kind has other fields.
function followForm() {
    const { geometry, properties } = drawing.thing(chosen)?.feature ?? {};
    if (chosenKind !== properties?.kind) return void refreshForm();
    at("chosen-size").textContent = sizeText(geometry, units);
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
    at("things-count").textContent = String(drawing.things.length);
    at("things").replaceChildren(...drawing.things.map(({ key, feature }) => {
        const properties = feature.properties ?? {};
        const kind = kinds.get(properties.kind)?.name ?? properties.kind ?? "unknown";
        const button = element("button", { type: "button", text: `${properties.name || feature.id || "unnamed"}: ${kind}` });
        button.addEventListener("click", () => {
            choose(key);
            ground.goToThing(key);
            at("chosen").querySelector("button")?.focus();
        });
        const item = element("li", {});
        item.append(button);
        return item;
    }));
}

function addThing(kind, geometry) {
    const id = drawing.freeId(kind.id);
    const name = kind.name[0].toUpperCase() + kind.name.slice(1);
    const properties = { kind: kind.id, name, method: "drawn" };
    const { key } = drawing.add({ type: "Feature", id, properties, geometry });
    choose(key);
    if (matchMedia("(pointer: fine)").matches) at("chosen").querySelector("input")?.focus();
}

// --- the tools

function fillKinds(groups) {
    kinds.clear();
    at("add-kind").replaceChildren(...groups.map((group) => {
        const box = element("optgroup", { label: group.name });
        for (const kind of group.kinds) {
            kinds.set(kind.id, { ...kind, group: group.name });
            box.append(element("option", { value: kind.id, text: kind.name }));
        }
        return box;
    }));
    fillShapes();
}

function fillShapes() {
    const { shapes } = kinds.get(at("add-kind").value);
    at("add-shape").replaceChildren(...shapes.map((sort) => element("option", { value: sort, text: sort })));
    at("add-shape").disabled = shapes.length === 1;
}

const wanted = () => [kinds.get(at("add-kind").value), at("add-shape").value];

at("add-kind").addEventListener("change", fillShapes);
at("add-draw").addEventListener("click", () => ground.draw(...wanted()));
at("add-middle").addEventListener("click", () => {
    const [kind, sort] = wanted();
    addThing(kind, shapeAt(sort, ground.middle));
});
at("go").addEventListener("submit", (event) => {
    event.preventDefault();
    const field = at("go-place");
    try {
        ground.goTo(readPlace(field.value));
        field.setCustomValidity("");
    } catch (error) {
        field.setCustomValidity(error.message);
        field.reportValidity();
    }
});
at("go-place").addEventListener("input", () => at("go-place").setCustomValidity(""));
at("strip-finish").addEventListener("click", () => ground.finish());
at("strip-back").addEventListener("click", () => ground.takeBack());
at("strip-cancel").addEventListener("click", () => ground.stop());
at("undo").addEventListener("click", () => drawing.undo());
at("redo").addEventListener("click", () => drawing.redo());
at("plan-again").addEventListener("click", () => follower.plan());
at("show-kept-off").addEventListener("change", (event) => ground.showKeptOff(event.target.checked));

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

review.addEventListener("point", ({ detail }) => ground.point(detail ? [detail] : []));

at("make-sheets").addEventListener("click", async () => {
    at("make-sheets").disabled = true;
    at("sheets-state").textContent = "Making the sheets";
    const { ok, data } = await ask("POST", "/api/documents", {});
    at("make-sheets").disabled = false;
    at("sheets-state").textContent = ok ? "Made." : data.faults.join(" ");
    at("sheets").replaceChildren(...(data.documents ?? []).map((name) => {
        const item = element("li", {});
        item.append(element("a", { href: `/api/documents/${encodeURIComponent(name)}`, target: "_blank", rel: "noopener", text: name }));
        return item;
    }));
});

// --- begin

function watchGround() {
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
    new ResizeObserver(() => ground.refit()).observe(at("map"));
}

async function begin() {
    refused = null;
    showProblems();
    const data = await follower.load();
    if (!data) return;
    if (!ground) {
        fillKinds(data.catalogue.groups);
        ({ methods } = data.catalogue);
        ({ units } = data);
        at("site-name").textContent = data.name;
        document.title = `${data.name}: site drawing`;
        at("grid").hidden = !data.grid;
        ground = new Ground(at("map"), kinds, units);
        watchGround();
    }
    choose(null);
    ground.render(drawing.things);
    listThings();
    placed = ground.showAll();
    at("go").hidden = placed;
}

begin();
