// The sign of what a place is drawn to: a mark at the place with the words beside it, and the line that it lies on.

const PANE = "signs";
const GUIDE = { color: "#666", weight: 1.5, dashArray: "6 4", interactive: false };

export class Sign {
    #map;
    #mark;
    #words;
    #line;

    constructor(map) {
        this.#map = map;
        const pane = map.createPane(PANE);
        pane.style.zIndex = 645;
        pane.style.pointerEvents = "none";
        const box = document.createElement("span");
        this.#words = document.createElement("b");
        box.append(document.createElement("i"), this.#words);
        const icon = L.divIcon({ className: "sign", html: box, iconSize: [0, 0] });
        this.#mark = L.marker([0, 0], { icon, pane: PANE, interactive: false, keyboard: false });
        this.#line = L.polyline([], { ...GUIDE, pane: PANE });
    }

    // `found` is what `caught` gives, `from` where a square line comes from.
    show(found, from) {
        if (!found) return this.hide();
        const [longitude, latitude] = found.place;
        this.#mark.setLatLng([latitude, longitude]).addTo(this.#map);
        this.#words.textContent = found.words;
        this.#mark.getElement().dataset.sign = found.sign;
        const lines = found.sign === "square" && from ? [[from[1], from[0]], [latitude, longitude]] : [];
        this.#line.setLatLngs(lines).addTo(this.#map);
    }

    hide() {
        this.#mark.remove();
        this.#line.remove();
    }
}
