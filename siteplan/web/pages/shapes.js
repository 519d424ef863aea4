// Small measures and texts of GeoJSON geometries, for the eye while drawing. The plan measures for itself, exactly.

const FOOT_M = 0.3048;
const EQUATOR_M = 6378137;
const ECCENTRICITY_SQUARED = 0.00669437999014;

export const SORT_OF = {
    Point: "point", MultiPoint: "point",
    LineString: "line", MultiLineString: "line",
    Polygon: "area", MultiPolygon: "area",
};

// Metres in a degree east and in a degree north, WGS 84.
export function degreeMetres(latitude) {
    const sine = Math.sin(latitude * Math.PI / 180);
    const root = Math.sqrt(1 - ECCENTRICITY_SQUARED * sine * sine);
    const north = EQUATOR_M * (1 - ECCENTRICITY_SQUARED) / root ** 3;
    const east = EQUATOR_M / root * Math.cos(latitude * Math.PI / 180);
    return { east: east * Math.PI / 180, north: north * Math.PI / 180 };
}

export function lengthM(places) {
    let total = 0;
    for (let n = 1; n < places.length; n += 1) {
        const [from, to] = [places[n - 1], places[n]];
        const degree = degreeMetres((from[1] + to[1]) / 2);
        total += Math.hypot((to[0] - from[0]) * degree.east, (to[1] - from[1]) * degree.north);
    }
    return total;
}

export function lengthText(metres, units) {
    if (units === "m") return `${metres.toFixed(2)} m`;
    if (units === "ft") return `${(metres / FOOT_M).toFixed(1)} ft`;
    const inches = Math.round(metres / FOOT_M * 12);
    return `${Math.floor(inches / 12)} ft ${inches % 12} in`;
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
    if (!fits) throw new Error(`"${text.trim()}" is no place: write longitude, latitude in degrees.`);
    return [longitude, latitude];
}

// Something to begin with, ten metres across, around a place.
export function shapeAt(sort, [longitude, latitude]) {
    const degree = degreeMetres(latitude);
    const at = (east, north) => [
        Number((longitude + east / degree.east).toFixed(9)),
        Number((latitude + north / degree.north).toFixed(9)),
    ];
    if (sort === "point") return { type: "Point", coordinates: at(0, 0) };
    if (sort === "line") return { type: "LineString", coordinates: [at(-5, 0), at(5, 0)] };
    return { type: "Polygon", coordinates: [[at(-5, -5), at(5, -5), at(5, 5), at(-5, 5), at(-5, -5)]] };
}
