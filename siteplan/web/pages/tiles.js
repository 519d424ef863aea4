// Pictures of a map service under the drawing, if siteplan was started with the address of one. The address typed here stays in
// this browser; the content policy lets pictures come from no other host than the one that was named.

import { at, desk } from "./desk.js";
import { element, labelled, wrap } from "./element.js";

const KEPT = "map pictures";
const PANE = "tiles";

let layer = null;

// `allowed` is the address that siteplan was started with, "" for none.
export function offerTiles(allowed) {
    at("tiles").hidden = false;
    const words = allowed
        ? "The host of the service sees which ground you look at. Its pictures may lie some feet off: measure nothing by them."
        : "Off: nothing is fetched from the network. To allow the pictures of one map service, start siteplan draw with --tiles and its address.";
    at("tiles").append(element("summary", { text: "Pictures of a map service" }), element("p", { className: "hint", text: words }));
    if (!allowed) return;
    desk.ground.map.createPane(PANE).style.zIndex = 150;
    const kept = localStorage.getItem(KEPT);
    const field = element("input", { type: "url", value: kept ?? "", placeholder: allowed, autocomplete: "off" });
    const fault = element("p", { className: "fault" });
    fault.setAttribute("role", "alert");
    const form = wrap("form", [labelled("Address of a map picture service", field), element("button", { text: "Show" })], "row");
    form.addEventListener("submit", (event) => {
        event.preventDefault();
        fault.textContent = show(field.value.trim(), allowed);
    });
    at("tiles").append(form, fault);
    if (kept) show(kept, allowed);
}

// Show the pictures of an address, none for ""; the words of what is wrong with it.
function show(address, allowed) {
    layer?.remove();
    layer = null;
    localStorage.removeItem(KEPT);
    if (!address) return "";
    const host = (text) => (URL.canParse(text) ? new URL(text).origin : "");
    if (host(address) !== host(allowed)) return `siteplan was started for ${host(allowed)} alone.`;
    if (!["{z}", "{x}", "{y}"].every((part) => address.includes(part))) return "It wants {z}, {x} and {y} for zoom, column and row.";
    localStorage.setItem(KEPT, address);
    layer = L.tileLayer(address, { pane: PANE, maxZoom: 24, maxNativeZoom: 19, referrerPolicy: "no-referrer" }).addTo(desk.ground.map);
    return "";
}
