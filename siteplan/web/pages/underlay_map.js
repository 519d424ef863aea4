// Pictures under the drawing. Each hangs by three of its corners: over a site the map is a flat drawing of the ground.

const PANE = "pictures";
const LEAST_PX = 60;
const SOMEWHERE_ZOOM = 8;

export class UnderlayMap {
    #map;
    #pane;
    #hung = [];
    #preview = null;

    constructor(map) {
        this.#map = map;
        this.#pane = map.createPane(PANE);
        this.#pane.style.zIndex = 250;
        this.#pane.style.pointerEvents = "none";
        this.#pane.classList.add("leaflet-zoom-hide");
        map.on("zoomend viewreset resize moveend", () => this.#hangAll());
    }

    // `pictures` as siteplan tells them; those that could not be laid have no corners.
    take(pictures) {
        for (const { image } of this.#hung) image.remove();
        this.#hung = pictures.filter(({ corners }) => corners).map((picture) => this.#add(picture, `/api/underlay/${picture.number}`));
        this.#hangAll();
        if (this.#hung.length && this.#map.getZoom() < SOMEWHERE_ZOOM) this.#bringIntoView(this.#hung[0].corners);
    }

    // One that is being laid, from the browser's own copy; null takes it away.
    preview(picture, source) {
        this.#preview?.image.remove();
        this.#preview = picture ? this.#add(picture, source) : null;
        this.#hangAll();
        if (picture) this.#bringIntoView(picture.corners);
    }

    opacity(part) {
        this.#pane.style.opacity = String(part);
    }

    show(is) {
        this.#pane.hidden = !is;
    }

    #add({ name, width, height, corners }, source) {
        const image = document.createElement("img");
        image.alt = `Picture ${name}`;
        image.draggable = false;
        image.src = source;
        image.className = "under";
        image.style.width = `${width}px`;
        image.style.height = `${height}px`;
        this.#pane.append(image);
        return { image, width, height, corners };
    }

    #hangAll() {
        for (const one of this.#preview ? [...this.#hung, this.#preview] : this.#hung) {
            const [start, right, down] = one.corners.map(([longitude, latitude]) => this.#map.latLngToLayerPoint([latitude, longitude]));
            const [a, b] = [(right.x - start.x) / one.width, (right.y - start.y) / one.width];
            const [c, d] = [(down.x - start.x) / one.height, (down.y - start.y) / one.height];
            one.image.style.transform = `matrix(${a}, ${b}, ${c}, ${d}, ${start.x}, ${start.y})`;
        }
    }

    #bringIntoView([start, right, down]) {
        const last = [right[0] + down[0] - start[0], right[1] + down[1] - start[1]];
        const bounds = L.latLngBounds([start, right, down, last].map(([longitude, latitude]) => [latitude, longitude]));
        const across = this.#map.latLngToContainerPoint(bounds.getNorthWest()).distanceTo(this.#map.latLngToContainerPoint(bounds.getSouthEast()));
        if (across < LEAST_PX || !this.#map.getBounds().intersects(bounds)) this.#map.fitBounds(bounds, { animate: false });
    }
}
