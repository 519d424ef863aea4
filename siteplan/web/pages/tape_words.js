// What is said of taped places: how well they are known, how each measurement fits, and what to measure again.

import { button, element, wrap } from "./element.js";

// One place. `about` is {two, sent, typed, chosen, choose()}: the measurements as they were sent, in the order of place.ties.
export function placeBox(place, { two, sent, typed, chosen, choose }) {
    const head = two ? `${place.letter}: ${place.where}` : `Place ${place.letter}`;
    const box = wrap("div", [], "tape-found");
    if (two) {
        const radio = element("input", { type: "radio", name: "tape-place", checked: chosen });
        radio.addEventListener("change", choose);
        box.append(wrap("label", [radio, ` ${head}`]));
    } else {
        box.append(element("h3", { text: head }));
    }
    box.append(element("p", { text: `Within ${place.within} (95 %): the ellipse on the map, ${place.long} long to either side, toward ${place.toward}°.` }));
    if (!place.checked) box.append(element("p", { text: "Nothing checks these measurements: one more from another corner would." }));
    else box.append(misfits(place, names(sent, typed)));
    for (const warning of place.warnings) box.append(element("p", { className: "tape-warning", text: warning }));
    return box;
}

// Words for each measured number, in the order in which siteplan counts them.
function names(sent, typed) {
    return sent.flatMap((row) => {
        const cells = typed(row);
        if (cells.along) return [`along from ${cells.from}`, "out from the wall"];
        return [`from ${cells.from}`, ...(cells.bearing ? ["bearing"] : [])];
    });
}

function misfits(place, words) {
    const body = element("tbody", {});
    place.ties.forEach((tie, number) => {
        const least = number === place.worst;
        const row = wrap("tr", [tie.measured, tie.misfit, `± ${tie.error}`, least ? "fits least" : ""].map((text) => element("td", { text })));
        row.prepend(element("th", { scope: "row", text: words[number] ?? tie.what }));
        if (least) row.className = "least";
        body.append(row);
    });
    return table(["Measured", "Value", "Off by", "Good to", ""], body);
}

function table(heads, body) {
    const head = wrap("thead", [wrap("tr", heads.map((text) => element("th", { scope: "col", text })))]);
    return wrap("table", [head, body], "tape-table");
}

// All tapes of the site; `takeOut(text of the line)`.
export function tapesBox({ tapes, lines, worst, warnings, faults }, takeOut) {
    const box = [element("summary", { text: `Measurements of this site (${lines.length})` })];
    for (const fault of faults) box.push(element("p", { className: "fault", text: fault }));
    const body = element("tbody", {});
    const solved = Map.groupBy(tapes, ({ line }) => line);
    for (const [number, text] of lines) {
        const own = solved.get(number) ?? [];
        const first = own.length ? own.map(({ what }) => what).join("; ") : text;
        const cells = [own.map(({ measured }) => measured).join("; "), own.map(({ misfit }) => misfit || "not checked").join("; ")];
        const row = wrap("tr", cells.map((words) => element("td", { text: words })));
        row.prepend(element("th", { scope: "row", text: own.some(({ what }) => what === worst) ? `${first} (fits least)` : first }));
        const out = button("Take out", () => takeOut(text));
        out.setAttribute("aria-label", `Take out line ${number}: ${first}`);
        row.append(wrap("td", [out]));
        body.append(row);
    }
    box.push(table(["Measured", "Value", "Off by", ""], body));
    for (const warning of warnings) box.push(element("p", { className: "tape-warning", text: warning }));
    return box;
}
