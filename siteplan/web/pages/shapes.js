// Small measures and texts of GeoJSON geometries, for the eye while drawing. The plan measures for itself, exactly.

import { Flat, sideM } from "./flat.js";

const FOOT_M = 0.3048;

export const SORT_OF = {
    Point: "point", MultiPoint: "point",
    LineString: "line", MultiLineString: "line",
    Polygon: "area", MultiPolygon: "area",
};

export function lengthM(places) {
    return places.slice(1).reduce((total, place, n) => total + sideM(places[n], place), 0);
}

export function lengthText(metres, units) {
    if (units === "m") return `${metres.toFixed(2)} m`;
    if (units === "ft") return `${(metres / FOOT_M).toFixed(1)} ft`;
    const halves = Math.round(metres / FOOT_M * 24);
    const inches = Math.floor(halves / 2) % 12;
    const half = halves % 2 ? (inches ? " 1/2" : "1/2") : "";
    return `${Math.floor(halves / 24)} ft ${inches || !half ? inches : ""}${half} in`;
}

// "Length 120.0 ft" of a line, "Around 88.0 ft" of an area, nothing of a point.
export function sizeText(geometry, units) {
    if (geometry?.type === "LineString") return `Length ${lengthText(lengthM(geometry.coordinates), units)}`;
    if (geometry?.type === "Polygon") return `Around ${lengthText(lengthM(geometry.coordinates[0]), units)}`;
    return "";
}

// The places of a geometry as lines of text that can be typed; null if it is too involved for that.
export function placesText(geometry) {
    const line = (place) => `${place[0]}, ${place[1]}`;
    if (geometry?.type === "Point") return line(geometry.coordinates);
    if (geometry?.type === "LineString") return geometry.coordinates.map(line).join("\n");
    if (geometry?.type === "Polygon" && geometry.coordinates.length === 1) {
        return geometry.coordinates[0].slice(0, -1).map(line).join("\n");
    }
    return null;
}

// The geometry of the same type at typed places. Throws an Error with words for the reader.
export function geometryAt(type, text) {
    const places = text.trim().split("\n").map(readPlace);
    if (type === "Point") {
        if (places.length !== 1) throw new Error("One line only: longitude, latitude.");
        return { type, coordinates: places[0] };
    }
    const least = type === "LineString" ? 2 : 3;
    if (places.length < least) throw new Error(`At least ${least} lines: longitude, latitude.`);
    return type === "LineString"
        ? { type, coordinates: places }
        : { type, coordinates: [[...places, places[0]]] };
}

export function readPlace(text) {
    const numbers = text.split(/[\s,;]+/).filter(Boolean).map(Number);
    const [longitude, latitude] = numbers;
    const fits = numbers.length === 2 && Math.abs(longitude) <= 180 && Math.abs(latitude) <= 90;
    const swapped = !fits && numbers.length === 2 && Math.abs(longitude) <= 90 && Math.abs(latitude) <= 180;
    const order = swapped ? " They look swapped: longitude comes first." : "";
    if (!fits) throw new Error(`"${text.trim()}" is no place: write longitude, latitude in degrees.${order}`);
    return [longitude, latitude];
}

// Something to begin with, ten metres across, around a place.
export function shapeAt(sort, place) {
    const flat = new Flat(place);
    const at = (east, north) => flat.toPlace([east, north]);
    if (sort === "point") return { type: "Point", coordinates: at(0, 0) };
    if (sort === "line") return { type: "LineString", coordinates: [at(-5, 0), at(5, 0)] };
    return { type: "Polygon", coordinates: [[at(-5, -5), at(5, -5), at(5, 5), at(-5, 5), at(-5, -5)]] };
}
