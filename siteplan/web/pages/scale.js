// The bar scale, the north arrow and what a square of the grid is, in the units of the site. The map is a Mercator drawing: its
// scale is that of the latitude in its middle.

import { degreeMetres } from "./flat.js";
import { gridStep } from "./grid.js";

const WIDEST = 160;

export function scaleControl(units) {
    const control = new L.Control({ position: "bottomleft" });
    const [unit, metres] = units === "m" ? ["m", 1] : ["ft", 0.3048];
    let bar, words, squares;

    control.onAdd = (map) => {
        const box = L.DomUtil.create("div", "bar-scale");
        const arrow = L.DomUtil.create("span", "north", box);
        arrow.textContent = "N ↑";
        const scale = L.DomUtil.create("div", "", box);
        bar = L.DomUtil.create("div", "bar", scale);
        for (let n = 0; n < 4; n += 1) L.DomUtil.create("span", "", bar);
        words = L.DomUtil.create("div", "bar-words", scale);
        L.DomUtil.create("span", "", words).textContent = "0";
        L.DomUtil.create("span", "", words);
        squares = L.DomUtil.create("span", "squares", box);
        map.on("zoomend moveend", () => draw(map));
        map.whenReady(() => draw(map));
        return box;
    };

    function draw(map) {
        const { lat } = map.getCenter();
        const perPixel = degreeMetres(lat).east * 360 / (256 * 2 ** map.getZoom());
        const length = roundLength(Math.min(WIDEST, map.getSize().x / 4) * perPixel / metres);
        bar.style.width = `${length * metres / perPixel}px`;
        words.lastChild.textContent = `${length} ${unit}`;
        const step = gridStep(map, units);
        squares.textContent = step ? `Squares ${step.length} ${step.unit}` : "";
    }

    return control;
}

function roundLength(limit) {
    const power = 10 ** Math.floor(Math.log10(limit));
    const digit = [8, 4, 2, 1].find((candidate) => candidate * power <= limit);
    return Number((digit * power).toPrecision(2));
}
