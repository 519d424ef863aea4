// What the chosen thing is changed by on the map: a handle at each corner, between corners, in its middle, and to turn it by.
// Handles are dragged, and moved by the arrow keys. What is dragged is told once, when it is let go.

import { caught, guidesAbout, wayLike } from "./catch.js";
import { cornerAfter, cornersOf, pointsOf, withCorner, withoutCorner } from "./corners.js";
import { Flat, bearingOf, middleOf, rounded, shifted, turnedBy } from "./flat.js";
import { metresPerPixel } from "./pen.js";
import { draggable } from "./pointer.js";

const PANE = "handles";
const REACH_PX = 12;
const TURN_PX = 44;
const TURN_CATCH_DEG = 3;

export class Handles extends EventTarget {
    #map;
    #tools;
    #laid = L.layerGroup();
    #thing = null;
    #endings = [];

    // `tools` are {sizes, sign, things(), catching(), show(geometry)}; `show` draws the thing as it is being dragged.
    constructor(map, tools) {
        super();
        this.#map = map;
        this.#tools = tools;
        map.createPane(PANE).style.zIndex = 650;
        this.#laid.addTo(map);
        map.on("zoomend", () => this.#thing && !this.dragging && this.#lay());
    }

    dragging = false;

    // Lay handles on a thing {key, name, geometry, mode, layer}; a corner that had the focus keeps it.
    lay(thing) {
        const held = this.#focused();
        this.clear();
        this.#thing = thing;
        this.#lay();
        this.#sizes(thing.geometry);
        if (held) this.focus(held);
    }

    clear() {
        this.#thing = null;
        this.#takeOff();
        this.#tools.sizes.clear();
        this.#tools.sign.hide();
    }

    // Put the focus on a handle by its name: "corner 2", "middle".
    focus(name) {
        this.#laid.eachLayer((mark) => mark.options.name === name && mark.getElement()?.focus({ preventScroll: true }));
    }

    #focused() {
        const { activeElement } = document;
        let held = null;
        this.#laid.eachLayer((mark) => (mark.getElement() === activeElement ? (held = mark.options.name) : null));
        return held;
    }

