// What each document is for, and the list that hands them out.

import { element, wrap } from "./element.js";

const FOR = {
    "route-sheet.pdf": "Route sheet: what the operator follows",
    "tie-list.pdf": "Tie list: what to tape before backfill",
    "setback-review.pdf": "Setback review: for the inspector",
    "plot-plan.pdf": "Plot plan: for the permit",
    "locate-request.pdf": "Locate request: to read out on the phone",
    "quantities.pdf": "Quantities and price",
    "picture.pdf": "One page for the owner",
    "variance.pdf": "What to ask a variance for",
    "map.html": "Map: one file, opens without a network",
    "locate-request.txt": "Locate request as text",
    "plan.geojson": "The plan as GeoJSON",
    "asbuilt.geojson": "The lines as GeoJSON, each value planned, measured or confirmed",
    "findings.json": "All verdicts as JSON",
    "quantities.csv": "Quantities as a table",
    "stations.csv": "Stations as a table",
    "route.gpx": "The route for a GPS receiver",
    "tie-sheet.pdf": "Tie sheet: how to find the line again",
    "owner-page.pdf": "One page for the owner: what to keep off",
    "as-built.gpx": "The lines as built for a GPS receiver",
    "as-built.kml": "The lines as built as KML",
    "as-built.gpkg": "The lines as built as GeoPackage",
};

// Fill a list with links to documents below an address.
export function listDocuments(list, address, names) {
    list.replaceChildren(...names.map((name) => {
        const href = `${address}/${encodeURIComponent(name)}`;
        const link = element("a", { href, target: "_blank", rel: "noopener", text: FOR[name] ?? name });
        return wrap("li", [link, element("span", { className: "file", text: ` ${name}` })]);
    }));
}
