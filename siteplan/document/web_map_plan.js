"use strict";

// What every script of the page uses: the data of the plan, numbers as the sheets print them, and places along the trench.
const planData = JSON.parse(document.getElementById("plan-data").textContent);

function planElement(tag, classes = "", text = "") {
    const made = document.createElement(tag);
    if (classes) made.className = classes;
    made.textContent = text;
    return made;
}

// As units/printing.py prints them: halves away from zero, a billionth of a step forgiven.
const planText = (() => {
    const { system, unit_m: unit, full } = planData.units;
    const INCH = 0.0254;

    function steps(value, step) {
        return Math.sign(value) * Math.floor(Math.abs(value) / step + 0.5 + 1e-9);
    }

    function length(metres) {
        if (system === "m") return `${(steps(metres, 0.01) / 100).toFixed(2)} m`;
        if (system === "ft") return `${(steps(metres / unit, 0.1) / 10).toFixed(1)} ft`;
        const halves = steps(metres, INCH / 2), rest = Math.abs(halves) % 24;
        const inches = rest % 2 ? `${rest > 1 ? `${(rest - 1) / 2} ` : ""}1/2` : String(rest / 2);
        return `${halves < 0 ? "-" : ""}${Math.floor(Math.abs(halves) / 24)} ft ${inches} in`;
    }

    function station(metres) {
        const tenths = Math.max(0, steps(metres, unit / 10)), whole = Math.floor(tenths / (full * 10));
        const rest = (tenths - whole * full * 10) / 10;
        return `${whole}+${rest.toFixed(1).padStart(String(full).length + 1, "0")}`;
    }

    return { length, station };
})();

const planGround = (() => {
    // Level distance [m] and bearing [deg] between two places, at the height of the site: the two curvatures of the WGS 84
    // ellipsoid at their middle. Over a site that is right to well below a millimetre in 100 m.
    function between(from, to) {
        const radius = 6378137, squared = 0.00669437999014, rad = Math.PI / 180;
        const middle = (from.lat + to.lat) / 2 * rad, shrunk = 1 - squared * Math.sin(middle) ** 2;
        const across = radius / Math.sqrt(shrunk), along = across * (1 - squared) / shrunk;
        const north = (to.lat - from.lat) * rad * (along + planData.height_m);
        const east = (to.lng - from.lng) * rad * (across + planData.height_m) * Math.cos(middle);
        return { length: Math.hypot(north, east), bearing: (Math.atan2(east, north) / rad + 360) % 360 };
    }

    // Place of a distance [m] along a trench.
    function placeAt(reach, distance) {
        const found = reach.places.findIndex(([along]) => along >= distance);
        const after = found < 0 ? reach.places.length - 1 : Math.max(1, found);
        const [end, endLng, endLat] = reach.places[after], [begin, lng, lat] = reach.places[after - 1];
        const part = Math.min(1, (distance - begin) / (end - begin));
        return L.latLng(lat + part * (endLat - lat), lng + part * (endLng - lng));
    }

    // The trench that passes nearest to a place on the screen: its distance there [m], and how far away that is in pixels.
    function nearest(latlng) {
        const at = planMap.project(latlng);
        let best = null;
        for (const reach of planData.reaches) {
            const points = reach.places.map(([, lng, lat]) => planMap.project([lat, lng]));
            for (let n = 1; n < points.length; n += 1) {
                const way = points[n].subtract(points[n - 1]), off = at.subtract(points[n - 1]);
                const square = way.x ** 2 + way.y ** 2;
                const part = square ? Math.min(1, Math.max(0, (off.x * way.x + off.y * way.y) / square)) : 0;
                const away = at.distanceTo(points[n - 1].add(way.multiplyBy(part)));
                const [begin] = reach.places[n - 1], [end] = reach.places[n];
                if (!best || away < best.away) best = { reach, away, distance: begin + part * (end - begin) };
            }
        }
        return best;
    }

    return { between, placeAt, nearest };
})();