    #lay() {
        const { geometry, mode, layer } = this.#thing;
        this.#takeOff();
        const corners = cornersOf(geometry);
        if (geometry.type === "Point") return this.#drag(layer.getElement(), this.#moving());
        if (mode === "corners" && corners) this.#layCorners(geometry, corners);
        if (mode === "move") this.#layMiddle(geometry);
        if (mode === "move") this.#drag(layer.getElement(), this.#moving());
        if (mode === "turn") this.#layTurn(geometry);
    }

    #takeOff() {
        this.#laid.clearLayers();
        for (const end of this.#endings.splice(0)) end();
    }

    #layCorners(geometry, { places, closed }) {
        const { name } = this.#thing;
        places.forEach((place, n) => {
            const words = `Corner ${n + 1} of ${places.length}, ${name}`;
            const mark = this.#mark(place, "handle corner", `corner ${n + 1}`, words);
            this.#drag(mark, this.#cornering(geometry, n), () => this.#takeOut(n));
            this.#keys(mark, n);
        });
        if (places.length > 60) return;
        for (let n = 0; n < (closed ? places.length : places.length - 1); n += 1) {
            const more = cornerAfter(geometry, n);
            const mark = this.#mark(cornersOf(more).places[n + 1], "handle between", `between ${n + 1}`, `New corner after corner ${n + 1}`);
            mark.tabIndex = -1;
            this.#drag(mark, this.#cornering(more, n + 1), null, "add a corner to");
        }
    }

    #layMiddle(geometry) {
        const mark = this.#mark(middleOf(geometry), "handle middle", "middle", `Move ${this.#thing.name}: arrow keys, or drag`);
        this.#drag(mark, this.#moving());
    }

    #layTurn(geometry) {
        const bounds = L.geoJSON(geometry).getBounds();
        const top = this.#map.latLngToLayerPoint([bounds.getNorth(), middleOf(geometry)[0]]).subtract([0, TURN_PX]);
        const at = this.#map.layerPointToLatLng(top);
        const mark = this.#mark([at.lng, at.lat], "handle turn", "turn", `Turn ${this.#thing.name}: left and right arrow keys, or drag`);
        mark.textContent = "↻";
        this.#drag(mark, this.#turning(geometry, [at.lng, at.lat]), null, "turn");
        mark.addEventListener("keydown", (event) => {
            const by = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
            if (!by) return;
            event.preventDefault();
            event.stopPropagation();
            this.#tell("nudged", { geometry: turnedBy(geometry, event.shiftKey ? by / 10 : by), what: `turn ${this.#thing.name}` });
        });
    }

    #keys(mark, number) {
        mark.addEventListener("keydown", (event) => {
            const act = { Delete: () => this.#takeOut(number), Backspace: () => this.#takeOut(number), Insert: () => this.#putIn(number), "+": () => this.#putIn(number) }[event.key];
            if (!act) return;
            event.preventDefault();
            event.stopPropagation();
            act();
        });
    }

    // Move what has the focus, or all of the thing, by a step on the ground [m].
    nudge(step) {
        const { geometry, name } = this.#thing;
        const held = /^corner (\d+)$/.exec(this.#focused() ?? "");
        if (!held) return this.#tell("nudged", { geometry: shifted(geometry, step), what: `move ${name}` });
        const number = Number(held[1]) - 1;
        const place = cornersOf(geometry).places[number];
        const there = new Flat(place).toPlace(step);
        this.#tell("nudged", { geometry: withCorner(geometry, number, there), what: `move a corner of ${name}` });
    }

    #takeOut(number) {
        const geometry = withoutCorner(this.#thing.geometry, number);
        if (geometry) this.#tell("changed", { geometry, what: "take a corner out of" });
        this.focus(`corner ${Math.max(1, number)}`);
    }

    #putIn(number) {
        const more = cornerAfter(this.#thing.geometry, number);
        const place = rounded(cornersOf(more).places[number + 1]);
        this.#tell("changed", { geometry: withCorner(more, number + 1, place), what: "add a corner to" });
        this.focus(`corner ${number + 2}`);
    }

    // --- what a drag does: each gives the geometry for where the pointer is

    #cornering(geometry, number) {
        const { places, closed } = cornersOf(geometry);
        return {
            at: places[number],
            to: (pointed, free) => {
                const found = this.#found(pointed, free, guidesAbout(places, closed, number));
                return { geometry: withCorner(geometry, number, found?.place ?? rounded(pointed)), found, from: places.at(number - 1) };
            },
            what: "move a corner of",
        };
    }

    // A thing is moved as it is; the corner of it that comes near something is drawn to it.
    #moving() {
        const { geometry } = this.#thing;
        const at = middleOf(geometry);
        const flat = new Flat(at);
        const corners = pointsOf(geometry).slice(0, 100);
        return {
            at,
            to: (pointed, free) => {
                const step = flat.toGround(pointed);
                const shift = (place, by) => new Flat(place).toPlace(by);
                const drawn = corners.map((corner) => ({ corner, found: this.#found(shift(corner, step), free, []) })).filter(({ found }) => found);
                const [best] = drawn.sort((one, other) => (one.found.sign === "corner" ? 0 : 1) - (other.found.sign === "corner" ? 0 : 1) || one.found.away - other.found.away);
                const by = best ? new Flat(best.corner).toGround(best.found.place) : step;
                const there = shifted(geometry, by);
                if (best) setCorner(there, geometry, best.corner, best.found.place);
                return { geometry: there, found: best?.found };
            },
            what: "move",
        };
    }

    #turning(geometry, start) {
        const about = middleOf(geometry);
        const [first, second] = cornersOf(geometry)?.places ?? [];
        return {
            at: start,
            to: (pointed, free) => {
                const turn = bearingOf(about, pointed) - bearingOf(about, start);
                const way = first && second ? bearingOf(first, second) : 0;
                const like = free || !this.#tools.catching().square ? null : wayLike(about, way + turn, TURN_CATCH_DEG, this.#others());
                const by = like ? like.degrees - way : turn;
                const words = `turned ${(((by + 540) % 360) - 180).toFixed(1)}°${like ? `, ${like.words}` : ""}`;
                return { geometry: turnedBy(geometry, by), found: { place: about, words, sign: "turn" } };
            },
            what: "turn",
        };
    }

    #found(pointed, free, guides) {
        const { corners, square } = this.#tools.catching();
        if (free) return null;
        const reachM = metresPerPixel(this.#map, pointed) * REACH_PX;
        return caught(pointed, reachM, corners ? this.#others() : [], square ? guides : []);
    }

    #others() {
        return this.#tools.things().filter(({ key }) => key !== this.#thing.key);
    }

    #drag(element, { at, to, what }, tap = null, words = what) {
        let begun, now;
        const finish = (told) => {
            this.dragging = false;
            this.#tools.sign.hide();
            if (told) this.#tell("changed", { geometry: now, what: words });
            else this.#tell("back");
        };
        this.#endings.push(draggable(element, {
            start: () => {
                this.dragging = true;
                begun = this.#map.latLngToContainerPoint([at[1], at[0]]);
                now = this.#thing.geometry;
            },
            move: ({ x, y, free }) => {
                const { lng, lat } = this.#map.containerPointToLatLng(begun.add([x, y]));
                const moved = to([lng, lat], free);
                now = moved.geometry;
                this.#tools.sign.show(moved.found, moved.from);
                this.#tools.show(now);
                this.#tell("carried", { geometry: now });
                this.#sizes(now);
                if (element.matches(".handle")) this.#follow(element, moved.geometry, [lng, lat]);
            },
            end: () => finish(true),
            cancel: () => finish(false),
        }));
        if (tap) element.addEventListener("contextmenu", (event) => (event.preventDefault(), tap()));
    }

    // A handle goes with the pointer; the others are laid anew when it is let go.
    #follow(element, geometry, pointed) {
        this.#laid.eachLayer((mark) => {
            if (mark.getElement() !== element) return;
            const { name } = mark.options;
            const number = Number(/\d+$/.exec(name)?.[0] ?? 0);
            const corners = cornersOf(geometry)?.places;
            const place = { corner: () => corners[number - 1], between: () => corners[number], middle: () => middleOf(geometry), turn: () => pointed }[name.split(" ")[0]]();
            mark.setLatLng([place[1], place[0]]);
        });
    }

    #sizes(geometry) {
        const corners = cornersOf(geometry);
        if (corners && corners.places.length > 1 && corners.places.length <= 40) this.#tools.sizes.show(corners.places, { closed: corners.closed, angles: this.dragging ? "all" : "" });
        else this.#tools.sizes.clear();
    }

    #mark([longitude, latitude], className, name, words) {
        const icon = L.divIcon({ className, iconSize: null });
        const mark = L.marker([latitude, longitude], { icon, name, pane: PANE, keyboard: true }).addTo(this.#laid);
        const element = mark.getElement();
        element.setAttribute("role", "button");
        element.setAttribute("aria-label", words);
        return element;
    }

    #tell(what, detail) {
        this.dispatchEvent(new CustomEvent(what, { detail }));
    }
}

// The corner that was drawn to something lies on it to the last digit.
function setCorner(geometry, before, corner, place) {
    const put = (now, old) => {
        if (typeof old[0] !== "number") return now.map((part, n) => put(part, old[n]));
        return old[0] === corner[0] && old[1] === corner[1] ? place : now;
    };
    geometry.coordinates = put(geometry.coordinates, before.coordinates);
}
