// The plan over the drawing: trenches, crossings, what findings measured, ground that is kept off. Only what another plan
// draws otherwise is drawn anew.

import { BLOCKED, KEPT_OFF, MEASURED, TRENCH, TRENCH_EDGE } from "./looks.js";

// Nothing of the plan can be clicked, moved, or drawn to.
export const ALONE = { pmIgnore: true, snapIgnore: true, interactive: false };

const PANES = [["keptOff", 350], ["plan", 450], ["planNumbers", 460]];
const FADING = ["plan", "planNumbers"];
const IN_PLAN = new Set(["trench", "crossing", "kept off", "site", "wanted way"]);

export class PlanLayer {
    #map;
    #make;
    #laid = new Map();
    #found = new Map();
    #shown = [];
    #keptOff = L.layerGroup();
    #blocked = L.layerGroup();
    #pointed = L.layerGroup();

    // `make` makes a thing of the drawing: {layer, sort, path, rank} of a feature.
    constructor(map, make) {
        this.#map = map;
        this.#make = make;
        for (const [name, height] of PANES) {
            const pane = map.createPane(name);
            pane.style.zIndex = height;
            pane.style.pointerEvents = "none";
        }
        this.#blocked.addTo(map);
        this.#pointed.addTo(map);
    }

    // Things that are in the plan and not in the drawing.
    get others() {
        return [...this.#laid.values()].map(({ other }) => other).filter(Boolean);
    }

    show(shapes, drawnIds) {
        const before = this.#laid;
        this.#laid = new Map();
        this.#found.clear();
        this.#blocked.clearLayers();
        for (const feature of shapes.features) {
            const { theme } = feature.properties;
            if (theme === "trench" || theme === "finding") this.#found.set(feature.id, feature);
            if (!IN_PLAN.has(theme) || ((theme === "site" || theme === "wanted way") && drawnIds.has(feature.id))) continue;
            const words = JSON.stringify(feature);
            const same = before.get(feature.id)?.words === words && before.get(feature.id);
            if (same) before.delete(feature.id);
            this.#laid.set(feature.id, same || { words, ...this.#lay(feature, theme) });
        }
        for (const { layers, group } of before.values()) for (const layer of layers) group.removeLayer(layer);
        this.point(this.#shown);
    }

    showBlocked(shapes) {
        const style = { ...BLOCKED, ...ALONE, pane: "keptOff" };
        this.#blocked.clearLayers();
        if (shapes) L.geoJSON(shapes, { ...ALONE, pane: "keptOff", style }).addTo(this.#blocked);
    }

    // Draw the plan faintly while it is not of the drawing as it is.
    stale(is) {
        for (const name of FADING) this.#map.getPane(name).classList.toggle("stale", is);
    }

    showKeptOff(wanted) {
        if (wanted) this.#keptOff.addTo(this.#map);
        else this.#keptOff.remove();
    }

    // Point out what findings speak of: their measured lines, their stretch of trench.
    point(findings) {
        this.#shown = findings;
        this.#pointed.clearLayers();
        for (const finding of findings) {
            const measured = this.#found.get(`finding-${finding.number}`);
            const feature = measured ?? this.#found.get(`trench-${finding.reach}`);
            if (!feature) continue;
            const style = measured ? MEASURED : { ...TRENCH, weight: 11, opacity: 0.35 };
            const layer = L.geoJSON(feature, over(style)).addTo(this.#pointed);
            if (!measured) continue;
            for (const [longitude, latitude] of feature.geometry.coordinates) {
                L.circleMarker([latitude, longitude], { ...ALONE, pane: "plan", radius: 5, color: "#000", weight: 2, fillColor: "#fff", fillOpacity: 1 }).addTo(this.#pointed);
            }
            numbered(layer.getBounds().getCenter(), String(finding.number), "found").addTo(this.#pointed);
        }
    }

    #lay(feature, theme) {
        if (theme === "trench") return this.#put([L.geoJSON(feature, over(TRENCH_EDGE)), L.geoJSON(feature, over(TRENCH))]);
        if (theme === "kept off") return this.#put([L.geoJSON(feature, over(KEPT_OFF, "keptOff"))], this.#keptOff);
        if (theme === "crossing") {
            const [longitude, latitude] = feature.geometry.coordinates;
            return this.#put([numbered([latitude, longitude], String(feature.properties.number), "crossing")]);
        }
        const other = this.#make(feature, ALONE);
        return { ...this.#put([other.layer]), other };
    }

    #put(layers, group = this.#map) {
        for (const layer of layers) group.addLayer(layer);
        return { layers, group };
    }
}

const over = (style, pane = "plan") => ({ ...ALONE, pane, style: { ...style, ...ALONE, pane } });

// A number in a box at a place [latitude, longitude].
function numbered(place, words, className) {
    const mark = document.createElement("span");
    mark.textContent = words;
    const icon = L.divIcon({ className: `number ${className}`, html: mark, iconSize: null });
    return L.marker(place, { ...ALONE, keyboard: false, icon, pane: "planNumbers" });
}
