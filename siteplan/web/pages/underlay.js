// A picture underneath: a scan, a photo or an air photo, laid by two or three of its points.

import { ask } from "./api.js";
import { at, desk } from "./desk.js";
import { button, element, labelled, wrap } from "./element.js";
import { base64, megabytes } from "./file_bytes.js";
import { PicturePoints } from "./picture_points.js";
import { UnderlayMap } from "./underlay_map.js";

const NEAR_PX = 14;
const AFTER_SAVING_MS = 1500;

let mostBytes = 0;
let content = "";
let name = "";
let points = null;
let underMap = null;
let corners = [];
let asked = 0;
let picking = null;
let rest = 0;

export const isPicture = (file) => /\.(png|jpe?g)$/i.test(file.name) || ["image/png", "image/jpeg"].includes(file.type);

export async function takePicture(file) {
    at("underlay").querySelector("details").open = true;
    leave();
    if (file.size > mostBytes) {
        const line = `${file.name}: ${megabytes(file.size)}, at most ${megabytes(mostBytes)}. Save it smaller: grey, 150 dots to the inch.`;
        return void say("", [line]);
    }
    try {
        content = await base64(file);
    } catch {
        return void say("", ["The browser cannot read this file."]);
    }
    ({ name } = file);
    await readCorners();
    const sort = /\.png$/i.test(file.name) ? "image/png" : "image/jpeg";
    points = new PicturePoints({ name, source: `data:${sort};base64,${content}`, corners, act: { change: tryOut, pick } });
    const head = element("h3", { text: name, tabIndex: -1 });
    const how = element("p", { text: "Click a point of the picture, then the same point on the drawing. Two points lay it, a third shows how well they agree. Take them far apart." });
    const keepIt = Object.assign(button("Lay it under the drawing", keep, "main"), { id: "underlay-keep", disabled: true });
    at("underlay-asked").replaceChildren(head, how, points.box, wrap("p", [keepIt, button("Leave it", leaveIt)], "tools"));
    say("Point 1: click it in the picture.");
    head.focus();
}

function say(words, lines = []) {
    at("underlay-said").textContent = words;
    at("underlay-faults").textContent = lines.join(" ");
}

function leave() {
    stopPicking();
    points = null;
    content = "";
    asked += 1;
    at("underlay-asked").replaceChildren();
    at("underlay-file").value = "";
    underMap?.preview(null);
    say("");
}

function leaveIt() {
    leave();
    at("underlay-file").focus();
}

// --- the same point on the map

function pick(number) {
    stopPicking();
    const box = desk.ground.map.getContainer();
    const words = element("span", { text: `Point ${number + 1}: click the same point here.` });
    const strip = wrap("div", [words, button("Cancel", stopPicking)], "pick-strip");
    box.append(strip);
    const taken = (event) => {
        if (event.target.closest(".leaflet-control, .pick-strip")) return;
        event.stopImmediatePropagation();
        event.preventDefault();
        if (event.type !== "click") return;
        stopPicking();
        points.picked(number, placeAt(desk.ground.map.mouseEventToContainerPoint(event)));
    };
    const types = ["click", "dblclick"];
    for (const type of types) box.addEventListener(type, taken, { capture: true });
    box.classList.add("picking");
    picking = () => {
        for (const type of types) box.removeEventListener(type, taken, { capture: true });
        box.classList.remove("picking");
        strip.remove();
    };
    say(`Point ${number + 1}: now click the same point on the drawing, or choose a corner below. Escape leaves it.`);
}

function stopPicking() {
    picking?.();
    picking = null;
}

// A corner that is near, else the place itself.
function placeAt(where) {
    const { map } = desk.ground;
    const near = corners.map((corner) => ({ corner, far: map.latLngToContainerPoint([corner.at[1], corner.at[0]]).distanceTo(where) }))
        .sort((one, other) => one.far - other.far)[0];
    if (near && near.far <= NEAR_PX) return { corner: near.corner.plain };
    const { lng, lat } = map.containerPointToLatLng(where);
    return { place: [lng, lat] };
}

// --- laying it

