"use strict";

// The words on the map. Each label has several places where it may stand; the first labels choose first, and one that finds no
// room is left out, unless it must be seen. All is done anew after each move, because room depends on the scale.
const planLettering = (() => {
    const GAP = 15, WAYS = [[1, 0], [-1, 0], [0, -1], [0, 1], [1, -1], [-1, -1], [1, 1], [-1, 1]];
    const OVERLAP = 10, OUTSIDE = 25, MOST_LINES_COVERED = 4;
    const pane = planMap.createPane("lettering");
    pane.classList.add("leaflet-zoom-hide");
    let labels = [], obstacles = [], onClick = () => {};

    function start(data, clicked) {
        labels = data.labels;
        obstacles = [
            ...data.reaches.map((reach) => ({ group: "trench", weight: 2, line: reach.places.map(([, ...at]) => at) })),
            ...labels.filter((label) => label.along && !label.every && label.look !== "reach")
                .map((label) => ({ group: label.group, weight: ["setbacks", "along"].includes(label.group) ? 0.3 : 1, line: label.along })),
            ...labels.filter((label) => label.inside?.length === 0)
                .map((label) => ({ group: label.group, weight: 3, line: [label.at, label.at], half: 9 })),
        ];
        onClick = clicked;
        planMap.on("zoomend moveend resize", draw);
        draw();
    }

    function draw() {
        const corner = planMap.containerPointToLayerPoint([0, 0]), size = planMap.getSize();
        const view = box(corner.x, corner.y, corner.x + size.x, corner.y + size.y);
        const taken = controls(corner), lines = covered(view);
        const shown = labels.filter(isShown).flatMap((label) => waiting(label, view));
        pane.replaceChildren(...shown.map((item) => item.element));
        for (const item of shown) {
            item.size = L.point(item.element.offsetWidth, item.element.offsetHeight);
            item.markSize = item.mark && L.point(item.mark.offsetWidth, item.mark.offsetHeight);
        }
        for (const item of shown) place(item, view, taken, lines);
    }

    function isShown(label) {
        return !document.getElementById("plan-map").classList.contains(`hide-${label.group}`);
    }

    // A label as elements, once, or once for each place at which it is repeated.
    function waiting(label, view) {
        const points = (label.along ?? [label.at]).map(([lng, lat]) => planMap.latLngToLayerPoint([lat, lng]));
        if (!label.every) return [{ label, points, ...made(label) }];
        return stepsAlong(points, label.every).filter((step) => isInside(step.at, view))
            .map((step) => ({ label, points: [step.at], ...made(label) }));
    }

    function made(label) {
        const isSmall = document.getElementById("plan-map").classList.contains("small");
        const text = isSmall ? label.short ?? label.text : label.text;
        const element = document.createElement(label.ref ? "button" : "span");
        element.className = `lettering ${label.look}`;
        let mark = null;
        if (label.mark) {
            mark = document.createElement("span");
            mark.className = "mark";
            mark.textContent = label.mark;
            element.append(mark);
        }
        if (text) {
            const words = document.createElement("span");
            words.className = "words";
            words.textContent = text;
            element.append(words);
        }
        if (label.ref) {
            element.type = "button";
            element.tabIndex = -1;
            element.addEventListener("click", (event) => {
                L.DomEvent.stop(event);
                onClick(label.ref, planMap.mouseEventToLatLng(event));
            });
        }
        return { element, mark, hasWords: Boolean(text) };
    }

    function place(item, view, taken, lines) {
        let best = cheapest(spots(item, item.size, view), view, taken, lines);
        if (item.mark && item.hasWords && (!best || best.overlap > 0)) {
            const compact = cheapest(spots(item, item.markSize, view), view, taken, lines);
            if (compact && (!best || compact.cost < best.cost)) {
                best = compact;
                item.element.classList.add("compact");
                item.size = item.markSize;
            }
        }
        const fits = best && best.overlap === 0 && best.lines <= MOST_LINES_COVERED;
        if (!fits && !(best && item.label.must && isInside(best.at, view))) {
            item.element.remove();
            return;
        }
        taken.push(...best.boxes);
        L.DomUtil.setPosition(item.element, best.at.subtract(item.size.divideBy(2)).round());
        if (item.label.leader && best.from) pane.prepend(leader(best));
        if (best.angle) item.element.style.transform += ` rotate(${best.angle}rad)`;
    }

    // From the point to the nearest edge of its label.
    function leader({ from: point, boxes: [edges] }) {
        const end = L.point(Math.min(Math.max(point.x, edges.left), edges.right), Math.min(Math.max(point.y, edges.top), edges.bottom));
        const line = document.createElement("span"), way = end.subtract(point);
        line.className = "leader";
        line.style.width = `${point.distanceTo(end)}px`;
        L.DomUtil.setPosition(line, point);
        line.style.transform += ` rotate(${Math.atan2(way.y, way.x)}rad)`;
        return line;
    }

    function cheapest(candidates, view, taken, lines) {
        let best = null;
        candidates.forEach((spot, rank) => {
            const overlap = taken.filter((other) => spot.boxes.some((one) => meet(one, other))).length
                + spot.boxes.filter((one) => !holds(view, one)).length * OUTSIDE / OVERLAP;
            const under = lines.filter((other) => spot.boxes.some((one) => meet(one, other)))
                .reduce((sum, other) => sum + other.weight, 0);
            const cost = overlap * OVERLAP + under + rank * 0.05;
            if (!best || cost < best.cost) best = { ...spot, cost, overlap, lines: spot.onLine ? 0 : under };
        });
        return best;
    }

    function spots({ label, points }, size, view) {
        if (label.every) return [upright(points[0], size, true)];
        if (label.along && label.on) {
            const seen = stepsAlong(points, 12).filter((step) => isInside(step.at, view));
            const inOrder = [0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9].map((part) => seen[Math.floor(seen.length * part)]);
            return inOrder.filter(Boolean).map((step) => upright(step.at, size, true));
        }
        const straight = label.along ? beside(points, size, view) : [];
        if (label.along && !label.leader) return straight;
        const reaches = label.leader ? [14, 26, 40, 60, 90] : label.near ? [8] : [10, 20];
        const steps = label.along ? stepsAlong(points, 12).map((step) => step.at) : points;
        const anchors = label.along ? [0.5, 0.3, 0.7, 0.15, 0.85].map((part) => steps[Math.floor(steps.length * part)]) : points;
        const around = reaches.flatMap((reach) => anchors.flatMap((anchor) => WAYS.map(([x, y]) => {
            const diagonal = x && y ? 0.75 : 1;
            const off = [x * (reach * diagonal + size.x / 2), y * (reach * diagonal + size.y / 2)];
            return { ...upright(anchor.add(off), size, false), from: anchor };
        })));
        return [...straight, ...(fitsInside(label, size) ? [upright(points[0], size, false)] : []), ...around];
    }

    function fitsInside({ inside = [] }, size) {
        const [from, to] = inside.map(([lng, lat]) => planMap.latLngToLayerPoint([lat, lng]));
        return Boolean(from) && to.x - from.x > size.x && from.y - to.y > size.y;
    }

    function upright(at, size, onLine) {
        return { at, angle: 0, onLine, boxes: [box(at.x - size.x / 2, at.y - size.y / 2, at.x + size.x / 2, at.y + size.y / 2)] };
    }

    // Along the straights that are long enough, on either side, to be read from below or from the right.
    function beside(points, size, view) {
        const found = [];
        for (let n = 1; n < points.length; n += 1) {
            const from = points[n - 1], way = points[n].subtract(from), long = from.distanceTo(points[n]);
            if (long < size.x * 0.9) continue;
            let angle = Math.atan2(way.y, way.x);
            if (angle > Math.PI / 2 - 0.05) angle -= Math.PI;
            if (angle < -Math.PI / 2 - 0.05) angle += Math.PI;
            const off = L.point(-way.y, way.x).divideBy(long).multiplyBy(size.y / 2 + GAP / 2);
            const ends = size.x / 2 / long;
            for (const part of [0.5, 0.35, 0.65, 0.2, 0.8, 0.1, 0.9]) {
                const along = Math.min(Math.max(part, Math.min(ends, 0.5)), Math.max(1 - ends, 0.5));
                for (const side of [-1, 1]) {
                    const at = from.add(way.multiplyBy(along)).add(off.multiplyBy(way.x < 0 ? -side : side));
                    if (isInside(at, view)) found.push({ at, angle, onLine: false, boxes: tilted(at, size, angle), long });
                }
            }
        }
        return found.sort((a, b) => b.long - a.long);
    }

    function tilted(at, size, angle) {
        const count = Math.max(1, Math.ceil(size.x / size.y)), half = size.y / 2;
        return Array.from({ length: count }, (_, n) => {
            const along = ((n + 0.5) / count - 0.5) * size.x;
            const x = at.x + along * Math.cos(angle), y = at.y + along * Math.sin(angle);
            return box(x - half, y - half, x + half, y + half);
        });
    }

    function covered(view) {
        return obstacles.filter(isShown).flatMap(({ line, weight, half = 3 }) => {
            const points = line.map(([lng, lat]) => planMap.latLngToLayerPoint([lat, lng]));
            return stepsAlong(points, 10).filter(({ at }) => isInside(at, view))
                .map(({ at }) => ({ ...box(at.x - half, at.y - half, at.x + half, at.y + half), weight }));
        });
    }

    function controls(corner) {
        const map = planMap.getContainer().getBoundingClientRect();
        return Array.from(document.querySelectorAll("#plan-map .leaflet-control"), (control) => {
            const at = control.getBoundingClientRect();
            const x = at.left - map.left + corner.x, y = at.top - map.top + corner.y;
            return box(x, y, x + at.width, y + at.height);
        });
    }

    function stepsAlong(points, step) {
        const found = [];
        for (let n = 1; n < points.length; n += 1) {
            const way = points[n].subtract(points[n - 1]), count = Math.max(1, Math.round(Math.hypot(way.x, way.y) / step));
            if (count > 4000) continue;
            for (let part = 0; part < count; part += 1) {
                found.push({ at: points[n - 1].add(way.multiplyBy((part + 0.5) / count)) });
            }
        }
        return found;
    }

    function box(left, top, right, bottom) {
        return { left, top, right, bottom };
    }

    function meet(a, b) {
        return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
    }

    function holds(outer, inner) {
        return inner.left >= outer.left && inner.right <= outer.right && inner.top >= outer.top && inner.bottom <= outer.bottom;
    }

    function isInside(point, view) {
        return point.x >= view.left && point.x <= view.right && point.y >= view.top && point.y <= view.bottom;
    }

    return { start, draw };
})();
