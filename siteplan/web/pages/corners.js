// The corners of a thing as a list, and a thing with other corners. Areas with holes or several parts are left as they are.

import { same } from "./flat.js";

// {places, closed} of a simple geometry; null of one with holes or several parts.
export function cornersOf(geometry) {
    if (geometry?.type === "Point") return { places: [geometry.coordinates], closed: false };
    if (geometry?.type === "LineString") return { places: geometry.coordinates, closed: false };
    if (geometry?.type !== "Polygon" || geometry.coordinates.length !== 1) return null;
    return { places: geometry.coordinates[0].slice(0, -1), closed: true };
}

export function withCorners(geometry, places) {
    if (geometry.type === "Point") return { ...geometry, coordinates: places[0] };
    if (geometry.type === "LineString") return { ...geometry, coordinates: places };
    return { ...geometry, coordinates: [[...places, places[0]]] };
}

export const fewest = (geometry) => ({ Point: 1, LineString: 2 }[geometry.type] ?? 3);

export function withCorner(geometry, number, place) {
    const { places } = cornersOf(geometry);
    return withCorners(geometry, places.map((old, n) => (n === number ? place : old)));
}

// A corner more after this one: half way to the next, or as far beyond the end of a line.
export function cornerAfter(geometry, number) {
    const { places, closed } = cornersOf(geometry);
    const from = places[number];
    const next = places[number + 1] ?? (closed ? places[0] : null);
    const before = places[number - 1];
    const place = next ? [(from[0] + next[0]) / 2, (from[1] + next[1]) / 2] : [from[0] + (from[0] - before[0]) / 2, from[1] + (from[1] - before[1]) / 2];
    return withCorners(geometry, [...places.slice(0, number + 1), place, ...places.slice(number + 1)]);
}

// Without one corner; null if too few would be left.
export function withoutCorner(geometry, number) {
    const { places } = cornersOf(geometry);
    return places.length <= fewest(geometry) ? null : withCorners(geometry, places.filter((_, n) => n !== number));
}

// Pairs of places that a geometry's sides run between.
export function sidesOf(geometry) {
    const lines = {
        LineString: () => [geometry.coordinates],
        MultiLineString: () => geometry.coordinates,
        Polygon: () => geometry.coordinates,
        MultiPolygon: () => geometry.coordinates.flat(),
    }[geometry?.type]?.() ?? [];
    return lines.flatMap((places) => places.slice(1).map((place, n) => [places[n], place])).filter(([from, to]) => !same(from, to));
}

// Every place that can be drawn to: corners, ends, points.
export function pointsOf(geometry) {
    if (geometry?.type === "Point") return [geometry.coordinates];
    if (geometry?.type === "MultiPoint") return geometry.coordinates;
    return sidesOf(geometry).flat();
}
