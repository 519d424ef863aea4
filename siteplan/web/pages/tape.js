// Places a point by tape: measurements from corners are typed, siteplan solves them, the place is kept with its tapes.

import { ask } from "./api.js";
import { at, desk } from "./desk.js";
import { button, element, labelled, wrap } from "./element.js";
import { TapeMap } from "./tape_map.js";
import { RowBox, blank, isFilled, typed } from "./tape_rows.js";
import { placeBox, tapesBox } from "./tape_words.js";

const AFTER_TYPING_MS = 300;
const AFTER_SAVING_MS = 1000;
const MOST_TAPES = 12;

let corners = [];
let tapes = [];
let points = [];
let rows = [blank(), blank()];
let places = [];
let chosenPlace = null;
let chosenKey = null;
let tapeMap = null;
let timer = 0;
let reading = 0;
let asked = 0;
const kept = new Map();

const isOpen = () => at("tape").querySelector("details").open;
const what = () => at("tape-what").value;

// What is placed, as siteplan is asked: {id, kind}, with an id that the drawing will know it by.
function thing() {
    const [how, id] = [what().slice(0, 3), what().slice(4)];
    return how === "old" ? { id } : { id: desk.drawing.freeId(id), kind: id };
}

const rounded = (degrees) => Number(degrees.toFixed(9));
const nameOf = (feature) => feature.properties?.name || feature.id;
const filled = () => rows.filter(isFilled);

// --- the form

function fillWhat() {
    const before = what();
    const news = element("optgroup", { label: "New" });
    for (const kind of desk.kinds.values()) if (kind.shapes.includes("point")) news.append(element("option", { value: `new:${kind.id}`, text: kind.name }));
    const olds = element("optgroup", { label: "Drawn already" });
    for (const { feature } of desk.drawing.things) {
        if (feature.geometry?.type === "Point" && typeof feature.id === "string") {
            olds.append(element("option", { value: `old:${feature.id}`, text: nameOf(feature) }));
        }
    }
    at("tape-what").replaceChildren(news, ...(olds.children.length ? [olds] : []));
    if ([...at("tape-what").options].some(({ value }) => value === before)) at("tape-what").value = before;
}

function rowBox(row, number) {
    return new RowBox(row, number, {
        corners, change,
        again: () => showRows(number),
        takeOut: rows.length > 1 && (() => {
            rows.splice(number, 1);
            showRows(Math.min(number, rows.length - 1));
            solveSoon();
        }),
    }).box;
}

// Build the rows anew; `focus` is the row that was worked on.
function showRows(focus = null) {
    const field = document.activeElement?.labels?.[0]?.textContent;
    at("tape-rows").replaceChildren(...rows.map(rowBox));
    at("tape-more").disabled = rows.length >= MOST_TAPES;
    if (focus === null) return;
    const labels = [...at("tape-rows").children[focus].querySelectorAll("label")];
    const same = labels.find((label) => label.textContent === field) ?? labels[0];
    if (same.closest("details")) same.closest("details").open = true;
    same.control.focus();
}

function change(row, name, value) {
    row[name] = value;
    solveSoon();
}

// --- solving

function solveSoon() {
    clearTimeout(timer);
    asked += 1;
    timer = setTimeout(solve, AFTER_TYPING_MS);
}

async function solve() {
    const number = asked;
    const sent = filled();
    faults({}, []);
    if (!sent.length || !isOpen()) {
        at("tape-loose").replaceChildren();
        return void show([]);
    }
    at("tape").setAttribute("aria-busy", "true");
    const { ok, data } = await ask("POST", "/api/tapes/try", { thing: thing(), rows: sent.map(typed) });
    if (number !== asked) return;
    at("tape").setAttribute("aria-busy", "false");
    show(ok ? data.places : []);
    at("tape-loose").replaceChildren(...(data.loose ?? []).map((words) => element("li", { text: words })));
    if (!ok) faults(data.rows ?? {}, data.faults ?? [], sent);
}

function faults(byRow, lines, sent = []) {
    for (const box of at("tape-rows").children) {
        const row = rows[Number(box.dataset.row)];
        box.querySelector(".fault").textContent = (byRow[String(sent.indexOf(row))] ?? []).join(" ");
    }
    at("tape-faults").textContent = lines.join(" ");
}

