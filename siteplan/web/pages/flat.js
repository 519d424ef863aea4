// The ground about a place, taken as flat: metres east and north. For the eye while drawing; the server places what is typed.

const EQUATOR_M = 6378137;
const ECCENTRICITY_SQUARED = 0.00669437999014;
const MEAN_RADIUS_M = 6371000;
const DECIMALS = 9;

let scale = 1;

// Lengths are those that a level tape reads at this height above the sea [m].
export function setHeight(heightM) {
    scale = 1 + heightM / MEAN_RADIUS_M;
}

// Metres in a degree east and in a degree north at a latitude, WGS 84, on the ground of the site.
export function degreeMetres(latitude) {
    const sine = Math.sin(latitude * Math.PI / 180);
    const root = Math.sqrt(1 - ECCENTRICITY_SQUARED * sine * sine);
    const north = EQUATOR_M * (1 - ECCENTRICITY_SQUARED) / root ** 3;
    const east = EQUATOR_M / root * Math.cos(latitude * Math.PI / 180);
    return { east: scale * east * Math.PI / 180, north: scale * north * Math.PI / 180 };
}

export const rounded = (place) => place.map((part) => Number(part.toFixed(DECIMALS)));
export const same = (one, other) => one[0] === other[0] && one[1] === other[1];

export class Flat {
    constructor([longitude, latitude]) {
        this.at = [longitude, latitude];
        this.degree = degreeMetres(latitude);
    }

    toGround([longitude, latitude]) {
        return [(longitude - this.at[0]) * this.degree.east, (latitude - this.at[1]) * this.degree.north];
    }

    toPlace([east, north]) {
        return rounded([this.at[0] + east / this.degree.east, this.at[1] + north / this.degree.north]);
    }
}

export const distance = (one, other) => Math.hypot(other[0] - one[0], other[1] - one[1]);

// Direction from one ground point to another, degrees clockwise from north, 0 to 360.
export const bearing = (from, to) => (Math.atan2(to[0] - from[0], to[1] - from[1]) * 180 / Math.PI + 360) % 360;

export const along = (degrees) => [Math.sin(degrees * Math.PI / 180), Math.cos(degrees * Math.PI / 180)];

// Length of a side between two places [m].
export function sideM(from, to) {
    const degree = degreeMetres((from[1] + to[1]) / 2);
    return Math.hypot((to[0] - from[0]) * degree.east, (to[1] - from[1]) * degree.north);
}

export function bearingOf(from, to) {
    const flat = new Flat([from[0], (from[1] + to[1]) / 2]);
    return bearing(flat.toGround(from), flat.toGround(to));
}

// Inner angle at a corner between the side from `before` and the side to `after`, 0 to 180 degrees.
export function angleAt(before, corner, after) {
    const turn = Math.abs(bearingOf(corner, before) - bearingOf(corner, after));
    return Math.min(turn, 360 - turn);
}

// A geometry of the same sort with every place moved by a step on the ground [m].
export function shifted(geometry, [east, north]) {
    const flat = new Flat(middleOf(geometry));
    return mapped(geometry, (place) => {
        const [x, y] = flat.toGround(place);
        return flat.toPlace([x + east, y + north]);
    });
}

// A geometry turned clockwise about the middle of its bounds.
export function turnedBy(geometry, degrees) {
    const flat = new Flat(middleOf(geometry));
    const [sine, cosine] = along(degrees);
    return mapped(geometry, (place) => {
        const [x, y] = flat.toGround(place);
        return flat.toPlace([x * cosine + y * sine, y * cosine - x * sine]);
    });
}

export function middleOf(geometry) {
    const all = [];
    mapped(geometry, (place) => (all.push(place), place));
    const [xs, ys] = [0, 1].map((axis) => all.map((place) => place[axis]));
    return [(Math.min(...xs) + Math.max(...xs)) / 2, (Math.min(...ys) + Math.max(...ys)) / 2];
}

function mapped(geometry, change) {
    const each = (part) => (typeof part[0] === "number" ? change(part) : part.map(each));
    return { ...geometry, coordinates: each(geometry.coordinates) };
}
