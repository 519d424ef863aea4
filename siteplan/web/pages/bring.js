// Brings files in: dropped anywhere on the page or chosen, looked at by siteplan, then taken into the drawing or kept beside it.

import { ask } from "./api.js";
import { BesideMap } from "./bring_map.js";
import { at, desk } from "./desk.js";
import { button, element, labelled, wrap } from "./element.js";
import { base64, megabytes } from "./file_bytes.js";
import { isPicture, takePicture } from "./underlay.js";
import { showTab } from "./tabs.js";

const FORMS = { point: ["point", "points"], line: ["line", "lines"], area: ["area", "areas"] };
const COLUMNS = [["x", "x, easting"], ["y", "y, northing"], ["name", "name"], ["elevation_ft", "elevation in feet"], ["elevation_m", "elevation in metres"]];
const UNITS = [["", "that of its code"], ["m", "metres"], ["ft", "feet (international)"], ["us-ft", "US survey feet"]];

let mostBytes = 0;
let takes = [];
let files = [];
let besideMap = null;

// --- what is asked of a file

function shownName() {
    return files.map(({ name }) => name).join(", ");
}

function say(words, lines = []) {
    at("bring-said").textContent = words;
    at("bring-faults").replaceChildren(...lines.map((line) => element("li", { text: line })));
}

async function begin(list) {
    const chosen = [...list];
    if (!chosen.length) return;
    showTab("draw");
    if (chosen.length === 1 && isPicture(chosen[0])) return void takePicture(chosen[0]);
    at("bring").querySelector("details").open = true;
    at("bring-asked").replaceChildren();
    const size = chosen.reduce((sum, { size: bytes }) => sum + bytes, 0);
    if (size > mostBytes) {
        say("", [`${chosen.map(({ name }) => name).join(", ")}: ${megabytes(size)}, at most ${megabytes(mostBytes)} can be brought in here. Copy it into the folder of the site, or keep only what lies on the site.`]);
        at("bring-file").focus();
        return;
    }
    say("Reading the file");
    try {
        files = await Promise.all(chosen.map(async (file) => ({ name: file.name, content: await base64(file) })));
    } catch {
        return void say("", ["The browser cannot read this file."]);
    }
    await look();
}

async function look() {
    const { ok, data } = await ask("POST", "/api/bring/look", { files, ...said() });
    if (!ok) {
        say(`${shownName()} cannot be read. Mend this:`, data.faults);
        if (/unnamed coordinate system|EPSG|outside of the area|the columns/.test(data.faults.join(" "))) showForm({ name: "", sort: "unread", bare: [] });
        return;
    }
    say("");
    showForm(data);
    at("bring-asked").querySelector("h3").focus();
}

// What the form says so far, as siteplan takes it.
function said() {
    const value = (id) => at(id)?.value.trim() ?? "";
    const kinds = {};
    for (const select of at("bring-asked").querySelectorAll("select[data-form]")) if (select.value) kinds[select.dataset.form] = select.value;
    const found = { kinds };
    if (value("bring-method")) found.method = value("bring-method");
    if (value("bring-outing")) found.outing = value("bring-outing");
    if (value("bring-epsg")) found.epsg = Number(value("bring-epsg"));
    if (value("bring-unit")) found.unit = value("bring-unit");
    const columns = COLUMNS.map(([ours]) => [ours, value(`bring-column-${ours}`)]).filter(([, theirs]) => theirs);
    if (columns.length) found.columns = Object.fromEntries(columns);
    return found;
}

function select(id, options, chosen = "") {
    const box = element("select", { id });
    for (const [value, text] of options) box.append(element("option", { value, text }));
    box.value = chosen;
    return box;
}

function kindField({ form, count, forms }) {
    const box = element("select", { id: `bring-kind-${form}` });
    box.dataset.form = form;
    box.append(element("option", { value: "", text: "choose" }));
    for (const kind of desk.kinds.values()) {
        if (kind.shapes.some((shape) => forms.includes(shape))) box.append(element("option", { value: kind.id, text: kind.name }));
    }
    const [one, several] = FORMS[form];
    return labelled(count === 1 ? `1 ${one} in this file: what is it?` : `${count} ${several} in this file: what are they?`, box);
}

