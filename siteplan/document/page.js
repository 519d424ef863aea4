"use strict";

{
    // A bar scale in feet and in metres for the middle of the map. The page is a Mercator drawing, so its scale changes
    // with latitude: the ground radius used here is the mean of the two curvatures of the WGS 84 ellipsoid.
    const GroundScale = L.Control.extend({
        options: { position: "bottomleft", widest: 200 },

        onAdd(map) {
            this._box = L.DomUtil.create("div", "ground-scale");
            this._bars = [["ft", 0.3048], ["m", 1]].map(([unit, metres]) => {
                const ruler = L.DomUtil.create("div", "ground-scale-ruler", this._box);
                const bar = L.DomUtil.create("div", "ground-scale-bar", ruler);
                const ends = L.DomUtil.create("div", "ground-scale-ends", ruler);
                return { unit, metres, ruler, bar, ends };
            });
            L.DomUtil.create("div", "ground-scale-north", this._box).textContent = "North is up";
            map.on("zoomend moveend", this._draw, this);
            map.whenReady(this._draw, this);
            return this._box;
        },

        onRemove(map) {
            map.off("zoomend moveend", this._draw, this);
        },

        _draw() {
            const perPixel = metresPerPixel(this._map.getCenter().lat, this._map.getZoom());
            for (const { unit, metres, ruler, bar, ends } of this._bars) {
                const length = roundLength(this.options.widest * perPixel / metres);
                const blocks = String(length).replace(/[.0]/g, "") === "2" ? 4 : 5;
                ruler.style.width = `${length * metres / perPixel}px`;
                bar.replaceChildren(...Array.from({ length: blocks }, () => document.createElement("span")));
                const start = document.createElement("span");
                const end = document.createElement("span");
                start.textContent = "0";
                end.textContent = `${length} ${unit}`;
                ends.replaceChildren(start, end);
            }
        },
    });

    function metresPerPixel(latitude, zoom) {
        const equatorRadius = 6378137, eccentricitySquared = 0.00669437999014;
        const sine = Math.sin(latitude * Math.PI / 180);
        const radius = equatorRadius * Math.sqrt(1 - eccentricitySquared) / (1 - eccentricitySquared * sine * sine);
        return 2 * Math.PI * radius * Math.sqrt(1 - sine * sine) / (256 * 2 ** zoom);
    }

    // The longest of 1, 2, 5, 10, 20, 50 ... that is not above the limit.
    function roundLength(limit) {
        const power = 10 ** Math.floor(Math.log10(limit));
        const digit = [5, 2, 1].find((candidate) => candidate * power <= limit);
        return Number((digit * power).toPrecision(1));
    }

    new GroundScale().addTo(planMap);
}
