// The plan over the drawing: trenches, crossings, what findings measured, ground that is kept off. Only what another plan
// draws otherwise is drawn anew.

import { between } from "./along.js";
import { BESIDE, BLOCKED, KEPT_OFF, MEASURED, TRENCH, TRENCH_EDGE } from "./looks.js";

// Nothing of the plan can be clicked or moved.
export const ALONE = { interactive: false };

const PANES = [["keptOff", 350], ["plan", 450], ["planNumbers", 460], ["pointed", 655]];
const FADING = ["plan", "planNumbers"];
const IN_PLAN = new Set(["trench", "crossing", "kept off", "site", "wanted way"]);

export class PlanLayer {
    #map;
    #make;
    #laid = new Map();
    #found = new Map();
    #reaches = [];
    #shown = null;
    #keptOff = L.layerGroup();
    #blocked = L.layerGroup();
    #beside = L.layerGroup();
    #pointed = L.layerGroup();
    #here = L.circleMarker([0, 0], { ...ALONE, radius: 8, color: "#000", weight: 3, fillColor: "#fff", fillOpacity: 1, pane: "pointed" });

    // `make` makes a thing of the drawing: {layer, sort, path, rank} of a feature.
    constructor(map, make) {
        this.#map = map;
        this.#make = make;
        for (const [name, height] of PANES) {
            const pane = map.createPane(name);
            pane.style.zIndex = height;
            pane.style.pointerEvents = "none";
        }
        for (const group of [this.#blocked, this.#beside, this.#pointed]) group.addTo(map);
        this.#here.bindTooltip("", { permanent: true, direction: "top", offset: [0, -8], className: "reading" });
    }

    // Things that are in the plan and not in the drawing.
    get others() {
        return [...this.#laid.values()].map(({ other }) => other).filter(Boolean);
    }

    // Draw a plan; whether names have to find new places.
    show(shapes, drawnIds, reaches = []) {
        const before = this.#laid;
        let changed = false;
        this.#laid = new Map();
        this.#found.clear();
        this.#reaches = reaches;
        this.#blocked.clearLayers();
        for (const feature of shapes.features) {
            const { theme } = feature.properties;
            if (theme === "trench" || theme === "finding" || theme === "other way") this.#found.set(feature.id, feature);
            if (!IN_PLAN.has(theme) || ((theme === "site" || theme === "wanted way") && drawnIds.has(feature.id))) continue;
            const words = JSON.stringify(feature);
            const same = before.get(feature.id)?.words === words && before.get(feature.id);
            if (same) before.delete(feature.id);
            else if (theme !== "trench" && theme !== "kept off") changed = true;
            this.#laid.set(feature.id, same || { words, ...this.#lay(feature, theme) });
        }
        for (const { layers, group } of before.values()) for (const layer of layers) group.removeLayer(layer);
        this.point(this.#shown);
        return changed || before.size > 0;
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

    // Draw another way beside the plan, by its number; null for none.
    showWay(number) {
        this.#beside.clearLayers();
        const way = this.#found.get(`other-way-${number}`);
        if (!way) return;
        L.geoJSON(way, over(TRENCH_EDGE)).addTo(this.#beside);
        L.geoJSON(way, over(BESIDE)).addTo(this.#beside);
    }

    // Point out what a finding speaks of: its measured line end to end, its stretch of trench, its crossing; null for nothing.
    point(finding) {
        this.#shown = finding;
        this.#pointed.clearLayers();
        if (!finding) return;
        const put = (layer) => layer.addTo(this.#pointed);
        const measured = this.#found.get(`finding-${finding.number}`);
        if (measured) {
            const line = put(L.geoJSON(measured, over(MEASURED)));
            for (const [longitude, latitude] of measured.geometry.coordinates) {
                put(L.circleMarker([latitude, longitude], { ...ALONE, pane: "plan", radius: 5, color: "#000", weight: 2, fillColor: "#fff", fillOpacity: 1 }));
            }
            put(numbered(line.getBounds().getCenter(), String(finding.number), "found", finding.measured, "pointed"));
            return;
        }
        const reach = this.#reaches.find(({ name }) => name === finding.reach);
        if (!reach) return;
        const places = between(reach, finding.from_m ?? 0, finding.to_m ?? reach.length_m).map(([longitude, latitude]) => [latitude, longitude]);
        if (finding.from_m !== finding.to_m) put(L.polyline(places, { ...TRENCH, ...ALONE, pane: "plan", weight: 11, opacity: 0.35 }));
        put(numbered(places[Math.floor(places.length / 2)], String(finding.number), "found", "", "pointed"));
    }

    // Mark one place along the trench, with what is read there; null for none.
    mark(place, words) {
        if (!place) return void this.#here.remove();
        this.#here.setLatLng([place[1], place[0]]).addTo(this.#map);
        this.#here.setTooltipContent(document.createTextNode(words));
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

// A number in a box at a place [latitude, longitude], and a length below it.
function numbered(place, words, className, length = "", pane = "planNumbers") {
    const box = document.createElement("span");
    const mark = document.createElement("span");
    mark.className = `number ${className}`;
    mark.textContent = words;
    box.append(mark);
    if (length) {
        const size = document.createElement("span");
        size.className = "size";
        size.textContent = length;
        box.append(size);
    }
    const icon = L.divIcon({ className: "at-place", html: box, iconSize: null });
    return L.marker(place, { ...ALONE, keyboard: false, icon, pane });
}
