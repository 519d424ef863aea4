// The map: what is drawn, the thing that is chosen, and the plan over it (plan_layer.js). New things are drawn by the pen,
// the chosen one is changed by its handles.

import { catchable } from "./catch.js";
import { gridLayer } from "./grid.js";
import { Handles } from "./handles.js";
import { OUTLINES, label, look, rank } from "./looks.js";
import { SIDES, placeNames } from "./names.js";
import { Pen } from "./pen.js";
import { ALONE, PlanLayer } from "./plan_layer.js";
import { scaleControl } from "./scale.js";
import { SORT_OF } from "./shapes.js";
import { Sign } from "./sign.js";
import { Sizes } from "./sizes.js";

const DEPTH = { LineString: 0, Polygon: 1, MultiLineString: 1, MultiPolygon: 2 };

export class Ground extends EventTarget {
    catching = { corners: true, square: true };
    #kinds;
    #map;
    #drawn = new Map();
    #things = [];
    #plan;
    #pen;
    #handles;
    #grid;
    #chosen = null;
    #mode = "";

    constructor(box, kinds, units) {
        super();
        this.#kinds = kinds;
        this.#map = L.map(box, {
            attributionControl: false, maxZoom: 24, zoomSnap: 0.25, zoomDelta: 0.5, wheelPxPerZoomLevel: 120,
            boxZoom: false, fadeAnimation: false,
        });
        this.#map.setView([0, 0], 2);
        this.#grid = gridLayer(units).addTo(this.#map);
        this.#plan = new PlanLayer(this.#map, (feature, options) => this.#layer(feature, options));
        this.#map.addControl(scaleControl(units));
        this.#map.on("zoomend moveend", () => this.#placeNames());
        this.#map.on("click", () => this.#pen.sort || this.#tell("choose", { key: null }));

        const catching = () => this.catching;
        const tools = { sizes: new Sizes(this.#map, units), sign: new Sign(this.#map), catching, things: () => this.#catchable() };
        this.#pen = new Pen(this.#map, tools);
        for (const what of ["drawn", "put"]) this.#pen.addEventListener(what, ({ detail }) => this.#tell(what, detail));
        this.#pen.addEventListener("stop", () => this.#endPen());
        this.#handles = new Handles(this.#map, { ...tools, show: (geometry) => this.#showShape(geometry) });
        for (const what of ["carried", "changed", "nudged"]) {
            this.#handles.addEventListener(what, ({ detail }) => this.#tell(what, { key: this.#chosen, ...detail }));
        }
        this.#handles.addEventListener("back", () => this.#restore());
    }

    get map() {
        return this.#map;
    }

    // What draws new things: the strip over the map types into it.
    get pen() {
        return this.#pen;
    }

    get handles() {
        return this.#handles;
    }

    // What is planned over the drawing; another module draws it.
    get plan() {
        return this.#plan;
    }

    get middle() {
        const { lng, lat } = this.#map.getCenter();
        return [lng, lat];
    }

    // Whether somebody has said where on the earth the site is.
    placed = false;

    goTo([longitude, latitude]) {
        this.#map.setView([latitude, longitude], 19, { animate: false });
    }

    // Have a place in view, without moving the map if it is.
    show([longitude, latitude]) {
        if (!this.#map.getBounds().contains([latitude, longitude])) this.goTo([longitude, latitude]);
    }

    // Show all that has a place; false if nothing has.
    showAll() {
        const bounds = L.latLngBounds([]);
        const extend = (layer) => bounds.extend(layer.getBounds?.() ?? layer.getLatLng());
        for (const { layer } of this.#drawn.values()) extend(layer);
        for (const { layer } of this.#plan.others) extend(layer);
        if (!bounds.isValid()) return false;
        this.#map.invalidateSize();
        this.#map.fitBounds(bounds, { padding: [16, 16], maxZoom: 21, animate: false });
        return true;
    }

    refit() {
        this.#map.invalidateSize();
    }

    showGrid(wanted) {
        if (wanted) this.#grid.addTo(this.#map);
        else this.#grid.remove();
    }

    // --- what is drawn

    // Show the drawing; only what has changed is drawn anew.
    render(things) {
        this.#things = things;
        const placed = new Map(things.filter(({ feature }) => SORT_OF[feature.geometry?.type]).map((thing) => [thing.key, thing.feature]));
        let changed = false;
        for (const [key, drawn] of this.#drawn) {
            if (placed.get(key) === drawn.feature) continue;
            drawn.layer.remove();
            this.#drawn.delete(key);
            changed = true;
        }
        for (const [key, feature] of placed) {
            if (this.#drawn.has(key)) continue;
            const drawn = { ...this.#layer(feature, {}), feature };
            drawn.layer.on("click", (event) => this.#clicked(event, key));
            this.#drawn.set(key, { ...drawn, spread: spread(drawn.layer) });
            drawn.layer.addTo(this.#map);
            changed = true;
        }
        if (!changed) return;
        const bySize = [...this.#drawn.values()].sort((one, other) => other.spread - one.spread);
        for (const { layer } of bySize) layer.bringToFront?.();
        if (this.#chosen === null) this.#placeNames();
        else this.choose(this.#chosen, this.#mode);
    }

    // Show a thing as chosen; `mode` is corners, move or turn: what its handles do to it.
    choose(key, mode) {
        const before = this.#drawn.get(this.#chosen);
        before?.layer.setStyle?.(before.path);
        before?.layer.getElement?.()?.classList.remove("chosen");
        this.#chosen = this.#drawn.has(key) ? key : null;
        this.#mode = this.#chosen === null ? "" : mode;
        const { layer, path, feature } = this.#drawn.get(this.#chosen) ?? {};
        layer?.setStyle?.({ ...path, weight: path.weight + 3 });
        layer?.getElement?.()?.classList.add("chosen");
        if (!layer) this.#handles.clear();
        else if (!this.#pen.sort) this.#handles.lay({ key, name: this.#nameOf(feature), geometry: feature.geometry, mode, layer });
        this.#placeNames();
    }

    goToThing(key) {
        const { layer } = this.#drawn.get(key) ?? {};
        if (!layer) return;
        if (layer.getLatLng) this.#map.panTo(layer.getLatLng(), { animate: false });
        else this.#map.fitBounds(layer.getBounds(), { padding: [80, 60], maxZoom: 21, animate: false });
    }

    // Begin to draw a point, a line or an area; or a whole outline, {about, geometry}, to be put down.
    draw(sort, outline = null) {
        this.#handles.clear();
        this.#pen.begin(sort, outline);
    }

    #endPen() {
        if (this.#chosen !== null) this.choose(this.#chosen, this.#mode);
    }

    #clicked(event, key) {
        L.DomEvent.stopPropagation(event);
        if (key !== this.#chosen) this.#tell("choose", { key });
    }

    // The chosen thing as it is while it is dragged.
    #showShape(geometry) {
        const { layer } = this.#drawn.get(this.#chosen) ?? {};
        if (!layer) return;
        if (geometry.type === "Point") layer.setLatLng(L.GeoJSON.coordsToLatLng(geometry.coordinates));
        else layer.setLatLngs?.(L.GeoJSON.coordsToLatLngs(geometry.coordinates, DEPTH[geometry.type]));
        layer.getTooltip()?.setLatLng(layer.getLatLng?.() ?? layer.getCenter());
    }

    #restore() {
        const drawn = this.#drawn.get(this.#chosen);
        if (!drawn) return;
        this.#showShape(drawn.feature.geometry);
        this.choose(this.#chosen, this.#mode);
        this.#tell("back", {});
    }

    // What can be drawn to: the drawing, and what stands in other files of the site.
    #catchable() {
        const others = this.#plan.others.map(({ layer }) => ({ key: null, feature: layer.feature }));
        return catchable([...this.#things, ...others], (feature) => this.#nameOf(feature));
    }

    #nameOf({ properties }) {
        return String(properties?.name || this.#kinds.get(properties?.kind)?.name || "it");
    }

    #layer(feature, options) {
        const properties = feature.properties ?? {};
        const kind = this.#kinds.get(properties.kind);
        const { path, letter } = look(properties, kind);
        const sort = SORT_OF[feature.geometry.type];
        const [layer] = L.geoJSON(feature, {
            style: sort === "line" ? { ...path, fill: false, ...options } : { ...path, ...options },
            pointToLayer: (_, place) => L.marker(place, { icon: this.#icon(letter), title: label(properties, kind), ...options }),
        }).getLayers();
        const name = document.createElement("span");
        name.textContent = sort === "line" && letter !== "•" ? `${letter}  ${label(properties, kind)}` : label(properties, kind);
        const always = !OUTLINES.has(kind?.id);
        layer.bindTooltip(name, { permanent: always, sticky: !always, direction: SIDES[sort][0], className: "name", interactive: false });
        return { layer, sort, path, rank: always ? rank(kind) : null };
    }

    #icon(letter) {
        const mark = document.createElement("span");
        mark.textContent = letter;
        return L.divIcon({ className: "mark", html: mark, iconSize: [26, 26] });
    }

    // --- the plan

    showPlan({ shapes, reaches }, drawnIds) {
        if (this.#plan.show(shapes, drawnIds, reaches)) this.#placeNames();
    }

    #placeNames() {
        placeNames(this.#map, [...this.#drawn.values(), ...this.#plan.others]);
    }

    #tell(what, detail) {
        this.dispatchEvent(new CustomEvent(what, { detail }));
    }
}

// How far a layer spreads [m]: the large lie below, so that the small ones can be clicked.
function spread(layer) {
    const bounds = layer.getBounds?.() ?? L.latLngBounds([layer.getLatLng()]);
    return bounds.getSouthWest().distanceTo(bounds.getNorthEast());
}
