// Drawing something new, corner by corner: pointed at on the map or typed. Knows the corners so far and where is pointed.

import { caught, guidesFrom } from "./catch.js";
import { cornersOf } from "./corners.js";
import { rounded } from "./flat.js";

const REACH_PX = 12;
const LINE = { color: "#000", weight: 2, interactive: false };
const FEWEST = { point: 1, line: 2, area: 3 };

export class Pen extends EventTarget {
    #map;
    #tools;
    #sort = "";
    #outline = null;
    #places = [];
    #pointed = null;
    #drawn = L.layerGroup();
    #solid = L.polyline([], LINE);
    #dashed = L.polyline([], { ...LINE, dashArray: "4 6" });

    // `tools` are {sizes, sign, things(), catching(): {corners, square}}.
    constructor(map, tools) {
        super();
        this.#map = map;
        this.#tools = tools;
        map.on("mousemove", ({ latlng, originalEvent }) => this.#point(latlng, originalEvent?.shiftKey));
        map.on("click", ({ latlng, originalEvent }) => this.#click(latlng, originalEvent?.shiftKey));
    }

    get sort() {
        return this.#sort;
    }

    // What the next typed side begins from and goes towards: {from, before, towards}.
    get side() {
        const [from, before] = [this.#places.at(-1) ?? null, this.#places.at(-2) ?? null];
        return { from, before, towards: this.#pointed?.place ?? null };
    }

    get places() {
        return this.#places;
    }

    get count() {
        return this.#places.length;
    }

    get canFinish() {
        return this.#sort !== "" && !this.#outline && this.#places.length >= FEWEST[this.#sort];
    }

    // Begin a point, a line or an area; with an outline (a geometry about a place) that shape is put down whole.
    begin(sort, outline = null) {
        this.stop();
        this.#sort = sort;
        this.#outline = outline;
        this.#drawn.addTo(this.#map);
        for (const line of [this.#solid, this.#dashed]) line.addTo(this.#drawn);
        this.#map.doubleClickZoom.disable();
        this.#map.getContainer().classList.add("drawing");
        this.#tell("step");
    }

    // The next corner at a place; a point is done with it.
    put(place) {
        this.#places.push(rounded(place));
        this.#pointed = null;
        this.#tools.sign.hide();
        if (this.#outline || this.#sort === "point") return this.#done();
        this.#show();
        this.#tell("step");
    }

    takeBack() {
        this.#places.pop();
        this.#show();
        this.#tell("step");
    }

    finish() {
        if (this.canFinish) this.#done();
    }

    stop() {
        if (!this.#sort) return;
        this.#clear();
        this.#tell("stop");
    }

    #done() {
        const [sort, outline, places] = [this.#sort, this.#outline, this.#places];
        this.#clear();
        this.#tell("stop");
        const geometry = {
            point: () => ({ type: "Point", coordinates: places[0] }),
            line: () => ({ type: "LineString", coordinates: places }),
            area: () => ({ type: "Polygon", coordinates: [[...places, places[0]]] }),
        }[sort];
        if (outline) this.#tell("put", { place: places[0] });
        else this.#tell("drawn", { sort, geometry: geometry() });
    }

    #clear() {
        this.#sort = "";
        this.#outline = null;
        this.#places = [];
        this.#pointed = null;
        this.#drawn.clearLayers();
        this.#drawn.remove();
        this.#tools.sizes.clear();
        this.#tools.sign.hide();
        this.#map.doubleClickZoom.enable();
        this.#map.getContainer().classList.remove("drawing");
    }

    #point(latlng, free) {
        if (!this.#sort) return;
        const place = [latlng.lng, latlng.lat];
        const found = free ? null : this.#caught(place);
        this.#pointed = found ?? { place: rounded(place) };
        this.#tools.sign.show(found, this.#places.at(-1));
        this.#show();
        this.#tell("point");
    }

    #click(latlng, free) {
        if (!this.#sort) return;
        const place = [latlng.lng, latlng.lat];
        const end = this.#sort === "area" ? this.#places[0] : this.#places.at(-1);
        if (this.canFinish && this.#pixels(end, place) < REACH_PX) return void this.finish();
        if (this.#places.length && this.#pixels(this.#places.at(-1), place) < 4) return;
        this.put(free ? place : this.#caught(place)?.place ?? place);
    }

    #caught(place) {
        const { corners, square } = this.#tools.catching();
        const things = this.#tools.things();
        const guides = square && !this.#outline && this.#sort !== "point" ? guidesFrom(this.#places, this.#sort === "area", things) : [];
        const first = this.#sort === "area" && this.#places.length > 2 ? [{ name: "the first corner", single: true, sides: [], points: [this.#places[0]] }] : [];
        return caught(place, this.#reachM(place), corners ? [...things, ...first] : first, guides);
    }

    #reachM(place) {
        return metresPerPixel(this.#map, place) * REACH_PX;
    }

    #pixels(one, other) {
        const [here, there] = [one, other].map(([longitude, latitude]) => this.#map.latLngToContainerPoint([latitude, longitude]));
        return here.distanceTo(there);
    }

    #show() {
        const here = this.#pointed?.place;
        const { sizes } = this.#tools;
        const shown = (places) => places.map(([longitude, latitude]) => [latitude, longitude]);
        if (this.#outline) {
            if (!here) return;
            const { places } = cornersOf(moved(this.#outline, here));
            this.#solid.setLatLngs(shown([...places, places[0]]));
            sizes.show(places, { closed: true });
            return;
        }
        const on = here && this.#places.length ? [...this.#places, here] : this.#places;
        this.#solid.setLatLngs(shown(this.#places));
        const closing = this.#sort === "area" && on.length > 2 ? [on.at(-1), on[0]] : [];
        this.#dashed.setLatLngs([shown(on.slice(-2)), shown(closing)]);
        sizes.show(on, { angles: "last" });
    }

    #tell(what, detail) {
        this.dispatchEvent(new CustomEvent(what, { detail }));
    }
}

export function metresPerPixel(map, [, latitude]) {
    return 40075016.7 * Math.cos(latitude * Math.PI / 180) / (256 * 2 ** map.getZoom());
}

// An outline laid about one place, at another for the eye; the server lays it there exactly.
function moved({ about, geometry }, [longitude, latitude]) {
    const squeeze = Math.cos(about[1] * Math.PI / 180) / Math.cos(latitude * Math.PI / 180);
    const ring = geometry.coordinates[0].map(([x, y]) => [longitude + (x - about[0]) * squeeze, latitude + y - about[1]]);
    return { ...geometry, coordinates: [ring] };
}
