// Tapes on the map: the corners to pick, the arcs, and the places where they meet, lettered.

const PANE = "tapes";
const ALONE = { pane: PANE };
const ARC = { ...ALONE, interactive: false, color: "#000", weight: 1.2, dashArray: "4 5", fill: false };
const ELLIPSE = { ...ALONE, interactive: false, color: "#000", weight: 1.5, fillColor: "#666", fillOpacity: 0.25 };

export class TapeMap {
    #map;
    #act;
    #corners = L.layerGroup();
    #places = L.layerGroup();
    #picking = false;

    // `act` is {pick(corner), choose(number of the place)}.
    constructor(map, act) {
        this.#map = map;
        this.#act = act;
        map.createPane(PANE).style.zIndex = 648;
        this.#places.addTo(map);
    }

    // Offer the corners, or stop offering them; whether they are offered now.
    toggle() {
        this.#picking = !this.#picking;
        if (this.#picking) this.#corners.addTo(this.#map);
        else this.#corners.remove();
        return this.#picking;
    }

    hide() {
        if (this.#picking) this.toggle();
        this.#places.clearLayers();
    }

    corners(corners) {
        this.#corners.clearLayers();
        for (const corner of corners) {
            const mark = this.#mark(corner.at, "", "tape-corner", { title: corner.name, alt: corner.name });
            mark.on("click", (event) => {
                L.DomEvent.stopPropagation(event);
                this.#act.pick(corner);
            });
            mark.addTo(this.#corners);
        }
    }

    // `from` are the corners of the measurements, in their order.
    show(places, chosen, from) {
        this.#places.clearLayers();
        for (const arc of places[0]?.arcs ?? []) L.polyline(arc.map(([longitude, latitude]) => [latitude, longitude]), ARC).addTo(this.#places);
        from.forEach((corner, number) => {
            const mark = this.#mark(corner.at, String(number + 1), "tape-number", { interactive: false, keyboard: false });
            mark.addTo(this.#places);
        });
        places.forEach((place, number) => {
            L.geoJSON(place.ellipse, { ...ELLIPSE, style: ELLIPSE }).addTo(this.#places);
            const mark = this.#mark(place.at, place.letter, `tape-place${number === chosen ? " chosen" : ""}`, { title: `Place ${place.letter}` });
            mark.on("click", (event) => {
                L.DomEvent.stopPropagation(event);
                this.#act.choose(number);
            });
            mark.addTo(this.#places);
        });
        const bounds = L.latLngBounds(places.map(({ at: [longitude, latitude] }) => [latitude, longitude]));
        if (places.length && !this.#map.getBounds().contains(bounds)) this.#map.fitBounds(this.#map.getBounds().extend(bounds), { animate: false });
    }

    #mark([longitude, latitude], words, className, options) {
        const box = document.createElement("span");
        box.textContent = words;
        const icon = L.divIcon({ className, html: box, iconSize: [24, 24] });
        return L.marker([latitude, longitude], { ...ALONE, icon, ...options });
    }
}
