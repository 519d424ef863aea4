// A grid on the ground, in round lengths of the site's units, square to north. What one square is stands beside the bar scale.

import { Flat, degreeMetres } from "./flat.js";

const LEAST_PX = 26;
const STEPS = { ft: [1, 5, 10, 50, 100, 500, 1000], m: [0.5, 1, 5, 10, 50, 100, 500] };
const FOOT_M = 0.3048;
const LINE = { color: "#000", opacity: 0.13, weight: 1, interactive: false };

// The length of a side of a square: {length, unit, metres} at this zoom.
export function gridStep(map, units) {
    const [unit, metres] = units === "m" ? ["m", 1] : ["ft", FOOT_M];
    const perPixel = degreeMetres(map.getCenter().lat).east * 360 / (256 * 2 ** map.getZoom());
    const length = STEPS[unit].find((step) => step * metres / perPixel >= LEAST_PX);
    return length === undefined ? null : { length, unit, metres: length * metres };
}

export function gridLayer(units) {
    const layer = L.layerGroup();
    let about = null;

    function draw(map) {
        layer.clearLayers();
        const step = gridStep(map, units);
        if (!step) return;
        const bounds = map.getBounds().pad(0.1);
        const middle = map.getCenter();
        if (!about || L.latLng(about[1], about[0]).distanceTo(middle) > 2000) about = [middle.lng, middle.lat];
        const flat = new Flat(about);
        const [west, south] = flat.toGround([bounds.getWest(), bounds.getSouth()]);
        const [east, north] = flat.toGround([bounds.getEast(), bounds.getNorth()]);
        const from = (least) => Math.ceil(least / step.metres) * step.metres;
        const lines = [];
        const place = (x, y) => flat.toPlace([x, y]).reverse();
        for (let x = from(west); x <= east; x += step.metres) lines.push([place(x, south), place(x, north)]);
        for (let y = from(south); y <= north; y += step.metres) lines.push([place(west, y), place(east, y)]);
        L.polyline(lines, { ...LINE, pane: "grid" }).addTo(layer);
    }

    layer.on("add", () => {
        const map = layer._map;
        if (!map.getPane("grid")) map.createPane("grid").style.zIndex = 340;
        map.getPane("grid").style.pointerEvents = "none";
        layer.redraw = () => draw(map);
        map.on("zoomend moveend", layer.redraw);
        draw(map);
    });
    layer.on("remove", () => layer._map?.off("zoomend moveend", layer.redraw));
    return layer;
}
