// The tab of the sheets: has them made, and hands them out.

import { ask } from "./api.js";
import { at, desk } from "./desk.js";
import { listDocuments } from "./documents.js";
import { element } from "./element.js";

const PAPERS = { letter: "letter", tabloid: "tabloid", a4: "A4", a3: "A3" };
const LANGUAGES = { en: "English", es: "Spanish" };

let madeOf = "";

export function beginSheetsTab() {
    for (const [id, choices] of [["sheets-paper", PAPERS], ["sheets-language", LANGUAGES]]) {
        at(id).append(...Object.entries(choices).map(([value, text]) => element("option", { value, text })));
    }
    at("sheets-form").addEventListener("submit", (event) => {
        event.preventDefault();
        make();
    });
    desk.on("plan", ({ data }) => { at("sheets-old").hidden = !madeOf || madeOf === data.stamp; });
    ask("GET", "/api/documents").then(({ ok, data }) => {
        if (ok && data.documents.length) show(data.documents, "Made earlier; make them again to have them of the site as it is.");
    });
}

async function make() {
    if (desk.follower.unsaved) {
        at("sheets-state").textContent = "Not made: the last change of the drawing is not saved. Mend it, or take it back, and press again.";
        return;
    }
    at("make-sheets").disabled = true;
    at("sheets-state").textContent = "Making the sheets: some seconds";
    const { ok, data } = await ask("POST", "/api/documents", {
        paper: at("sheets-paper").value,
        language: at("sheets-language").value,
        call: at("sheets-call").value,
        variance: at("sheets-variance").checked,
    });
    at("make-sheets").disabled = false;
    if (!ok) {
        at("sheets-state").textContent = data.faults.join(" ");
        return;
    }
    madeOf = data.stamp;
    at("sheets-old").hidden = true;
    const asked = at("sheets-variance").checked && !data.documents.includes("variance.pdf");
    show(data.documents, asked ? "Made. Nothing needs a variance: no required setback is short or open." : "Made.");
}

function show(names, words) {
    at("sheets-state").textContent = words;
    listDocuments(at("sheets"), "/api/documents", names);
    at("sheets-all").hidden = false;
}
