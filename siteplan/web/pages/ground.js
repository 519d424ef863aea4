// The map: what is drawn; plan_layer.js lays the plan over it. Draws new shapes and moves old ones with the drawing
// library, whose own buttons and texts are not shown.

import { OUTLINES, label, look, rank } from "./looks.js";
import { SIDES, placeNames } from "./names.js";
import { ALONE, PlanLayer } from "./plan_layer.js";
import { scaleControl } from "./scale.js";
import { SORT_OF, lengthM, lengthText } from "./shapes.js";

const MODES = { Marker: "point", Line: "line", Polygon: "area" };
const AFTER_DROP_MS = 200;

export class Ground extends EventTarget {
    #kinds;
    #units;
    #map;
    #drawn = new Map();
    #plan;
    #chosen = null;
    #mode = "";
    #wanted = null;
    #held = false;
    #droppedAt = 0;

    constructor(box, kinds, units) {
        super();
        this.#kinds = kinds;
        this.#units = units;
        this.#map = L.map(box, {
            attributionControl: false, maxZoom: 24, zoomSnap: 0.25, zoomDelta: 0.5, wheelPxPerZoomLevel: 120,
            boxZoom: false, fadeAnimation: false,
        });
        this.#map.setView([0, 0], 2);
        this.#plan = new PlanLayer(this.#map, (feature, options) => this.#layer(feature, options));
        this.#map.addControl(scaleControl(units));
        this.#map.pm.setGlobalOptions({ tooltips: false, exitModeOnEscape: true, finishOnEnter: true });
        this.#map.on("zoomend moveend", () => this.#placeNames());
        this.#map.on("click", () => this.#clickedBeside());
        this.#map.on("pm:create", ({ layer }) => this.#created(layer));
        this.#map.on("pm:drawstart", ({ workingLayer }) => this.#follow(workingLayer));
        this.#map.on("pm:drawend", () => this.#drawEnded());
    }

    // For parts that lay panes of their own over or under the drawing.
    get map() {
        return this.#map;
    }

    get middle() {
        const { lng, lat } = this.#map.getCenter();
        return [lng, lat];
    }

    goTo([longitude, latitude]) {
        this.#map.setView([latitude, longitude], 19, { animate: false });
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

    // --- what is drawn

    render(things) {
        const mode = this.#mode;
        this.#letGo();
        for (const { layer } of this.#drawn.values()) layer.remove();
        this.#drawn.clear();
        const placed = things.filter(({ feature }) => SORT_OF[feature.geometry?.type]);
        for (const { key, feature } of placed.sort((one, other) => spread(other.feature) - spread(one.feature))) {
            const drawn = this.#layer(feature, {});
            drawn.layer.on("click", (event) => this.#clicked(event, key));
            drawn.layer.on("pm:markerdragstart pm:dragstart pm:rotatestart", () => { this.#held = true; });
            drawn.layer.on("pm:markerdragend pm:dragend pm:rotateend", () => this.#drop());
            drawn.layer.on("pm:edit pm:markerdragend", () => this.#moved(key));
            drawn.layer.addTo(this.#map);
            this.#drawn.set(key, drawn);
        }
        if (this.#chosen !== null) this.choose(this.#chosen, mode);
        this.#placeNames();
    }

    // Show a thing as chosen; `mode` is corners, move or turn: what dragging does to it.
    choose(key, mode) {
        this.#letGo();
        this.#chosen = this.#drawn.has(key) ? key : null;
        if (this.#chosen === null) return;
        const { layer, sort, path } = this.#drawn.get(key);
        layer.setStyle?.({ ...path, weight: path.weight + 3 });
        layer.getElement?.()?.classList.add("chosen");
        this.#mode = mode;
        if (!layer.pm) return;
        const options = { snappable: true, snapDistance: 12, allowSelfIntersection: sort !== "area", removeLayerBelowMinVertexCount: false };
        if (mode === "turn") layer.pm.enableRotate();
        else if (mode === "move" && sort !== "point") layer.pm.enableLayerDrag();
        else if (mode) layer.pm.enable(options);
    }

    goToThing(key) {
        const { layer } = this.#drawn.get(key) ?? {};
        if (!layer) return;
        if (layer.getLatLng) this.#map.panTo(layer.getLatLng(), { animate: false });
        else this.#map.fitBounds(layer.getBounds(), { padding: [60, 60], maxZoom: 21, animate: false });
    }

    // --- drawing something new

    draw(kind, sort) {
        this.stop();
        this.#wanted = { kind, sort, points: 0 };
        const mode = Object.keys(MODES).find((name) => MODES[name] === sort);
        const line = { color: "#000", weight: 2 };
        this.#map.pm.enableDraw(mode, {
            snappable: true, snapDistance: 12, continueDrawing: false, allowSelfIntersection: true,
            templineStyle: line, hintlineStyle: { ...line, dashArray: "4 6" }, pathOptions: line,
            markerStyle: { icon: this.#icon(kind.mark || "•"), draggable: false }, markerEditable: false,
        });
        this.#tellDrawing("");
    }

    finish() {
        this.#tool()?._finishShape();
    }

    takeBack() {
        this.#tool()?._removeLastVertex();
    }

    stop() {
        if (this.#wanted) this.#map.pm.disableDraw();
    }

    #tool() {
        const name = this.#map.pm.Draw.getActiveShape();
        return name && name !== "Marker" ? this.#map.pm.Draw[name] : null;
    }

    #created(layer) {
        const { kind, sort } = this.#wanted ?? {};
        const { geometry } = layer.toGeoJSON(9);
        layer.remove();
        if (kind) this.#tell("drawn", { kind, sort, geometry });
    }

    #drawEnded() {
        this.#wanted = null;
        this.#tell("drawing", { words: null });
    }

    #follow(working) {
        if (!working?.getLatLngs) return;
        const places = () => working.getLatLngs().flat().map(({ lng, lat }) => [lng, lat]);
        const tell = (to) => {
            const all = to ? [...places(), to] : places();
            if (!this.#wanted || all.length < 2) return;
            const side = lengthText(lengthM(all.slice(-2)), this.#units);
            this.#tellDrawing(`this side ${side}, in all ${lengthText(lengthM(all), this.#units)}.`);
        };
        const moved = ({ latlng }) => tell([latlng.lng, latlng.lat]);
        working.on("pm:vertexadded pm:vertexremoved", () => tell());
        this.#map.on("mousemove", moved);
        this.#map.once("pm:drawend", () => this.#map.off("mousemove", moved));
    }

    #tellDrawing(size) {
        const { kind, sort } = this.#wanted;
        const how = {
            point: "click or tap its place.",
            line: "click or tap each point; the last one again to finish.",
            area: "click or tap each corner; the first one again to finish.",
        };
        this.#tell("drawing", { words: `${kind.name[0].toUpperCase()}${kind.name.slice(1)}: ${size || how[sort]}`, sort });
    }

    // --- moving what is drawn

    #clicked(event, key) {
        L.DomEvent.stopPropagation(event);
        if (!this.#wanted && key !== this.#chosen) this.#tell("choose", { key });
    }

    // Letting go at the end of a drag may count as a click beside the thing: that lets nothing go.
    #clickedBeside() {
        if (!this.#wanted && performance.now() - this.#droppedAt > AFTER_DROP_MS) this.#tell("choose", { key: null });
    }

    #drop() {
        this.#held = false;
        this.#droppedAt = performance.now();
    }

    #moved(key) {
        if (this.#held) return;
        const { layer } = this.#drawn.get(key) ?? {};
        if (!layer?._map) return;
        layer.getTooltip()?.setLatLng(anchor(layer));
        this.#placeNames();
        this.#tell("moved", { key, geometry: layer.toGeoJSON(9).geometry });
    }

    #letGo() {
        this.#held = false;
        const drawn = this.#drawn.get(this.#chosen);
        if (!drawn) return;
        drawn.layer.pm?.disable();
        drawn.layer.pm?.disableLayerDrag?.();
        drawn.layer.pm?.disableRotate?.();
        drawn.layer.setStyle?.(drawn.path);
        drawn.layer.getElement?.()?.classList.remove("chosen");
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

    // What is planned over the drawing; another module draws it.
    get plan() {
        return this.#plan;
    }

    showPlan(shapes, drawnIds) {
        this.#plan.show(shapes, drawnIds);
        this.#placeNames();
    }

    #placeNames() {
        placeNames(this.#map.getContainer(), [...this.#drawn.values(), ...this.#plan.others]);
    }

    #tell(what, detail) {
        this.dispatchEvent(new CustomEvent(what, { detail }));
    }
}

// How far a feature spreads [m]: the large are drawn first, so that the small ones can be clicked.
function spread(feature) {
    const bounds = L.geoJSON(feature).getBounds();
    return bounds.getSouthWest().distanceTo(bounds.getNorthEast());
}

function anchor(layer) {
    return layer.getLatLng?.() ?? layer.getCenter();
}