async function tryOut() {
    const { told } = points;
    at("underlay-keep").disabled = true;
    if (told.length < 2) {
        say(`${told.length} of two points ${told.length === 1 ? "is" : "are"} told.`);
        return;
    }
    asked += 1;
    const number = asked;
    const { ok, data } = await ask("POST", "/api/underlay", { content, points: told });
    if (number !== asked) return;
    if (!ok) {
        underMap.preview(null);
        return void say("", data.faults);
    }
    underMap.preview(data, points.source);
    say(fit(data));
    at("underlay-keep").disabled = false;
}

function fit({ misfit }) {
    if (misfit === null) return "Laid by two points: nothing shows whether they are right, a third would.";
    return `Point 3 lies ${misfit} from where the first two put it; the picture is stretched by that.`;
}

async function keep() {
    at("underlay-keep").disabled = true;
    const { ok, data } = await ask("POST", "/api/underlay", { content, points: points.told, keep: true });
    if (!ok) {
        at("underlay-keep").disabled = false;
        return void say("", data.faults);
    }
    leave();
    say(`Kept as ${data.name}. It is to look at: nothing is measured on it.`);
    await readPictures();
    at("underlay-file").focus();
}

async function takeOut(number, title) {
    const { ok, data } = await ask("POST", "/api/underlay/take-out", { number });
    say(ok ? `${title} is taken out. It is under Earlier versions.` : "", ok ? [] : data.faults);
    await readPictures();
    at("underlay-file").focus();
}

async function readCorners() {
    const { ok, data } = await ask("GET", "/api/tapes");
    corners = ok ? data.corners.filter(({ of }) => of) : [];
    points?.corners(corners);
}

async function readPictures() {
    const { ok, data } = await ask("GET", "/api/underlay");
    if (!ok) return;
    mostBytes = data.most_bytes;
    underMap.take(data.pictures);
    at("underlay-switches").hidden = data.pictures.length === 0;
    at("underlay-list").replaceChildren(...data.pictures.map(({ number, name: title, words }) => {
        const out = button("Take out", () => takeOut(number, title));
        out.setAttribute("aria-label", `Take out ${title}`);
        return wrap("li", [element("span", { text: words }), out]);
    }));
    if (data.faults.length) say("", data.faults);
}

function build() {
    const file = element("input", { type: "file", id: "underlay-file", accept: ".png,.jpg,.jpeg" });
    file.addEventListener("change", () => file.files.length && takePicture(file.files[0]));
    const said = element("p", { id: "underlay-said" });
    said.setAttribute("role", "status");
    const faults = element("p", { id: "underlay-faults", className: "fault" });
    faults.setAttribute("role", "alert");
    const strength = element("input", { type: "range", id: "underlay-strength", min: "10", max: "100", step: "10", value: "60" });
    strength.addEventListener("input", () => underMap.opacity(Number(strength.value) / 100));
    const show = element("input", { type: "checkbox", id: "underlay-show", checked: true });
    show.addEventListener("change", () => underMap.show(show.checked));
    const switches = wrap("div", [wrap("label", [show, " Show pictures"]), labelled("How strong", strength)], "switches");
    switches.id = "underlay-switches";
    switches.hidden = true;
    at("underlay-body").append(
        element("p", { className: "hint", text: "A scan, a photo or an air photo to draw over: PNG or JPEG. Drop it anywhere on this page, or choose it." }),
        labelled("Picture", file), said, faults, element("div", { id: "underlay-asked" }), switches, element("ul", { id: "underlay-list" }),
    );
    addEventListener("keydown", (event) => {
        if (event.key !== "Escape" || !picking) return;
        stopPicking();
        say("");
        event.stopPropagation();
    }, { capture: true });
}

export function beginUnderlay() {
    build();
    desk.on("site", ({ data }) => {
        at("underlay").hidden = data.grid;
        if (!underMap) {
            underMap = new UnderlayMap(desk.ground.map);
            underMap.opacity(0.6);
        }
        readPictures();
    });
    desk.follower.addEventListener("follow", ({ detail: { what } }) => {
        if (what !== "saved" || !desk.ground) return;
        if (points) readCorners();
        clearTimeout(rest);
        if (at("underlay-list").children.length) rest = setTimeout(readPictures, AFTER_SAVING_MS);
    });
}
