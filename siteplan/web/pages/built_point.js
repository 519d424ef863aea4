// One place of the tie list as a form: two or three tapes and the cover of each line, each beside what was planned.

import { desk } from "./desk.js";
import { button, element, labelled, wrap } from "./element.js";

export class TieForm {
    #point;
    #rows = [];
    #tapes = [];
    #covers = [];
    #note;
    #fault = element("p", { className: "fault" });
    #said = element("span", { className: "taped" });
    changed = false;

    constructor(point, data, save) {
        this.#fault.setAttribute("role", "alert");
        const head = element("h3", { text: `${point.number}. ${point.what}` });
        const where = element("p", { className: "hint", text: [point.where, point.side && `on the ${point.side} of a line from the first corner to the second`].filter(Boolean).join("; ") });
        this.#tapes = [0, 1, 2].map((n) => ({ corner: corners(data.corners), tape: length("42 ft 6 in"), planned: element("span", { className: "planned" }), n }));
        this.#covers = point.lines.map((line) => ({ line, cover: length("56 in") }));
        this.#note = element("input", { type: "text", autocomplete: "off", maxLength: 200 });
        const ties = this.#tapes.map(({ corner, tape, planned, n }) => wrap("div", [
            labelled(`Tape ${n + 1} from`, corner),
            wrap("div", [labelled(`Tape ${n + 1} read`, tape), planned]),
        ], "tie"));
        const covers = this.#covers.map(({ line, cover }) => labelled(`Cover of ${line.name}, asked ${line.cover}`, cover));
        const keep = button("Keep", async () => {
            keep.disabled = true;
            const faults = await save(this, this.#typed());
            keep.disabled = false;
            this.#fault.textContent = faults.join(" ");
            if (!faults.length) this.changed = false;
        }, "main");
        keep.setAttribute("aria-label", `Keep ${point.what}`);
        const inside = wrap("div", [...ties, wrap("div", covers, "facts"), labelled("Note, photo number", this.#note), wrap("p", [keep], "tools"), this.#fault]);
        const fold = wrap("details", [wrap("summary", [head, this.#said]), where, inside]);
        fold.addEventListener("toggle", () => desk.tell("tapes", { point: fold.open ? this.#point : null }));
        fold.addEventListener("input", () => { this.changed = true; });
        this.box = wrap("li", [fold]);
        this.take(point, data);
    }

    get number() {
        return this.#point.number;
    }

    get taped() {
        return this.#rows.length > 0;
    }

    // Show what the file holds of this place; what is being typed stays.
    take(point, data) {
        this.#point = point;
        this.#rows = point.rows.map((number) => ({ number, row: data.rows[number] }));
        this.#said.textContent = this.taped ? "taped" : "";
        if (this.changed) return;
        const row = this.#rows[0]?.row ?? {};
        for (const { corner, tape, planned, n } of this.#tapes) {
            const tie = point.ties[n];
            corner.value = row[`from_${n + 1}`] || (this.taped ? "" : tie?.corner) || "";
            tape.value = row[`tape_${n + 1}`] ?? "";
            planned.textContent = tie ? `planned ${tie.tape}` : "";
        }
        for (const { line, cover } of this.#covers) cover.value = this.#rowOf(line)?.row.cover ?? "";
        this.#note.value = row.note ?? "";
    }

    #rowOf(line) {
        return this.#rows.find(({ row }) => row.line === line.id);
    }

    // A row for each line that lies here: the same tapes, its own cover; without tapes the cover at the planned station.
    #typed() {
        const tied = this.#tapes.filter(({ tape }) => tape.value.trim());
        const place = Object.fromEntries([1, 2, 3].flatMap((n) => {
            const tie = tied[n - 1];
            return [[`from_${n}`, tie?.corner.value ?? ""], [`tape_${n}`, tie?.tape.value.trim() ?? ""]];
        }));
        const stated = tied.length ? { reach: "", station: "" } : { reach: this.#point.reach, station: this.#point.station };
        const asPlanned = tied.length === 2 && tied.every(({ corner }, n) => corner.value === this.#point.ties[n]?.corner);
        return this.#covers.map(({ line, cover }) => ({
            number: this.#rowOf(line)?.number ?? null,
            line: line.id,
            what: this.#point.name,
            ...place,
            ...stated,
            side: asPlanned ? this.#point.side : "",
            cover: cover.value.trim(),
            note: this.#note.value.trim(),
        }));
    }
}

function corners(names) {
    const select = element("select", {});
    select.append(element("option", { value: "", text: "no corner" }), ...names.map((name) => element("option", { value: name, text: name })));
    return select;
}

const length = (example) => element("input", { type: "text", autocomplete: "off", placeholder: `such as ${example}` });
