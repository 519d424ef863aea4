// The tab of the sheets: has them made, and hands them out.

import { ask } from "./api.js";
import { at } from "./desk.js";
import { element, wrap } from "./element.js";

export function beginSheetsTab() {
    at("make-sheets").addEventListener("click", async () => {
        at("make-sheets").disabled = true;
        at("sheets-state").textContent = "Making the sheets";
        const { ok, data } = await ask("POST", "/api/documents", {});
        at("make-sheets").disabled = false;
        at("sheets-state").textContent = ok ? "Made." : data.faults.join(" ");
        at("sheets").replaceChildren(...(data.documents ?? []).map((name) => {
            const href = `/api/documents/${encodeURIComponent(name)}`;
            return wrap("li", [element("a", { href, target: "_blank", rel: "noopener", text: name })]);
        }));
    });
}
