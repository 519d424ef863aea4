// The strip over the map while something is drawn: what to do next, and the fields into which a side is typed. The server
// reads what is typed and says where the corner lies.

import { ask } from "./api.js";
import { at, desk } from "./desk.js";
import { lengthM, lengthText, readPlace } from "./shapes.js";

const HOW = {
    point: "click or tap its place.",
    line: "click or tap each point, or type each side; the last one again to finish.",
    area: "click or tap each corner, or type each side; the first one again to finish.",
    put: "click or tap where it goes.",
};

let what = "";
let put = false;

// Begin to draw something called `name`; an outline {about, geometry} is put down whole.
export function beginDrawing(name, sort, outline = null) {
    what = name[0].toUpperCase() + name.slice(1);
    put = Boolean(outline);
    desk.ground.draw(sort, outline);
    focusField();
}

export function watchPen() {
    const { pen } = desk.ground;
    pen.addEventListener("step", show);
    pen.addEventListener("stop", () => {
        at("strip").hidden = true;
        for (const id of ["typed-length", "typed-direction", "typed-place"]) at(id).value = "";
    });
    at("strip-type").addEventListener("click", () => {
        const typing = at("strip").classList.toggle("typing");
        at("strip-type").setAttribute("aria-expanded", String(typing));
    });
    at("strip-finish").addEventListener("click", () => pen.finish());
    at("strip-back").addEventListener("click", () => pen.takeBack());
    at("strip-cancel").addEventListener("click", () => pen.stop());
    at("strip-typed").addEventListener("submit", (event) => {
        event.preventDefault();
        place();
    });
    addEventListener("keydown", (event) => {
        if (!pen.sort) return;
        const empty = !event.target.matches?.("input, textarea") || event.target.value === "";
        if (event.key === "Escape") pen.stop();
        else if (event.key === "Backspace" && empty && pen.count) pen.takeBack();
        else if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "z" && empty) pen.takeBack();
        else if (event.key === "Enter" && event.target === at("map")) pen.finish();
        else return;
        event.preventDefault();
        event.stopPropagation();
    }, { capture: true });
}

function show() {
    const { pen } = desk.ground;
    const { sort, count, places } = pen;
    const sides = count > 0 && !put && sort !== "point";
    at("strip").hidden = false;
    at("strip").dataset.count = count;
    at("typed-fault").textContent = "";
    at("typed-first").hidden = sides;
    for (const field of document.querySelectorAll(".typed-side")) field.hidden = !sides;
    at("typed-sense").disabled = count < 2;
    if (count < 2) at("typed-sense").value = "north";
    for (const id of ["strip-finish", "strip-back"]) at(id).hidden = sort === "point" || put;
    at("strip-finish").disabled = !pen.canFinish;
    at("strip-back").disabled = count === 0;
    at("strip-words").textContent = `${what}: ${count < 2 ? HOW[put ? "put" : sort] : soFar(places)}`;
    if (count) focusField();
}

function soFar(places) {
    const text = (part) => lengthText(lengthM(part), desk.units);
    return `this side ${text(places.slice(-2))}, in all ${text(places)}.`;
}

function focusField() {
    if (!matchMedia("(pointer: fine)").matches) return;
    const field = at("typed-first").hidden ? at("typed-length") : at("typed-place");
    if (!at("strip").hidden) field.focus({ preventScroll: true });
}

async function place() {
    const { pen } = desk.ground;
    const length = at("typed-length").value.trim();
    if (at("typed-length").parentElement.hidden) return void placeFirst();
    if (!length && pen.canFinish) return void pen.finish();
    const side = pen.side;
    const asked = { ...side, length, direction: at("typed-direction").value, sense: at("typed-sense").value };
    const { ok, data } = await ask("POST", "/api/draft/step", asked);
    if (pen.side.from !== side.from) return;
    at("typed-fault").textContent = ok ? "" : data.faults.join(" ");
    if (!ok) return;
    at("typed-length").value = "";
    at("typed-direction").value = "";
    pen.put(data.place);
}

function placeFirst() {
    const typed = at("typed-place");
    try {
        const there = readPlace(typed.value);
        typed.value = "";
        desk.ground.pen.put(there);
        desk.ground.show(there);
    } catch (error) {
        at("typed-fault").textContent = error.message;
    }
}