function show(found) {
    const before = places[chosenPlace]?.side;
    places = found;
    chosenPlace = found.length === 1 ? 0 : null;
    if (found.length === 2 && before) chosenPlace = found.findIndex(({ side }) => side === before);
    showPlaces();
}

function showPlaces() {
    const two = places.length === 2;
    at("tape-two").hidden = !two;
    const sent = filled();
    const boxes = places.map((place, number) => placeBox(place, {
        two, sent, typed, chosen: number === chosenPlace,
        choose: () => choosePlace(number),
    }));
    at("tape-places").replaceChildren(...boxes);
    at("tape-keep").disabled = chosenPlace === null;
    tapeMap?.show(places, chosenPlace, sent.map((row) => corners.find(({ name }) => name === row.from)).filter(Boolean));
}

function choosePlace(number) {
    chosenPlace = number;
    showPlaces();
    at("tape-places").querySelectorAll("input")[number]?.focus();
}

// --- keeping

// The thing at a place that its tapes give: these are the evidence then, and where it is drawn is none.
function byTape(feature, geometry) {
    const { error, shared_error, outing, ...properties } = feature.properties;
    return { ...feature, geometry, properties: { ...properties, method: "drawn" } };
}

async function keep() {
    const place = places[chosenPlace];
    const placed = thing();
    const old = desk.drawing.things.find(({ feature }) => feature.id === placed.id);
    at("tape-keep").disabled = true;
    const body = { thing: placed, rows: filled().map(typed), side: place.side };
    const { ok, data } = await ask("POST", "/api/tapes/keep", body);
    if (!ok) {
        at("tape-keep").disabled = false;
        return void faults(data.rows ?? {}, data.faults ?? [], filled());
    }
    kept.set(placed.id, { before: old?.feature, lines: data.lines, in: true, body });
    const geometry = { type: "Point", coordinates: place.at.map(rounded) };
    if (old) {
        desk.drawing.replace(old.key, byTape(old.feature, geometry), "page", { words: `place ${nameOf(old.feature)} by tape` });
    } else {
        const { name } = desk.kinds.get(placed.kind);
        const properties = { kind: placed.kind, name: name[0].toUpperCase() + name.slice(1), method: "drawn" };
        desk.drawing.add({ type: "Feature", id: placed.id, properties, geometry }, `place ${name} by tape`);
    }
    rows = [blank(), blank()];
    show([]);
    showRows();
    at("tape-said").textContent = `Kept: ${body.rows.length} measurement${body.rows.length === 1 ? "" : "s"} in ties.csv, and the place in the drawing.`;
    at("tape-what").focus();
}

// What is undone takes its tapes out again, what is done again brings them back.
async function followUndo() {
    for (const [id, one] of kept) {
        const now = desk.drawing.things.find(({ feature }) => feature.id === id)?.feature;
        const wanted = now !== undefined && now !== one.before;
        if (wanted === one.in) continue;
        one.in = wanted;
        if (wanted) one.lines = (await ask("POST", "/api/tapes/keep", one.body)).data.lines ?? [];
        else await ask("POST", "/api/tapes/take-out", { lines: one.lines });
        await readCorners();
        desk.follower.plan();
    }
}

async function takeOut(text) {
    const { ok, data } = await ask("POST", "/api/tapes/take-out", { lines: [text] });
    if (!ok) return void faults({}, data.faults ?? []);
    await readCorners();
    desk.follower.plan();
    at("tape-all").querySelector("summary").focus();
}

// --- corners and tapes of the site

async function readCorners() {
    const { ok, data } = await ask("GET", "/api/tapes");
    const found = ok ? data.corners : [];
    const same = JSON.stringify(found) === JSON.stringify(corners);
    corners = found;
    tapes = ok ? data.tapes : [];
    points = ok ? data.points : [];
    at("tape-none").hidden = corners.length > 0;
    at("tape-none").textContent = ok ? "Draw something first: a tape is held at a corner of a building, at the well or at another point." : data.faults.join(" ");
    at("tape-all").hidden = !ok || data.lines.length === 0;
    if (ok) at("tape-all").replaceChildren(...tapesBox(data, takeOut));
    fillWhat();
    const typing = at("tape-rows").contains(document.activeElement) ? Number(document.activeElement.closest("fieldset").dataset.row) : null;
    if (!same || !at("tape-rows").children.length) {
        showRows(typing);
        tapeMap?.corners(corners);
    }
    showTapesOfChosen();
    solveSoon();
}

