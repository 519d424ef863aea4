// The measurements of a place as a form: what each is, and what siteplan is sent of it.

import { button, element, labelled, wrap } from "./element.js";

const SORTS = [["tape", "Tape from a corner"], ["offset", "Along a wall and out from it"], ["bearing", "Bearing and distance"]];
const FIELDS = {
    tape: ["distance", "rise", "error"],
    offset: ["to", "along", "offset", "side", "error"],
    bearing: ["distance", "bearing", "declination", "error"],
};

export const blank = () => ({ sort: "tape", from: "" });

// The row as siteplan takes it: columns of ties.csv to texts.
export function typed(row) {
    const cells = { from: row.from };
    for (const name of FIELDS[row.sort]) if (row[name]) cells[name] = row[name].trim();
    if (row.sort === "offset" && cells.offset && cells.side) cells.offset += ` ${cells.side}`;
    if (row.sort === "offset") delete cells.side;
    if (row.sort === "bearing" && row.north === "true") cells.declination = "0";
    return cells;
}

export const isFilled = (row) => row.from && (row.sort === "offset" ? row.to && row.along && row.offset : row.sort === "tape" ? row.distance : row.bearing);

// The box of one row. `form` is {corners, change(row, name, value), again(), takeOut()}: something was typed; other fields are
// wanted; the row goes (null: it is the only one).
export class RowBox {
    #row;
    #form;

    constructor(row, number, form) {
        this.#row = row;
        this.#form = form;
        this.box = this.#build(number);
    }

    #corner(name, title) {
        const select = element("select", {});
        select.append(element("option", { value: "", text: "choose a corner" }));
        for (const group of Map.groupBy(this.#form.corners, (corner) => corner.thing || "Taped points").entries()) {
            const box = element("optgroup", { label: group[0] });
            for (const corner of group[1]) box.append(element("option", { value: corner.name, text: corner.name }));
            select.append(box);
        }
        select.value = this.#row[name] ?? "";
        select.addEventListener("change", () => this.#form.change(this.#row, name, select.value));
        return labelled(title, select);
    }

    #text(name, title, placeholder) {
        const input = element("input", { autocomplete: "off", placeholder, value: this.#row[name] ?? "" });
        input.addEventListener("input", () => this.#form.change(this.#row, name, input.value));
        return labelled(title, input);
    }

    #choice(name, title, options, then = () => {}) {
        const select = element("select", {});
        for (const [value, text] of options) select.append(element("option", { value, text }));
        select.value = this.#row[name] ?? options[0][0];
        select.addEventListener("change", () => {
            this.#form.change(this.#row, name, select.value);
            then();
        });
        return labelled(title, select);
    }

    #build(number) {
        const row = this.#row;
        const box = element("fieldset", { className: "tape-row" });
        box.dataset.row = String(number);
        box.append(element("legend", { text: `Measurement ${number + 1}` }));
        const fields = wrap("div", [], "facts");
        fields.append(this.#choice("sort", "How", SORTS, () => this.#form.again()), this.#corner("from", "From"));
        if (row.sort === "offset") {
            fields.append(
                this.#corner("to", "Towards"),
                this.#text("along", "Along from the first corner", "such as 12 ft"),
                this.#text("offset", "Out from the wall", "such as 9 ft"),
                this.#choice("side", "Side, seen from the first corner", [["", "not said: show both"], ["left", "left"], ["right", "right"]]),
            );
        } else {
            fields.append(this.#text("distance", row.sort === "tape" ? "Tape" : "Distance, if taped", "such as 42 ft 6 in"));
        }
        if (row.sort === "bearing") {
            fields.append(
                this.#text("bearing", "Bearing", "such as N 26 10 E, or 206.5"),
                this.#choice("north", "From which north", [["magnetic", "magnetic, by compass"], ["true", "true"]], () => this.#form.again()),
            );
            if (row.north !== "true") fields.append(this.#text("declination", "Declination here", "such as 12.5 E"));
        }
        const more = wrap("div", [this.#text("error", "Good to", "6 in unless said")], "facts");
        if (row.sort === "tape") more.prepend(this.#text("rise", "Rise along it", "such as 3 ft, or 8 %"));
        const details = element("details", { open: Boolean(row.error || row.rise) });
        const words = row.sort === "tape" ? "Laid on a slope, or better or worse than 6 in" : "Better or worse than 6 in";
        details.append(element("summary", { text: words }), more);
        const fault = element("p", { className: "fault" });
        fault.setAttribute("role", "alert");
        box.append(fields, details, fault);
        if (this.#form.takeOut) {
            const out = button("Take out", () => this.#form.takeOut());
            out.setAttribute("aria-label", `Take out measurement ${number + 1}`);
            fields.append(wrap("div", [out]));
        }
        return box;
    }
}
