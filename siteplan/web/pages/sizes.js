// Lengths beside the sides on the map, and angles at the corners, while something is drawn, dragged or chosen.

import { angleAt, sideM } from "./flat.js";
import { lengthText } from "./shapes.js";

const ROOM_PX = 46;
const [BESIDE_PX, BESIDE_WIDE_PX] = matchMedia("(pointer: coarse)").matches ? [26, 48] : [18, 40];
const PANE = "sizes";

export class Sizes {
    #map;
    #units;
    #laid = [];
    #used = 0;

    constructor(map, units) {
        this.#map = map;
        this.#units = units;
        const pane = map.createPane(PANE);
        pane.style.zIndex = 640;
        pane.style.pointerEvents = "none";
        map.on("zoomend", () => this.#again?.());
    }

    #again = null;

    // Show lengths of all sides, and angles if wanted; a drawing that goes on has only its newest angle.
    show(places, { closed = false, angles = "" } = {}) {
        this.#again = () => this.show(places, { closed, angles });
        this.#used = 0;
        const count = places.length;
        for (let n = 0; n < (closed ? count : count - 1); n += 1) this.#side(places, n, closed);
        if (angles) for (let n = angles === "last" ? count - 2 : 0; n < count; n += 1) this.#angle(places, n, closed);
        this.#tidy();
    }

    clear() {
        this.#again = null;
        this.#used = 0;
        this.#tidy();
    }

    #side(places, n, closed) {
        const [from, to] = [places[n], places[(n + 1) % places.length]];
        const [start, end] = [this.#at(from), this.#at(to)];
        const run = end.subtract(start);
        const long = Math.hypot(run.x, run.y);
        if (long < ROOM_PX) return;
        const sign = closed ? this.#outward(places) : 1;
        const out = L.point(sign * BESIDE_WIDE_PX * run.y / long, -sign * BESIDE_PX * run.x / long);
        this.#label(start.add(end).divideBy(2).add(out), lengthText(sideM(from, to), this.#units), "size");
    }

    #angle(places, n, closed) {
        const [before, after] = closed
            ? [places.at(n - 1), places[(n + 1) % places.length]]
            : [places[n - 1], places[n + 1]];
        if (!before || !after) return;
        const [here, one, other] = [places[n], before, after].map((place) => this.#at(place));
        const unit = (point) => point.subtract(here).divideBy(Math.max(1e-6, point.distanceTo(here)));
        if (one.distanceTo(here) < ROOM_PX / 2 || other.distanceTo(here) < ROOM_PX / 2) return;
        const inward = unit(one).add(unit(other));
        const long = Math.hypot(inward.x, inward.y);
        const step = long < 0.1 ? L.point(0, BESIDE_PX) : inward.divideBy(long).multiplyBy(26);
        this.#label(here.add(step), `${angleAt(before, places[n], after).toFixed(1)}°`, "size angle");
    }

    // Which side of its outline is outside, on a screen whose y grows downwards.
    #outward(places) {
        const twice = places.reduce((sum, [x, y], n) => {
            const [nextX, nextY] = places[(n + 1) % places.length];
            return sum + x * nextY - nextX * y;
        }, 0);
        return twice > 0 ? -1 : 1;
    }

    #at([longitude, latitude]) {
        return this.#map.latLngToLayerPoint([latitude, longitude]);
    }

    #label(point, words, className) {
        const place = this.#map.layerPointToLatLng(point);
        const label = this.#laid[this.#used] ?? (this.#laid[this.#used] = this.#made(place));
        label.setLatLng(place);
        const box = label.getElement().firstChild;
        box.textContent = words;
        box.className = className;
        this.#used += 1;
    }

    #made(place) {
        const icon = L.divIcon({ className: "size-place", html: document.createElement("span"), iconSize: [0, 0] });
        return L.marker(place, { icon, pane: PANE, interactive: false, keyboard: false }).addTo(this.#map);
    }

    #tidy() {
        for (const label of this.#laid.splice(this.#used)) label.remove();
    }
}