// Below the name of a chosen thing: that its place is known by tape.
function showTapesOfChosen() {
    at("chosen-tapes")?.remove();
    const id = desk.drawing.thing(chosenKey)?.feature.id;
    const count = new Set(tapes.filter(({ of }) => of === id).map(({ line }) => line)).size;
    if (!count || id === undefined || !at("chosen-size")) return;
    const words = `Placed by ${count} measurement${count === 1 ? "" : "s"} of ties.csv. The plan goes by these and by where it is drawn, each as far as it is known.`;
    const box = wrap("div", [element("p", { className: "hint", text: words })]);
    box.id = "chosen-tapes";
    const { at: place, off } = points.find(({ of }) => of === id) ?? {};
    if (off) {
        box.append(element("p", { className: "hint", text: `It is drawn ${off} from where the tapes put it.` }), button("Put it there", () => putBack(place)));
    }
    at("chosen-size").after(box);
}

function putBack(place) {
    const { feature } = desk.drawing.thing(chosenKey);
    const geometry = { type: "Point", coordinates: place.map(rounded) };
    desk.drawing.replace(chosenKey, byTape(feature, geometry), "page", { words: `put ${nameOf(feature)} where it was taped` });
}

function pick(corner) {
    let row = rows.find((each) => !each.from || (each.sort === "offset" && !each.to));
    if (!row) rows.push(row = blank());
    row[row.from ? "to" : "from"] = corner.name;
    showRows();
    const labels = [...at("tape-rows").children[rows.indexOf(row)].querySelectorAll("label")];
    labels.find((label) => ["Tape", "Distance, if taped", "Along from the first corner"].includes(label.textContent)).control.focus();
    solveSoon();
}

function build() {
    const two = element("p", { id: "tape-two", hidden: true, text: "Two places fit alike. Choose one, or tape from one more corner, off the line between the others." });
    const said = element("p", { id: "tape-said" });
    said.setAttribute("role", "status");
    const all = element("details", { id: "tape-all", hidden: true });
    const box = wrap("div", [], "tools");
    box.append(
        Object.assign(button("Another measurement", () => {
            rows.push(blank());
            showRows(rows.length - 1);
        }), { id: "tape-more" }),
        Object.assign(button("Pick corners on the map", () => {
            at("tape-pick").setAttribute("aria-pressed", String(tapeMap.toggle()));
        }), { id: "tape-pick" }),
    );
    const places_ = wrap("div", [], "tape-places");
    places_.id = "tape-places";
    places_.setAttribute("role", "group");
    places_.setAttribute("aria-label", "Where it lies");
    const faults_ = element("p", { id: "tape-faults", className: "fault" });
    faults_.setAttribute("role", "alert");
    at("tape-body").append(
        element("p", { id: "tape-none", className: "hint" }),
        labelled("What is placed", element("select", { id: "tape-what" })),
        wrap("div", [], "tape-rows"), box, faults_, two, places_, element("ul", { id: "tape-loose", className: "tape-warning" }),
        Object.assign(button("Keep this place", keep, "main"), { id: "tape-keep", disabled: true }),
        said, all,
    );
    at("tape-body").querySelector(".tape-rows").id = "tape-rows";
    at("tape-pick").setAttribute("aria-pressed", "false");
}

export function beginTape() {
    build();
    const details = at("tape").querySelector("details");
    details.addEventListener("toggle", () => {
        if (details.open) return void readCorners();
        tapeMap?.hide();
        at("tape-pick").setAttribute("aria-pressed", "false");
    });
    at("tape-what").addEventListener("change", solveSoon);
    desk.on("site", ({ data }) => {
        at("tape").hidden = data.grid;
        tapeMap ??= new TapeMap(desk.ground.map, { pick, choose: choosePlace });
        readCorners();
    });
    desk.on("choose", ({ key }) => {
        chosenKey = key;
        showTapesOfChosen();
    });
    desk.drawing.addEventListener("change", ({ detail: { from } }) => {
        showTapesOfChosen();
        if (from === "page") followUndo();
    });
    desk.follower.addEventListener("follow", ({ detail: { what: event } }) => {
        if (event !== "saved" || !desk.ground) return;
        clearTimeout(reading);
        if (isOpen()) readCorners();
        else if (tapes.length) reading = setTimeout(readCorners, AFTER_SAVING_MS);
    });
}
