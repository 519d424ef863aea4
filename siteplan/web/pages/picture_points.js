// A picture in the panel, and the two or three points of it whose place on the ground is told.

import { button, element, labelled, wrap } from "./element.js";
import { readPlace } from "./shapes.js";

const MOST_POINTS = 3;
const blank = () => ({ right: null, down: null, corner: "", place: "" });

export class PicturePoints {
    #source;
    #corners;
    #act;
    #points = [blank(), blank()];
    #active = 0;
    #box = wrap("div", [], "picture-points");
    #image;
    #marks = wrap("div", [], "picture-marks");
    #fields = element("div", {});

    // `act` is {change(), pick(number of the point)}: something was told; a place is wanted from the map.
    constructor({ name, source, corners, act }) {
        this.#source = source;
        this.#corners = corners;
        this.#act = act;
        this.#image = element("img", { alt: `The picture ${name}. Click a point of it.`, draggable: false, src: source });
        this.#image.addEventListener("click", (event) => this.#clicked(event));
        this.#image.addEventListener("load", () => this.#showMarks());
        const frame = wrap("div", [wrap("div", [this.#image, this.#marks], "picture-sheet")], "picture-frame");
        frame.tabIndex = 0;
        frame.setAttribute("role", "group");
        frame.setAttribute("aria-label", "The picture: scroll it with the arrow keys");
        const zoom = element("select", {});
        for (const [value, text] of [["1", "whole"], ["2", "2 times"], ["4", "4 times"], ["8", "8 times"]]) zoom.append(element("option", { value, text }));
        zoom.addEventListener("change", () => { frame.firstChild.style.width = `${Number(zoom.value) * 100}%`; });
        this.#box.append(labelled("How large the picture is shown here", zoom), frame, this.#fields);
        this.#showFields();
    }

    get box() {
        return this.#box;
    }

    get source() {
        return this.#source;
    }

    // The points as siteplan takes them, those that are told whole.
    get told() {
        return this.#points.filter((point) => point.right !== null && point.down !== null && (point.corner || isPlace(point.place)))
            .map(({ right, down, corner, place }) => [right, down, ...(corner ? [corner] : readPlace(place))]);
    }

    corners(corners) {
        this.#corners = corners;
        this.#showFields();
    }

    // A place was clicked on the map: at a corner, or at a longitude and latitude.
    picked(number, { corner, place }) {
        const point = this.#points[number];
        point.corner = corner ?? "";
        point.place = corner ? "" : place.map((degrees) => degrees.toFixed(8)).join(", ");
        const next = this.#points.findIndex(({ right }) => right === null);
        if (next >= 0) this.#active = next;
        this.#showFields();
        this.#act.change();
    }

    #clicked(event) {
        const box = this.#image.getBoundingClientRect();
        const point = this.#points[this.#active];
        point.right = round((event.clientX - box.left) / box.width * this.#image.naturalWidth);
        point.down = round((event.clientY - box.top) / box.height * this.#image.naturalHeight);
        this.#showFields();
        if (point.corner || point.place) this.#act.change();
        else this.#act.pick(this.#active);
    }

    #showFields() {
        const rows = this.#points.map((point, number) => this.#pointBox(point, number));
        const more = button("A third point", () => {
            this.#points.push(blank());
            this.#active = this.#points.length - 1;
            this.#showFields();
        });
        more.disabled = this.#points.length >= MOST_POINTS;
        this.#fields.replaceChildren(...rows, wrap("p", [more], "tools"));
        this.#showMarks();
    }

    #pointBox(point, number) {
        const box = element("fieldset", { className: `tape-row${number === this.#active ? " active" : ""}` });
        box.append(element("legend", { text: `Point ${number + 1}` }));
        box.addEventListener("focusin", () => {
            this.#active = number;
            for (const each of this.#fields.querySelectorAll("fieldset")) each.classList.toggle("active", each === box);
        });
        const dots = (name, title) => {
            const input = element("input", { type: "number", min: "0", step: "any", value: point[name] ?? "", autocomplete: "off" });
            input.addEventListener("change", () => {
                point[name] = input.value === "" ? null : Number(input.value);
                this.#showMarks();
                this.#act.change();
            });
            return labelled(title, input);
        };
        const corner = element("select", {});
        corner.append(element("option", { value: "", text: "no corner: a place" }));
        for (const { plain, name } of this.#corners) corner.append(element("option", { value: plain, text: name }));
        corner.value = point.corner;
        const place = element("input", { autocomplete: "off", value: point.place, placeholder: "-112.0714, 46.5947" });
        corner.addEventListener("change", () => {
            point.corner = corner.value;
            if (corner.value) place.value = point.place = "";
            this.#act.change();
        });
        place.addEventListener("change", () => {
            point.place = place.value;
            if (place.value) corner.value = point.corner = "";
            place.setCustomValidity(place.value && !isPlace(place.value) ? "Write longitude, latitude in degrees." : "");
            place.reportValidity();
            this.#act.change();
        });
        const pick = button("Point at it on the map", () => this.#act.pick(number));
        box.append(wrap("div", [
            dots("right", "Dots from the left"), dots("down", "Dots from the top"),
            labelled("What is there: a corner", corner), labelled("or longitude, latitude", place),
        ], "facts"), wrap("p", [pick], "tools"));
        return box;
    }

    #showMarks() {
        const { naturalWidth: width, naturalHeight: height } = this.#image;
        if (!width) return;
        this.#marks.replaceChildren(...this.#points.flatMap(({ right, down }, number) => {
            if (right === null || down === null) return [];
            const mark = element("span", { text: String(number + 1) });
            mark.style.left = `${right / width * 100}%`;
            mark.style.top = `${down / height * 100}%`;
            return [mark];
        }));
    }
}

const round = (dots) => Math.round(dots * 10) / 10;

function isPlace(text) {
    try {
        readPlace(text);
        return text.trim() !== "";
    } catch {
        return false;
    }
}
