// The tab of the lines to lay and of all else that is written in site.toml.

import { at, desk } from "./desk.js";
import { element } from "./element.js";
import { addForm, cards, usualSet } from "./lines_cards.js";
import { capital, refusal, tableForm } from "./lines_field.js";
import { pricesSection } from "./lines_prices.js";
import { chooseRow, replacedSection } from "./lines_replace.js";
import { factsSection, lookedSection, rulesSection } from "./lines_rules.js";
import { words } from "./lines_words.js";
import { shownTab, showTab } from "./tabs.js";

const FROST = { instead: { n: "surface", surface: "n" }, optional: "frost numbers" };
const SECTIONS = {
    "lines-usual": usualSet,
    "lines-cards": cards,
    "lines-add": addForm,
    "words-digging": () => tableForm("digging"),
    "words-frost": () => tableForm("frost", FROST),
    "words-rules": rulesSection,
    "words-replaced": replacedSection,
    "words-facts": factsSection,
    "words-looked": lookedSection,
    "words-prices": pricesSection,
    "words-paper": () => [...tableForm("site", { leaveOut: ["rules"] }), ...tableForm("paper")],
    "words-bench": () => tableForm("bench_mark", { optional: "the bench mark" }),
};
let drawn = null;
let openedIn = "";

export function beginLinesTab() {
    words.addEventListener("read", draw);
    words.addEventListener("refused", ({ detail }) => {
        draw();
        const asked = `entry-${detail.at.join("-")}`;
        (at(asked) ?? at("panel-lines").querySelector(`[id^="${CSS.escape(asked)}-"][aria-invalid]`))?.focus();
    });
    words.addEventListener("busy", ({ detail }) => {
        at("panel-lines").setAttribute("aria-busy", String(detail.on));
        at("lines-state").textContent = detail.on ? "Writing" : lastWords();
    });
    desk.on("site", () => words.state && draw());
    at("lines-back").addEventListener("click", () => words.takeBack());
    desk.on("override", async ({ row }) => {
        chooseRow(row);
        showTab("lines");
        if (!words.state) await words.load();
        draw();
        at("fold-replaced").open = true;
        at("replace-row")?.focus();
    });
    desk.follower.addEventListener("follow", ({ detail: { what } }) => {
        if (!["saved", "planned", "unplanned"].includes(what)) return;
        words.stale = true;
        refresh();
    });
    new MutationObserver(refresh).observe(at("panel-lines"), { attributes: true, attributeFilter: ["hidden"] });
}

// Read again what the file and the drawing say, when it is looked at.
function refresh() {
    if (shownTab() !== "lines") return;
    if (words.state !== drawn) draw();
    if (words.stale) words.load();
}

function lastWords() {
    return words.lastChange ? `Written: ${words.lastChange}.` : "";
}

function draw() {
    heading();
    if (shownTab() !== "lines") return;
    drawn = words.state;
    const left = leave();
    const folds = new Set([...at("panel-lines").querySelectorAll("details[open][id]")].map(({ id }) => id));
    for (const [id, build] of Object.entries(SECTIONS)) at(id).replaceChildren(...build());
    at("lines-faults").replaceChildren(...others(), ...refusal(["file"]));
    for (const id of folds) if (at(id)) at(id).open = true;
    at("lines-back").disabled = !words.lastChange;
    at("lines-tools").hidden = !words.lastChange;
    at("lines-back").setAttribute("aria-label", `Take back: ${words.lastChange}`);
    for (const [id, text] of Object.entries(briefs())) at(id).textContent = text;
    comeBack(left);
}

// What somebody has typed and not sent stays typed when the answer to an earlier change comes.
function leave() {
    const panel = at("panel-lines");
    const field = document.activeElement;
    const unsent = [...panel.querySelectorAll("[data-shown]")].filter((one) => one.value !== one.dataset.shown && (one === field || isOpen(one)));
    return { active: panel.contains(field) ? field : null, parts: [field.closest("details.card")?.id, field.closest("section")?.id], typed: unsent.map(({ id, value }) => [id, value]) };
}

// A field of a form that is sent as a whole, unless it was sent just now.
function isOpen({ dataset: { blank } }) {
    const { settled } = words;
    return blank !== undefined && !(settled && (blank === settled || blank.startsWith(`${settled}.`)));
}

// A line that was added is opened; what else was pressed keeps the focus, or the heading of its part gets it.
function comeBack({ active, parts, typed }) {
    const added = ["new", "usual"].includes(words.settled) ? at("lines-cards").lastElementChild : null;
    words.settled = "";
    for (const [id, value] of typed) {
        const field = at(id);
        if (!field || field.hasAttribute("aria-invalid")) continue;
        field.value = value;
        if ("blank" in field.dataset) field.dispatchEvent(new Event("change"));
    }
    if (added) added.open = true;
    if (!active || active.isConnected) return;
    const same = active.id ? at(active.id) : null;
    const around = parts.map((id) => id && at(id)?.querySelector("summary, h2")).find(Boolean);
    const next = added?.querySelector("summary") ?? (same?.disabled ? null : same) ?? around;
    next?.focus({ preventScroll: !added });
}

// Faults that stand in the file already, but for those that stand beside their field on the card of a line.
function others() {
    return words.state.faults.filter(({ at: place }) => place[0] !== "line" || place.length < 3).map((fault) => element("p", { className: "fault", text: words.placeOf(fault) }));
}

// What each folded part says now, in a few words.
function briefs() {
    const { digging = {}, site = {}, override = [], rates = {}, paper = {}, bench_mark: bench, frost } = words.values;
    const named = (table, key, value) => words.field(table, key).options.find(([one]) => one === value)?.[1] ?? value;
    const { rules } = words;
    const open = rules ? rules.facts.filter(({ key }) => words.values.facts?.[key] === undefined).length + rules.things.length : 0;
    const rows = Object.keys(rates).filter((key) => key !== "currency" && key !== "per").length;
    return {
        "brief-digging": digging.soil ? `${named("digging", "soil", digging.soil)}, ${digging.bucket} wide${digging.machine_width ? `, strip of ${digging.machine_width}` : ""}` : "not stated",
        "brief-frost": frost ? `computed from ${frost.freezing_index}` : "the adopted depth alone",
        "brief-rules": words.layers.find(({ name }) => name === site.rules)?.title.split(":")[0] ?? site.rules ?? "not stated",
        "brief-replaced": override.length ? `${override.length} replaced` : "none replaced",
        "brief-facts": open ? `${open} not stated` : "nothing open",
        "brief-looked": rules?.unlooked.length ? `${rules.unlooked.length} not looked for` : "nothing open",
        "brief-prices": rows ? `${rows} of your own` : "the usual ones",
        "brief-paper": [paper.address, paper.parcel_number].filter(Boolean).join(", ") || "address not stated",
        "brief-bench": bench ? capital(bench.at ?? "") : "none",
    };
}

// The name of the site stands above the page; other printed units want the map anew.
function heading() {
    const { site } = words.values;
    if (!site) return;
    at("site-name").textContent = site.name ?? "";
    document.title = `${site.name ?? ""}: site drawing`;
    openedIn ||= desk.units;
    at("lines-units").hidden = !site.units || site.units === openedIn;
}
