// The form of the chosen thing: what it is, how its position is known, the facts of its kind, and its places as text.
// Only what is changed is written; every other property stays as it was.

import { button, element, labelled, wrap } from "./element.js";
import { SORT_OF, geometryAt, placesText, sizeText } from "./shapes.js";

const STATUSES = ["existing", "proposed", "reserve", "abandoned"];
const EXAMPLES = { length: "such as 18 in", volume: "such as 1000 gal", potential: "such as 240 V", current: "such as 20 A", number: "a number", text: "" };
const OWN = ["kind", "name", "id", "status", "method", "error", "edge", "outing"];

// Build the form. `act` is {change(from feature to feature), remove(), done(), mode(name)}.
export function chosenForm({ feature, kinds, methods, units, mode, act }) {
    const properties = feature.properties ?? {};
    const kind = kinds.get(properties.kind);
    const sort = SORT_OF[feature.geometry?.type];
    const set = (key, value) => act.change((now) => withProperty(now, key, value));

    const head = element("h2", { id: "chosen-head", text: properties.name || kind?.name || "Unnamed" });
    const size = element("p", { id: "chosen-size", text: sizeText(feature.geometry, units) });
    const form = element("form", { className: "facts" });
    form.addEventListener("submit", (event) => event.preventDefault());

    const same = [...kinds.values()].filter((other) => other.shapes.includes(sort));
    form.append(
        choice("What it is", properties.kind, same.map(({ id, name }) => [id, name]), (value) => act.change((now) => ofKind(now, kind, kinds.get(value)))),
        text("Name", properties.name, (value) => set("name", value), { maxLength: 200 }),
        text("Short name (id)", feature.id, (value) => value && act.change((now) => ({ ...now, id: value })), { maxLength: 200 }),
        choice("Standing", properties.status ?? "existing", STATUSES.map((name) => [name, name]), (value) => set("status", value)),
        choice("How it was measured", properties.method ?? "", [["", "not stated"], ...methods.map(({ id, name }) => [id, name])], (value) => set("method", value)),
        text("Its own error", properties.error, (value) => set("error", value), { placeholder: "such as 3 ft" }),
        text("Width of a vague outline", properties.edge, (value) => set("edge", value), { placeholder: "such as 2 ft" }),
        text("Outing", properties.outing, (value) => set("outing", value), { placeholder: "one walk, one photo" }),
    );
    for (const [name, sortOfFact] of Object.entries(kind?.facts ?? {})) {
        form.append(fact(name, sortOfFact, properties[name], (value) => set(name, value)));
    }

    for (const [name, value] of Object.entries(properties)) {
        const more = !OWN.includes(name) && !(name in (kind?.facts ?? {}));
        if (more && typeof value === "string") form.append(text(name, value, (typed) => set(name, typed), {}));
    }
    return [head, size, modes(sort, mode, act), form, places(feature, act), tools(act)];
}

function modes(sort, mode, act) {
    if (sort === "point") return element("p", { className: "hint", text: "Drag the mark to its place." });
    const names = [["corners", sort === "line" ? "Move points" : "Move corners"], ["move", "Move whole"], ["turn", "Turn"]];
    const row = element("div", { className: "tools" });
    row.setAttribute("role", "group");
    row.setAttribute("aria-label", "What dragging does");
    for (const [name, words] of names) {
        const one = button(words, () => act.mode(name));
        one.setAttribute("aria-pressed", String(name === mode));
        row.append(one);
    }
    const hint = mode === "corners"
        ? "Drag a square. A small square between two makes a new one; right-click or long-press takes one out."
        : "Drag it on the map.";
    return wrap("div", [row, element("p", { className: "hint", text: hint })]);
}

function places(feature, act) {
    const typed = placesText(feature.geometry);
    const box = element("details", {});
    box.append(element("summary", { text: "Places as numbers" }));
    if (typed === null) {
        box.append(element("p", { text: "This shape has several parts; its numbers stand in site.geojson." }));
        return box;
    }
    const rows = Math.min(8, typed.split("\n").length);
    const area = element("textarea", { value: typed, rows, spellcheck: false, id: "places" });
    const fault = element("p", { className: "fault" });
    fault.setAttribute("role", "alert");
    area.addEventListener("change", () => {
        try {
            const geometry = geometryAt(feature.geometry.type, area.value);
            fault.textContent = "";
            act.change((now) => ({ ...now, geometry }));
        } catch (error) {
            fault.textContent = error.message;
        }
    });
    box.append(labelled("Longitude, latitude: one place a line", area), fault);
    return box;
}

function tools(act) {
    return wrap("p", [button("Done", act.done, "main"), button("Remove", act.remove)], "tools");
}

function fact(name, sort, value, change) {
    const words = name.replaceAll("_", " ");
    const title = words[0].toUpperCase() + words.slice(1);
    if (sort === "yes_no") {
        const shown = value === true || value === false ? (value ? "yes" : "no") : String(value ?? "");
        const known = ["", "yes", "no"];
        const options = [["", "not stated"], ["yes", "yes"], ["no", "no"], ...(known.includes(shown) ? [] : [[shown, shown]])];
        return choice(title, shown, options, (chosen) => change(chosen === "" ? "" : chosen === "yes"));
    }
    const read = sort === "number" ? (typed) => (typed !== "" && Number.isFinite(Number(typed)) ? Number(typed) : typed) : (typed) => typed;
    return text(title, value, (typed) => change(read(typed)), { type: sort === "date" ? "date" : "text", placeholder: EXAMPLES[sort] ?? "" });
}

function text(title, value, change, options) {
    const input = element("input", { type: "text", autocomplete: "off", ...options, value: value === undefined || value === null ? "" : String(value) });
    input.addEventListener("change", () => change(input.value.trim()));
    return labelled(title, input);
}

function choice(title, value, options, change) {
    const select = element("select", {});
    const all = options.some(([id]) => id === value) ? options : [[value ?? "", String(value ?? "not stated")], ...options];
    for (const [id, name] of all) select.append(element("option", { value: id, text: name }));
    select.value = value ?? "";
    select.addEventListener("change", () => change(select.value));
    return labelled(title, select);
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
