// What a place that is pointed at is drawn to: corners and sides of what is drawn, and right angles to sides that are near.

import { Flat, along, bearing, distance } from "./flat.js";
import { pointsOf, sidesOf } from "./corners.js";

const NEAR_M = 30;
const SAME_WAY_DEG = 0.5;
const WALLED = new Set(["building", "slab"]);

// `things` are {key, feature}; `nameOf` says what a feature is called. Returns sides and corners that can be drawn to.
export function catchable(things, nameOf) {
    return things.filter(({ feature }) => feature.geometry).map(({ key, feature }) => ({
        key,
        name: nameOf(feature),
        side: WALLED.has(feature.properties?.kind) ? "wall" : "line",
        sides: sidesOf(feature.geometry),
        points: pointsOf(feature.geometry),
        single: feature.geometry.type.endsWith("Point"),
    }));
}

// The place that is caught within `reachM` of where is pointed: {place, words, sign, way}, or null. `guides` are {from, degrees, words}.
export function caught(pointed, reachM, things, guides) {
    const flat = new Flat(pointed);
    const near = things.map((thing) => ({ ...thing, sides: nearSides(thing, flat, reachM) }));
    const corner = nearest(near.flatMap((thing) => thing.points.map((place) => ({
        place, away: distance([0, 0], flat.toGround(place)), sign: "corner",
        words: thing.single ? `at ${thing.name}` : `corner of ${thing.name}`,
    }))), reachM);
    if (corner) return corner;
    const sides = near.flatMap((thing) => thing.sides.map((side) => ({ ...side, words: `${thing.side} of ${thing.name}`, sign: thing.side })));
    const ways = guides.map((guide) => guided(guide, flat)).filter(({ away }) => away <= reachM);
    const both = nearest([...crossed(ways, sides, true), ...crossed(ways, ways, false)].map((cross) => made(cross, flat)), 1.5 * reachM);
    if (both) return both;
    const side = nearest(sides, reachM);
    const way = nearest(ways, reachM);
    const one = side && (!way || side.away <= way.away) ? side : way;
    return one && made(one, flat);
}

// Right angles and straight on from the end of a drawing that goes on: `places` so far, the last is gone on from.
export function guidesFrom(places, closed, things) {
    if (places.length === 0) return [];
    const last = places.at(-1);
    const guides = [];
    if (places.length > 1) {
        const flat = new Flat(last);
        const straight = bearing(flat.toGround(places.at(-2)), [0, 0]);
        guides.push({ from: last, degrees: straight + 90, words: "square to the last side" }, { from: last, degrees: straight, words: "straight on" });
    }
    const wall = nearestWall(last, things);
    if (wall) {
        guides.push({ from: last, degrees: wall.degrees, words: `in line with the ${wall.side} of ${wall.name}` });
        guides.push({ from: last, degrees: wall.degrees + 90, words: `square to the ${wall.side} of ${wall.name}` });
    }
    if (places.length === 1 && !wall) guides.push({ from: last, degrees: 0, words: "due north or south" }, { from: last, degrees: 90, words: "due east or west" });
    if (closed && places.length > 2) {
        const flat = new Flat(places[0]);
        const first = bearing([0, 0], flat.toGround(places[1]));
        guides.push({ from: places[0], degrees: first + 90, words: "square to the first side" }, { from: places[0], degrees: first, words: "in line with the first side" });
    }
    return unlike(guides);
}

// Square corners at both neighbours of a corner that is moved.
export function guidesAbout(places, closed, number) {
    const at = (n) => (closed ? places[(n + places.length) % places.length] : places[n]);
    const guides = [];
    for (const step of [-1, 1]) {
        const [neighbour, beyond] = [at(number + step), at(number + 2 * step)];
        if (!neighbour || !beyond || neighbour === places[number] || beyond === places[number]) continue;
        const flat = new Flat(neighbour);
        const way = bearing(flat.toGround(beyond), [0, 0]);
        guides.push({ from: neighbour, degrees: way + 90, words: "square corner" }, { from: neighbour, degrees: way, words: "straight on" });
    }
    return guides;
}

// The direction of a side that is near and close to a direction, or square to it; null if none is within `withinDeg`.
export function wayLike(place, degrees, withinDeg, things) {
    const wall = nearestWall(place, things);
    if (!wall) return null;
    const off = ((degrees - wall.degrees) % 90 + 135) % 90 - 45;
    return Math.abs(off) <= withinDeg ? { degrees: degrees - off, words: `square to the ${wall.side} of ${wall.name}` } : null;
}

function nearestWall(place, things) {
    const flat = new Flat(place);
    const all = things.flatMap((thing) => nearSides(thing, flat, NEAR_M).map((side) => ({ ...side, side: thing.side, name: thing.name })));
    const walls = all.filter(({ side }) => side === "wall");
    return nearest(walls.length ? walls : all, NEAR_M);
}

function nearSides(thing, flat, reachM) {
    return thing.sides.map(([from, to]) => {
        const [start, end] = [flat.toGround(from), flat.toGround(to)];
        const run = [end[0] - start[0], end[1] - start[1]];
        const share = Math.max(0, Math.min(1, -(start[0] * run[0] + start[1] * run[1]) / (run[0] ** 2 + run[1] ** 2)));
        const ground = [start[0] + share * run[0], start[1] + share * run[1]];
        return { ground, away: distance([0, 0], ground), start, end, run, degrees: bearing(start, end) };
    }).filter(({ away }) => away <= reachM);
}

function guided(guide, flat) {
    const start = flat.toGround(guide.from);
    const run = along(guide.degrees);
    const share = -(start[0] * run[0] + start[1] * run[1]);
    const ground = [start[0] + share * run[0], start[1] + share * run[1]];
    return { ...guide, ground, away: distance([0, 0], ground), start, run, sign: "square" };
}

function crossed(ways, others, isSide) {
    const found = [];
    for (const [n, way] of ways.entries()) {
        for (const other of isSide ? others : others.slice(n + 1)) {
            const across = way.run[0] * other.run[1] - way.run[1] * other.run[0];
            if (Math.abs(across) < 0.1 * Math.hypot(...other.run)) continue;
            const gap = [other.start[0] - way.start[0], other.start[1] - way.start[1]];
            const share = (gap[0] * way.run[1] - gap[1] * way.run[0]) / across;
            if (isSide && (share < 0 || share > 1)) continue;
            const ground = [other.start[0] + share * other.run[0], other.start[1] + share * other.run[1]];
            const words = way.words === other.words ? way.words : `${way.words}, ${other.words}`;
            found.push({ ground, away: distance([0, 0], ground), words, sign: isSide ? other.sign : "square" });
        }
    }
    return found;
}

function unlike(guides) {
    const alike = (one, other) => {
        const off = Math.abs((one.degrees - other.degrees) % 180);
        return one.from === other.from && Math.min(off, 180 - off) < SAME_WAY_DEG;
    };
    return guides.filter((guide, n) => !guides.slice(0, n).some((earlier) => alike(earlier, guide)));
}

const made = (found, flat) => ({ place: flat.toPlace(found.ground), words: found.words, sign: found.sign, away: found.away });

function nearest(found, reachM) {
    const within = found.filter(({ away }) => away <= reachM);
    return within.length ? within.reduce((best, one) => (one.away < best.away ? one : best)) : null;
}
