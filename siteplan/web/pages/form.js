// The form of the chosen thing: what it is, how its position is known, the facts of its kind, its sizes and its places.
// Only what is changed is written; every other property stays as it was.

import { cornersOf } from "./corners.js";
import { button, element, labelled, wrap } from "./element.js";
import { choice, fact, fault, text } from "./fields.js";
import { SORT_OF, geometryAt, placesText, sizeText } from "./shapes.js";
import { changeForms, cornerTable } from "./typed.js";

const STATUSES = [["existing", "existing"], ["proposed", "proposed: not there yet"], ["reserve", "reserve: ground kept for it"], ["abandoned", "abandoned: out of use"]];
const OWN = ["kind", "name", "id", "status", "method", "error", "edge", "outing"];
const MANY_KINDS = 12;
const MOST_CORNERS = 40;

// Build the form. `act` is {change(from feature to feature), put(geometry, words), remove(), done(), mode(name)} and
// what the table of corners asks for.
export function chosenForm({ feature, kinds, words, units, mode, act }) {
    const properties = feature.properties ?? {};
    const kind = kinds.get(properties.kind);
    const sort = SORT_OF[feature.geometry?.type];
    const set = (key, value) => act.change((now) => withProperty(now, key, value));

    const head = element("h2", { id: "chosen-head", text: properties.name || kind?.name || "Unnamed" });
    const size = element("p", { id: "chosen-size", text: sizeText(feature.geometry, units) });
    const form = element("form", { className: "facts" });
    form.addEventListener("submit", (event) => event.preventDefault());

    const same = [...kinds.values()].filter((other) => other.shapes.includes(sort));
    const measured = choice("How it was measured", "method", properties.method ?? "", [["", "not stated"], ...words.methods.map(({ id, name }) => [id, name])], (value) => {
        set("method", value);
        told.textContent = methodWords(words.methods, value);
    });
    const told = element("p", { className: "hint", text: methodWords(words.methods, properties.method) });
    measured.classList.add("wide");
    measured.append(told);
    form.append(
        choice("What it is", "kind", properties.kind, same.map(({ id, name }) => [id, name]), (value) => act.change((now) => ofKind(now, kind, kinds.get(value)))),
        text("Name", "name", properties.name, (value) => set("name", value), { maxLength: 200 }),
        choice("Standing", "status", properties.status ?? "existing", STATUSES, (value) => set("status", value)),
        text("Short name (id)", "id", feature.id, (value) => value && act.change((now) => ({ ...now, id: value })), { maxLength: 200 }),
        measured,
        text("Its own error", "error", properties.error, (value) => set("error", value), { placeholder: units === "m" ? "such as 1 m" : "such as 3 ft" }),
        text("Outing", "outing", properties.outing, (value) => set("outing", value), { placeholder: "one walk, one photo" }),
        text("Width of a vague outline", "edge", properties.edge, (value) => set("edge", value), { placeholder: units === "m" ? "such as 0.5 m" : "such as 2 ft" }),
    );

    const [first, others] = sorted(kind, kinds, words, properties);
    const field = ([name, sortOfFact]) => fact(name, sortOfFact, properties[name], units, words.known[kind.id]?.[name], (value) => set(name, value));
    form.append(...first.map(field));
    for (const [name, value] of Object.entries(properties)) {
        const more = !OWN.includes(name) && !(name in (kind?.facts ?? {}));
        if (more && typeof value === "string") form.append(text(name, name, value, (typed) => set(name, typed)));
    }
    const rest = others.length ? [fold("More facts", "more-facts", [wrap("div", others.map(field), "facts")])] : [];
    return [head, size, modes(sort, mode, act), form, ...rest, ...numbers(feature, units, act), tools(act)];
}

// Show what the server found wrong with the fields of this feature: lines such as "site.geojson:12: oak-1, height: found ...".
export function showFaults(box, id, lines) {
    for (const field of box.querySelectorAll("[data-key]")) {
        const line = lines.find((one) => one.includes(` ${id}, ${field.dataset.key}: `));
        const words = line?.slice(line.indexOf(": found ") + 2) ?? "";
        fault(field, words && words[0].toUpperCase() + words.slice(1));
        if (words) field.closest("details")?.setAttribute("open", "");
    }
}

