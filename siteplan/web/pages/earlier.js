// Earlier versions of the files of the site: each change keeps what was there before, and any of them can be brought back.

import { ask } from "./api.js";
import { at, desk } from "./desk.js";
import { button, element, wrap } from "./element.js";

const WHAT = { "site.geojson": "the drawing", "site.toml": "lines, digging and rules" };

export function beginEarlier() {
    at("earlier").addEventListener("toggle", () => {
        if (at("earlier").open) list();
    });
}

async function list() {
    const { ok, data } = await ask("GET", "/api/versions");
    const lines = ok ? data.versions.map(row) : data.faults.map((text) => element("li", { text }));
    at("earlier-list").replaceChildren(...(lines.length ? lines : [element("li", { text: "Nothing was changed yet." })]));
}

function row({ number, file, until }) {
    const what = WHAT[file] ?? file;
    const back = button("Bring back", async () => {
        back.disabled = true;
        const { ok, data } = await ask("POST", "/api/versions", { number });
        at("earlier-state").textContent = ok ? `Brought back: ${what} as of ${when(until)}.` : data.faults.join(" ");
        if (ok) desk.tell("reread");
        list();
    });
    back.setAttribute("aria-label", `Bring back ${what} as of ${when(until)}`);
    return wrap("li", [element("span", { text: `${number}. ${what}, as it was until ${when(until)}` }), back]);
}

const when = (text) => new Date(text).toLocaleString(undefined, { dateStyle: "medium", timeStyle: "medium" });