function measuredFields(data) {
    const gpx = files[0].name.toLowerCase().endsWith(".gpx");
    const methods = [["", "not stated: drawn"], ...desk.words.methods.filter(({ id }) => id !== "stated").map(({ id, name }) => [id, name])];
    const words = `How they were measured (${data.unmeasured} without a method)`;
    const outing = element("input", { id: "bring-outing", autocomplete: "off", placeholder: "one walk, one photo", maxLength: 200 });
    return [labelled(words, select("bring-method", methods, gpx ? "phone" : "")), labelled("Outing", outing)];
}

// The names of the columns of a table, as they stand in its first line.
function header() {
    if (!files[0].name.toLowerCase().endsWith(".csv")) return [];
    try {
        const bytes = Uint8Array.from(atob(files[0].content.slice(0, 4000)), (letter) => letter.charCodeAt(0));
        const [first] = new TextDecoder().decode(bytes).split(/\r?\n/);
        return first.split(",").map((name) => name.trim().replace(/^\ufeff|"/g, "")).filter(Boolean);
    } catch {
        return [];
    }
}

function coordinateFields(open) {
    const box = element("details", { open });
    box.append(element("summary", { text: "Coordinates of this file, if it holds x and y" }));
    const code = element("input", { id: "bring-epsg", inputMode: "numeric", autocomplete: "off", placeholder: "such as 2256" });
    const fields = [labelled("EPSG code", code), labelled("Unit", select("bring-unit", UNITS))];
    const names = header();
    for (const [ours, title] of names.length ? COLUMNS : []) {
        const options = [["", names.includes(ours) ? ours : "none"], ...names.map((name) => [name, name])];
        fields.push(labelled(`Column with ${title}`, select(`bring-column-${ours}`, options)));
    }
    box.append(wrap("div", fields, "facts"));
    box.append(wrap("p", [button("Read it again", look)], "tools"));
    return box;
}

function showForm(data) {
    const before = said();
    const head = element("h3", { text: data.name ? `${shownName()}: ${data.words}` : shownName(), tabIndex: -1 });
    const box = [head];
    const bare = data.bare ?? [];
    box.push(...bare.map(kindField));
    if (data.unmeasured) box.push(...measuredFields(data));
    if (data.sort !== "ties") box.push(coordinateFields(data.sort === "unread" || Boolean(before.epsg || before.columns)));
    box.push(tools(data, bare.length > 0));
    at("bring-asked").replaceChildren(...box);
    for (const [id, value] of [["bring-epsg", before.epsg], ["bring-unit", before.unit], ["bring-method", before.method], ["bring-outing", before.outing]]) {
        if (value !== undefined && at(id)) at(id).value = String(value);
    }
    for (const [ours, theirs] of Object.entries(before.columns ?? {})) if (at(`bring-column-${ours}`)) at(`bring-column-${ours}`).value = theirs;
    for (const [form, kind] of Object.entries(before.kinds)) if (at(`bring-kind-${form}`)) at(`bring-kind-${form}`).value = kind;
}

function tools(data, bare) {
    const row = wrap("p", [], "tools");
    if (data.sort === "things") {
        const into = button("Take into the drawing", take, bare ? "main" : "");
        const besideIt = button("Keep the file beside the drawing", () => keep(false), "main");
        row.append(...(bare ? [into] : [besideIt, into]));
    } else if (data.sort !== "unread") {
        const words = data.there ? `Put it in the place of ${data.name}` : `Keep it as ${data.name}`;
        row.append(button(words, () => keep(data.there), "main"));
    }
    row.append(button("Leave it", () => {
        clear();
        say("");
        at("bring-file").focus();
    }));
    return row;
}

function clear() {
    files = [];
    at("bring-asked").replaceChildren();
    at("bring-file").value = "";
}

// --- into the drawing, or beside it

function missingKind() {
    const empty = [...at("bring-asked").querySelectorAll("select[data-form]")].find(({ value }) => !value);
    if (!empty) return false;
    say("", ["Say what they are first."]);
    empty.focus();
    return true;
}

async function take() {
    if (missingKind()) return;
    const { ok, data } = await ask("POST", "/api/bring/take", { files, ...said() });
    if (!ok) return void say("Nothing was taken. Mend this:", data.faults);
    const taken = new Set(desk.drawing.things.map(({ feature }) => feature.id));
    const features = data.features.map((feature) => {
        const id = freeId(feature, taken);
        taken.add(id);
        const name = feature.properties.name || capital(desk.kinds.get(feature.properties.kind)?.name ?? id);
        return { ...feature, id, properties: { ...feature.properties, name } };
    });
    const name = shownName();
    desk.drawing.addAll(features, `bring in ${name}`);
    desk.ground.showAll();
    clear();
    const left = data.left_out.length ? ` Left out, as these kinds do not state it: ${data.left_out.join(", ")}.` : "";
    say(`From ${name} into the drawing: ${data.words}.${left} Undo takes them out again.`);
}

const capital = (words) => words[0].toUpperCase() + words.slice(1);

function freeId(feature, taken) {
    if (!taken.has(feature.id)) return feature.id;
    let number = 1;
    while (taken.has(`${feature.properties.kind}-${number}`)) number += 1;
    return `${feature.properties.kind}-${number}`;
}

async function keep(instead) {
    const { ok, data } = await ask("POST", "/api/bring/keep", { files, instead, ...said() });
    if (!ok) return void say("Nothing was kept. Mend this:", data.faults);
    const words = at("bring-asked").querySelector("h3").textContent;
    clear();
    say(`${words}. Kept as ${data.name}.${instead ? " The one before is under Earlier versions." : ""}`);
    await readBeside();
    desk.follower.plan();
    desk.tell("folder", {});
}

async function takeOut(name) {
    const { ok, data } = await ask("POST", "/api/bring/take-out", { name });
    say(ok ? `${name} is taken out. It is under Earlier versions.` : "", ok ? [] : data.faults);
    await readBeside();
    desk.follower.plan();
    at("bring-beside").querySelector("summary")?.focus();
}

async function readBeside() {
    const { ok, data } = await ask("GET", "/api/bring");
    if (!ok) return;
    mostBytes = data.most_bytes;
    takes = data.takes;
    at("bring-file").accept = [...takes, ".png", ".jpg", ".jpeg"].join(",");
    at("bring-takes").textContent = `Drop a file anywhere on this page, or choose one: ${takes.slice(0, 7).join(", ")} (a .shp with its parts), levels.csv, ties.csv, paint marks. At most ${megabytes(mostBytes)}. A PNG or JPEG is laid underneath.`;
    at("bring-beside").hidden = data.files.length === 0;
    at("bring-count").textContent = String(data.files.length);
    at("bring-list").replaceChildren(...data.files.map(({ name, words }) => {
        const out = button("Take out", () => takeOut(name));
        out.setAttribute("aria-label", `Take out ${name}`);
        return wrap("li", [element("span", { text: `${name}: ${words}` }), out]);
    }));
    besideMap?.take(data.things);
}

function build() {
    const file = element("input", { type: "file", id: "bring-file", multiple: true });
    file.addEventListener("change", () => begin(file.files));
    const saidBox = element("p", { id: "bring-said" });
    saidBox.setAttribute("role", "status");
    const faults = element("ul", { id: "bring-faults", className: "fault" });
    faults.setAttribute("role", "alert");
    const besideBox = element("details", { id: "bring-beside", hidden: true });
    const summary = element("summary", { text: "Files beside the drawing (" });
    summary.append(element("span", { id: "bring-count", text: "0" }), ")");
    besideBox.append(summary, element("ul", { id: "bring-list" }));
    const asked = element("div", { id: "bring-asked" });
    at("bring-body").append(element("p", { id: "bring-takes", className: "hint" }), labelled("File", file), saidBox, faults, asked, besideBox);
}

function watchDrops() {
    const carries = (event) => [...(event.dataTransfer?.types ?? [])].includes("Files");
    const over = (is) => document.body.classList.toggle("dropping", is);
    addEventListener("dragover", (event) => {
        if (!carries(event)) return;
        event.preventDefault();
        over(true);
    });
    addEventListener("dragleave", (event) => {
        if (event.relatedTarget === null) over(false);
    });
    addEventListener("drop", (event) => {
        if (!carries(event)) return;
        event.preventDefault();
        over(false);
        if (!at("grid").hidden) return;
        begin(event.dataTransfer.files);
    });
}

export function beginBring() {
    build();
    watchDrops();
    desk.on("site", ({ data }) => {
        at("bring").hidden = data.grid;
        besideMap ??= new BesideMap(desk.ground.map, desk.kinds);
        readBeside();
    });
    desk.on("plan", () => besideMap?.show(false));
    desk.follower.addEventListener("follow", ({ detail: { what } }) => {
        if (what === "unplanned") besideMap?.show(true);
    });
}
