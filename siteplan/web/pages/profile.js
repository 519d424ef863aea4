// Cover and cut along each trench. A pointer, a finger or the arrow keys on the profile mark the place on the map; on the map,
// a trench that is pointed at tells its station and marks the profile.

import { nearest, placeAt, reading, station } from "./along.js";
import { at, desk } from "./desk.js";
import { element, wrap } from "./element.js";

const NEAR_PX = 14;
const EDGE_PX = 40;
const FAST = 10;

let reaches = [];
let drawn = new Map();
let marked = null;

export function showProfiles(data) {
    reaches = data.reaches;
    if (marked) clear();
    draw();
}

// Draw the profiles that are not drawn yet as they are now, once somebody looks.
function draw() {
    if (!at("profiles-fold").open) return;
    const before = drawn;
    drawn = new Map(reaches.map((reach) => {
        const words = JSON.stringify(reach);
        const old = before.get(reach.name);
        return [reach.name, old?.words === words ? old : { words, ...make(reach) }];
    }));
    const wanted = [...drawn.values()].map(({ box }) => box);
    const there = [...at("profiles").children];
    if (wanted.length !== there.length || wanted.some((box, n) => box !== there[n])) at("profiles").replaceChildren(...wanted);
}

function make(reach) {
    const parsed = new DOMParser().parseFromString(withName(reach.drawing), "image/svg+xml");
    const picture = document.importNode(parsed.documentElement, true);
    const frame = wrap("div", [picture], "scroll");
    Object.assign(frame, { tabIndex: 0, role: "slider", ariaLabel: `Place along ${reach.name}`, ariaValueMin: "0" });
    frame.ariaValueMax = (reach.length_m / reach.unit_m).toFixed(1);
    frame.ariaValueNow = "0";
    frame.ariaValueText = "no place chosen";
    const read = element("p", { className: "read-out" });
    const follow = (event) => {
        const x = event.clientX - picture.getBoundingClientRect().left;
        const distance = (x - Number(picture.dataset.left)) / Number(picture.dataset.perM);
        if (distance >= 0 && distance <= reach.length_m) mark(reach, distance);
    };
    frame.addEventListener("pointerdown", follow);
    frame.addEventListener("pointermove", follow);
    frame.addEventListener("pointerleave", (event) => event.pointerType === "mouse" && clear());
    frame.addEventListener("keydown", (event) => step(event, reach));
    frame.addEventListener("blur", clear);
    const box = wrap("div", [element("h3", { text: reach.title }), frame, read, element("p", { className: "hint", text: reach.note })]);
    if (reach.crossings.length) box.append(wrap("ul", reach.crossings.map(({ words }) => element("li", { text: words })), "crossings"));
    return { box, frame, picture, read };
}

const withName = (drawing) => drawing.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ');

function step(event, reach) {
    const now = marked?.reach.name === reach.name ? marked.distance : 0;
    const by = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: FAST, PageDown: -FAST, Home: -Infinity, End: Infinity }[event.key];
    if (event.key === "Escape") clear();
    if (by === undefined) return;
    event.preventDefault();
    mark(reach, Math.min(Math.max(now + by * reach.unit_m, 0), reach.length_m));
}

// Mark a place on the map and on the profile; on the map stands all that is read there, or the station alone.
function mark(reach, distance, whole = false) {
    if (marked && marked.reach !== reach) clear();
    marked = { reach, distance };
    const words = reading(reach, distance);
    desk.ground.plan.mark(placeAt(reach, distance), whole ? words : `${reach.name} ${station(reach, distance)}`);
    const { frame, picture, read } = drawn.get(reach.name) ?? {};
    if (!frame) return;
    const x = Number(picture.dataset.left) + distance * Number(picture.dataset.perM);
    pointer(picture, x);
    if (x < frame.scrollLeft + EDGE_PX) frame.scrollLeft = x - EDGE_PX;
    if (x > frame.scrollLeft + frame.clientWidth - EDGE_PX) frame.scrollLeft = x - frame.clientWidth + EDGE_PX;
    frame.ariaValueNow = (distance / reach.unit_m).toFixed(1);
    frame.ariaValueText = words;
    read.textContent = words;
    read.dataset.station = station(reach, distance);
}

function clear() {
    marked = null;
    desk.ground?.plan.mark(null);
    for (const { picture, read } of drawn.values()) {
        pointer(picture, -9);
        read.textContent = "";
    }
}

function pointer(picture, x) {
    const line = picture.querySelector(".pointer");
    line.setAttribute("x1", x);
    line.setAttribute("x2", x);
}

function fromMap({ latlng: { lng, lat } }) {
    const { ground } = desk;
    if (ground.pen.sort || ground.handles.dragging) return;
    const found = nearest(reaches, [lng, lat], ([longitude, latitude]) => ground.map.latLngToContainerPoint([latitude, longitude]));
    if (found && found.away <= NEAR_PX) mark(found.reach, found.distance, true);
    else if (marked && !at("profiles").contains(document.activeElement)) clear();
}

export function beginProfiles() {
    at("profiles-fold").addEventListener("toggle", draw);
    let watched = null;
    desk.on("plan", () => {
        if (watched === desk.ground) return;
        watched = desk.ground;
        watched.map.on("mousemove click", fromMap);
        watched.map.on("mouseout", () => marked && !at("profiles").contains(document.activeElement) && clear());
    });
}