// Facts to ask for at once: those of this kind, those that the rules ask for, those that are stated; and the rest.
function sorted(kind, kinds, words, properties) {
    const shared = (name) => [...kinds.values()].filter(({ facts }) => name in facts).length > MANY_KINDS;
    const asked = words.asked[kind?.id] ?? {};
    const wanted = ([name]) => name in asked || name in properties || name in (words.known[kind.id] ?? {}) || !shared(name);
    const facts = Object.entries(kind?.facts ?? {});
    const inOrder = [...facts.filter(([name]) => name in asked), ...facts.filter(([name]) => !(name in asked))];
    return [inOrder.filter(wanted), inOrder.filter((one) => !wanted(one))];
}

const methodWords = (methods, id) => methods.find((method) => method.id === (id || "drawn"))?.error ?? "";

function modes(sort, mode, act) {
    if (sort === "point") return element("p", { className: "hint", text: "Drag the mark to its place, or move it with the arrow keys." });
    const names = [["corners", sort === "line" ? "Move points" : "Move corners"], ["move", "Move whole"], ["turn", "Turn"]];
    const row = element("div", { className: "tools" });
    row.setAttribute("role", "group");
    row.setAttribute("aria-label", "What dragging does");
    for (const [name, title] of names) {
        const one = button(title, () => act.mode(name));
        one.setAttribute("aria-pressed", String(name === mode));
        row.append(one);
    }
    const hint = {
        corners: "Drag a square, or go to it with Tab and use the arrow keys. A small square between two makes a new one (or Insert); Delete, right click or long press takes one out.",
        move: "Drag it on the map, or use the arrow keys. With Shift a tenth of the step, and nothing is drawn to.",
        turn: "Drag the arrow round it, or use the left and right arrow keys.",
    }[mode];
    return wrap("div", [row, element("p", { className: "hint", text: hint })]);
}

function numbers(feature, units, act) {
    const { geometry } = feature;
    const corners = cornersOf(geometry);
    const folds = [fold("Size, move and turn by numbers", "by-numbers", changeForms(geometry, units, act.put))];
    if (corners && corners.places.length > 1 && corners.places.length <= MOST_CORNERS) {
        folds.push(fold("Corners", "corner-table", [cornerTable(geometry, units, act)]));
    }
    return [...folds, places(feature, act)];
}

function fold(title, id, content) {
    const box = element("details", { id });
    box.append(element("summary", { text: title }), ...content);
    return box;
}

function places(feature, act) {
    const typed = placesText(feature.geometry);
    if (typed === null) {
        return fold("Places as numbers", "place-table", [element("p", { text: "This shape has several parts; its numbers stand in site.geojson." })]);
    }
    const rows = Math.min(8, typed.split("\n").length);
    const area = element("textarea", { value: typed, rows, spellcheck: false, id: "places" });
    const wrong = element("p", { className: "fault" });
    wrong.setAttribute("role", "alert");
    area.addEventListener("change", () => {
        try {
            const geometry = geometryAt(feature.geometry.type, area.value);
            wrong.textContent = "";
            act.change((now) => ({ ...now, geometry }));
        } catch (error) {
            wrong.textContent = error.message;
        }
    });
    return fold("Places as numbers", "place-table", [labelled("Longitude, latitude: one place a line", area), wrong]);
}

function tools(act) {
    return wrap("p", [button("Done", act.done, "main"), button("Remove", act.remove)], "tools");
}

function withProperty(feature, key, value) {
    const properties = { ...feature.properties };
    if (value === "") delete properties[key];
    else properties[key] = value;
    return { ...feature, properties };
}

// The same thing as another kind: facts that only the old kind has go with it.
function ofKind(feature, old, kind) {
    const gone = Object.keys(old?.facts ?? {}).filter((name) => !(name in kind.facts));
    const kept = Object.entries(feature.properties).filter(([name]) => !gone.includes(name));
    return { ...feature, properties: { ...Object.fromEntries(kept), kind: kind.id } };
}
