// The tapes of one place of the tie list on the map: from each corner to the place, with what the tape should read.

import { MEASURED } from "./looks.js";

const ALONE = { interactive: false, pane: "planNumbers" };

export class TapesOnMap {
    #group = L.layerGroup();

    // Show the tapes of a place, or none (null).
    show(map, point) {
        this.#group.clearLayers().addTo(map);
        if (!point?.at) return;
        const [longitude, latitude] = point.at;
        for (const { corner, tape, at } of point.ties) {
            const line = L.polyline([[at[1], at[0]], [latitude, longitude]], { ...MEASURED, ...ALONE }).addTo(this.#group);
            line.bindTooltip(words(`${corner}: ${tape}`), { permanent: true, direction: "center", className: "reading" });
        }
        const icon = L.divIcon({ className: "number found", html: words(String(point.number)), iconSize: null });
        L.marker([latitude, longitude], { ...ALONE, keyboard: false, icon }).addTo(this.#group);
    }
}

function words(text) {
    const span = document.createElement("span");
    span.textContent = text;
    return span;
}
