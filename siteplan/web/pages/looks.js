// How things look: black line types, letters and words, told apart on a third photocopy. Line types as on the sheets.

const BLACK = "#000";
const GREY = "#666";

const PROPERTY = { weight: 2, dashArray: "22 4 5 4 5 4" };
const SEPTIC = { weight: 2.6, dashArray: "0.1 6", lineCap: "round" };
const COVER = { weight: 0.8, dashArray: "1 5" };
const BY_KIND = {
    parcel: PROPERTY,
    property_line: PROPERTY,
    easement: { weight: 1.2, dashArray: "8 5" },
    building: { weight: 3, fill: true },
    overhead_line: { weight: 1.5, dashArray: "18 5" },
    fuel_tank: { weight: 2 },
    no_dig: { weight: 1.2, dashArray: "3 3", fill: true },
    lawn: COVER,
    field: COVER,
    woods: COVER,
    drawn_route: { weight: 1.6, dashArray: "12 3" },
};
const BY_GROUP = {
    sewage: SEPTIC,
    surfaces: { weight: 1 },
    "plants and surface water": { weight: 1.4, dashArray: "5 2" },
};
const LETTERS = { overhead_line: "OH", pass_point: "×" };
const OTHER = { weight: 1.2, dashArray: "3 3" };
const CARRIED = [
    [/water|irrigation/, { weight: 2.2 }, "W"],
    [/electric|power|pump cable/, { weight: 2, dashArray: "11 4 2 4" }, "E"],
    [/communication|phone|data|fib(re|er)|cable tv/, { weight: 2, dashArray: "11 3 2 3 2 3" }, "C"],
    [/gas|propane|oil|fuel/, { weight: 2, dashArray: "7 5" }, "G"],
    [/sewer|septic|effluent|drain/, SEPTIC, "S"],
];

export const TRENCH = { color: BLACK, weight: 5, lineCap: "butt" };
export const TRENCH_EDGE = { color: "#fff", weight: 9, lineCap: "butt" };
export const MEASURED = { color: BLACK, weight: 3, dashArray: "2 5" };
export const KEPT_OFF = { color: GREY, weight: 1, dashArray: "1 4", fillColor: GREY, fillOpacity: 0.08 };
export const BESIDE = { color: BLACK, weight: 4, dashArray: "14 7", lineCap: "butt" };
export const BLOCKED = { color: BLACK, weight: 2, dashArray: "4 4", fillColor: GREY, fillOpacity: 0.3 };

// Line type and letter of a thing. `kind` is its row of the catalogue, if it has one.
export function look(properties, kind) {
    const { line, letter } = lineType(properties, kind);
    const { fill = false, ...stroke } = line;
    return {
        path: { color: BLACK, opacity: 1, ...stroke, fill: !OUTLINES.has(kind?.id), fillColor: GREY, fillOpacity: fill ? 0.2 : 0 },
        letter,
    };
}

function lineType(properties, kind) {
    if (kind?.id === "buried_line") {
        const carries = String(properties.carries ?? "").toLowerCase();
        const found = CARRIED.find(([words]) => words.test(carries));
        return found ? { line: found[1], letter: found[2] } : { line: { weight: 2, dashArray: "4 4" }, letter: "?" };
    }
    const line = BY_KIND[kind?.id] ?? BY_GROUP[kind?.group] ?? OTHER;
    return { line, letter: LETTERS[kind?.id] ?? (kind?.mark || "•") };
}

// What a thing is called beside it on the map.
export function label(properties, kind) {
    const name = properties.name || kind?.name || properties.kind || "unnamed";
    const status = properties.status;
    return !status || status === "existing" || status === "reserve" ? String(name) : `${name} (${status})`;
}

// Which names may go first where there is no room for all.
export function rank(kind) {
    const order = ["well", "building", "hydrant", "entry"];
    const place = order.indexOf(kind?.id);
    return place >= 0 ? place : { area: 5, point: 6, line: 7 }[kind?.shapes[0]] ?? 8;
}

// Kinds that hold others inside: only their outline can be clicked, and their name shows when it is pointed at.
export const OUTLINES = new Set(["parcel", "property_line", "easement", "floodplain", "lawn", "field", "woods"]);
