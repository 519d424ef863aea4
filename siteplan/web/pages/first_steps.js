// What to do first on a site of which little is drawn: find its place on the earth, then draw in the order of the trade.

import { ask } from "./api.js";
import { at, desk } from "./desk.js";
import { button, element, labelled, wrap } from "./element.js";
import { readPlace } from "./shapes.js";

// In this order; a step is done when something of one of its kinds is drawn.
const STEPS = [
    ["Property lines", "parcel", "area", ["parcel", "property_line"]],
    ["Buildings", "building", "area", ["building"]],
    ["The well", "well", "point", ["well"]],
    ["Septic tank and absorption area", "septic_tank", "area", ["septic_tank", "absorption_area", "holding_tank", "cesspool"]],
    ["Drive and walks", "drive", "area", ["drive", "walk", "road"]],
    ["Lines already there, in the ground and overhead", "buried_line", "line", ["buried_line", "overhead_line", "building_sewer", "effluent_line"]],
    ["Trees", "tree", "point", ["tree"]],
];
const KNOWN = new Set(["parcel", "building", "well"]);

const NOT_DRAWN = /found nothing of kind |, which is not there, /;

let starting = false;
let closed = false;

// `begin(kind, sort)` begins to draw; `startedWith` says that the drawing is the one that a new folder begins with.
export function showFirstSteps({ begin, startedWith }) {
    starting = startedWith ?? starting;
    const { drawing, ground } = desk;
    const kinds = new Set(drawing.things.map(({ feature }) => feature.properties?.kind));
    const all = STEPS.every(([, , , done]) => done.some((kind) => kinds.has(kind)));
    at("first").hidden = ((all || closed) && !starting) || !at("grid").hidden;
    if (at("first").hidden) return;
    const steps = STEPS.map(([words, kind, sort, done]) => {
        const is = done.some((one) => kinds.has(one));
        const go = button(words, () => begin(kind, sort));
        return wrap("li", is ? [`${words}: drawn`] : [go], is ? "done" : "");
    });
    const place = drawing.things.length === 0 && !ground.placed;
    at("first").replaceChildren(
        element("h2", { id: "first-head", text: starting ? "A site to start from" : place ? "What to do first" : "What to draw next" }),
        ...(starting ? startingWords() : []),
        ...(place || starting ? placeForm() : []),
        ...(starting || place ? [] : order(steps)),
    );
}

// Faults that are not told already by the steps: while they are shown, nobody needs to hear that nothing is drawn yet.
export function besideSteps(lines) {
    return at("first").hidden ? lines : lines.filter((line) => !NOT_DRAWN.test(line));
}

function order(steps) {
    const close = button("There is nothing more", () => {
        closed = true;
        at("first").hidden = true;
    });
    return [element("p", { text: "Draw in this order. Whatever is not drawn is not checked." }), wrap("ol", steps), wrap("p", [close], "tools")];
}

function startingWords() {
    const words = "This is an invented cabin, so that there is something to plan. Put it where your site is, then change it: size the parcel and the house by typed lengths, move the well. Or take it all out and draw your own.";
    return [element("p", { text: words }), wrap("p", [
        button("Keep only parcel, well and house", () => {
            starting = false;
            const kept = ({ feature }) => (KNOWN.has(feature.properties?.kind) ? feature : null);
            desk.drawing.replaceAll(kept, "keep only parcel, well and house");
        }),
        button("Take it all out", () => {
            starting = desk.ground.placed = false;
            desk.drawing.replaceAll(() => null, "take out the site to start from");
        }),
        button("Keep it as it is", () => {
            [starting, closed] = [false, true];
            at("first").hidden = true;
        }),
    ], "tools")];
}

function placeForm() {
    const field = element("input", { id: "first-place", autocomplete: "off", placeholder: "-112.0714, 46.5947" });
    const fault = element("p", { className: "fault" });
    fault.setAttribute("role", "alert");
    const say = (words) => (fault.textContent = words);
    const form = wrap("form", [labelled("Where is the site? Longitude, latitude", field), element("button", { text: "That is the place" })], "row");
    form.addEventListener("submit", (event) => {
        event.preventDefault();
        try {
            goTo(readPlace(field.value), say);
        } catch (error) {
            say(error.message);
        }
    });
    const here = button("Where I am now", () => {
        say("Asking this device where it is.");
        const options = { enableHighAccuracy: true, timeout: 20000 };
        navigator.geolocation.getCurrentPosition(({ coords }) => {
            say(`This device says so to ${Math.round(coords.accuracy)} m.`);
            goTo([coords.longitude, coords.latitude], say);
        }, () => say("This device does not say where it is: type longitude and latitude."), options);
    });
    const from = element("p", { className: "hint", text: "A phone on the site shows them in its map; the parcel map of the county too." });
    return [form, wrap("p", [here], "tools"), from, fault];
}

// Go to a place; the site to start from is carried there as it is.
async function goTo(place, say) {
    const { drawing, ground } = desk;
    if (drawing.things.length === 0) {
        ground.goTo(place);
        ground.placed = true;
        desk.tell("placed", {});
        return;
    }
    const geometries = drawing.things.map(({ feature }) => feature.geometry);
    const { ok, data } = await ask("POST", "/api/draft/carry", { geometries, to: place });
    if (!ok) return void say(data.faults.join(" "));
    starting = false;
    const there = new Map(drawing.things.map(({ key }, n) => [key, data.geometries[n]]));
    drawing.replaceAll(({ key, feature }) => ({ ...feature, geometry: there.get(key) }), "carry all to your site");
    ground.showAll();
}
