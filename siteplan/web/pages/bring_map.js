// Things of files beside the drawing, drawn while there is no plan that shows them.

import { label, look } from "./looks.js";

const PANE = "beside";
const ALONE = { pane: PANE, interactive: false };

export class BesideMap {
    #map;
    #kinds;
    #things = L.layerGroup();

    constructor(map, kinds) {
        this.#map = map;
        this.#kinds = kinds;
        const pane = map.createPane(PANE);
        pane.style.zIndex = 440;
        pane.style.pointerEvents = "none";
    }

    take(features) {
        this.#things.clearLayers();
        for (const feature of features) {
            const kind = this.#kinds.get(feature.properties.kind);
            const { path, letter } = look(feature.properties, kind);
            const layer = L.geoJSON(feature, {
                ...ALONE,
                style: { ...path, ...ALONE },
                pointToLayer: (_, place) => L.marker(place, { ...ALONE, keyboard: false, icon: icon(letter) }),
            });
            const words = document.createElement("span");
            words.textContent = label(feature.properties, kind);
            layer.bindTooltip(words, { permanent: true, direction: "center", className: "name", interactive: false });
            layer.addTo(this.#things);
        }
    }

    show(wanted) {
        if (wanted) this.#things.addTo(this.#map);
        else this.#things.remove();
    }
}

function icon(letter) {
    const mark = document.createElement("span");
    mark.textContent = letter;
    return L.divIcon({ className: "mark", html: mark, iconSize: [26, 26] });
}
