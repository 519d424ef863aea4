// The tab of the as-built record: the tie list with a field beside each value that was planned, and the record made of it.

import { ask } from "./api.js";
import { TapesOnMap } from "./built_map.js";
import { TieForm } from "./built_point.js";
import { at, desk } from "./desk.js";
import { listDocuments } from "./documents.js";
import { element, labelled, wrap } from "./element.js";

const tapes = new TapesOnMap();
let revision = "";
let common = {};
let forms = [];

export function beginBuiltTab() {
    const today = new Date();
    const day = [today.getFullYear(), today.getMonth() + 1, today.getDate()].map((part) => String(part).padStart(2, "0")).join("-");
    common = {
        date: element("input", { type: "date", value: day }),
        crew: element("input", { type: "text", autocomplete: "off", maxLength: 200 }),
        ticket: element("input", { type: "text", autocomplete: "off", maxLength: 200, placeholder: "of the locate" }),
    };
    at("built-common").append(
        labelled("Day", common.date), labelled("Crew", common.crew), labelled("Ticket number", common.ticket),
    );
    at("built-read").addEventListener("click", read);
    at("make-record").addEventListener("click", makeRecord);
    desk.on("tapes", ({ point }) => tapes.show(desk.ground.map, point));
    desk.on("plan", ({ data }) => {
        if (data.stage === "proven" && forms.length && !forms.some((form) => form.changed)) read();
    });
}

async function read() {
    at("built-state").textContent = "Reading the tie list: some seconds";
    const { ok, data } = await ask("GET", "/api/built");
    if (!ok) {
        at("built-state").textContent = data.faults.join(" ");
        return;
    }
    revision = data.revision;
    forms = data.points.map((point) => new TieForm(point, data, save));
    at("built-points").replaceChildren(...forms.map((form) => form.box));
    const others = data.other_rows.map((n) => data.rows[n].what || data.rows[n].line).join(", ");
    at("built-others").textContent = others ? `Also in shots.csv, changed in the file: ${others}.` : "";
    at("built-common").hidden = false;
    at("record").hidden = false;
    tally();
}

function tally() {
    const done = forms.filter((form) => form.taped).length;
    at("built-state").textContent = `${done} of ${forms.length} places taped.`;
}

// Save the rows of one place; true if they are in the file.
async function save(form, rows) {
    const said = Object.fromEntries(Object.entries(common).map(([name, field]) => [name, field.value.trim()]));
    const { ok, data } = await ask("POST", "/api/built", { revision, rows: rows.map((row) => ({ ...said, ...row })) });
    if (!ok) return data.faults;
    revision = data.revision;
    await readRows();
    return [];
}

// The numbers of the rows have changed with the file: take them anew, without touching what is being typed elsewhere.
async function readRows() {
    const { ok, data } = await ask("GET", "/api/built");
    if (!ok) return;
    revision = data.revision;
    for (const point of data.points) forms.find((form) => form.number === point.number)?.take(point, data);
    tally();
}

async function makeRecord() {
    if (desk.follower.unsaved) {
        at("record-state").textContent = "Not made: the last change of the drawing is not saved. Mend it, or take it back, and press again.";
        return;
    }
    at("make-record").disabled = true;
    at("record-state").textContent = "Holding it against the plan";
    const { ok, data } = await ask("POST", "/api/record", {});
    at("make-record").disabled = false;
    at("record-state").textContent = ok ? "Kept in the folder record; earlier records are in its history." : data.faults.join(" ");
    at("record-told").replaceChildren(...(ok ? told(data) : []));
    if (ok) listDocuments(at("record-files"), "/api/record", data.documents);
}

function told({ points, unmeasured, changes, warnings }) {
    const part = (head, lines) => (lines.length ? [element("h3", { text: head }), wrap("ul", lines.map((text) => element("li", { text })))] : []);
    const sentence = (...parts) => parts.filter(Boolean).join(", ");
    return [
        ...part("Against the plan", points.map(({ line, point, off, cover }) => `${line}, ${point}: ${sentence(off, cover)}`)),
        ...part("Not measured, as planned", unmeasured),
        ...part(
            changes.length ? "Verdicts that differ from the plan's" : "No verdict differs from the plan's.",
            changes.map(({ what, before, after, measured, required, settle }) => `${what}: ${before}, now ${after}${measured ? ` (${measured} against ${required})` : ""}${settle ? `. ${settle}` : ""}`),
        ),
        ...(changes.length ? [] : [element("p", { text: "No verdict differs from the plan's." })]),
        ...part("Look again", warnings),
    ];
}
