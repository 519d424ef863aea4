// Which rules hold, what of them is unconfirmed or missing, numbers replaced for this site, and what the rules ask and nobody stated.

import { desk } from "./desk.js";
import { button, element, labelled, wrap } from "./element.js";
import { capital, entry, refusal } from "./lines_field.js";
import { words } from "./lines_words.js";
import { showTab } from "./tabs.js";

const COUNTRIES = { au: "Australia", ca: "Canada", gb: "United Kingdom", us: "United States" };
const MOST_FOUND = 8;
let sought = "";

const placeOf = (layer) => layer.title.split(":")[0];
const below = (name) => words.layers.filter((layer) => layer.name.startsWith(`${name}/`) && !layer.name.slice(name.length + 1).includes("/"));

export function rulesSection() {
    const { rules } = words;
    const now = words.layers.find(({ name }) => name === words.values.site?.rules);
    const parts = [
        element("p", { text: now ? `In force: ${now.title} (${now.name}), with what stands above it.` : `“${words.values.site?.rules ?? ""}” is none of the rules here. Choose a place.` }),
        wrap("div", placeSelects(), "facts"),
        search(),
        ...refusal(["site", "rules"]),
    ];
    if (!rules) return [...parts, element("p", { text: "More is told when the site can be read and planned." })];
    parts.push(...rules.warnings.map((text) => element("p", { className: "fault", text })), element("h3", { text: "Hold together here" }));
    parts.push(wrap("ul", rules.layers.map(edition)), unconfirmed(rules.unconfirmed));
    return parts;
}

const useRules = (name) => words.change([{ do: "set", at: ["site", "rules"], to: name }], `Rules of ${name}`, ["site", "rules"]);

function placeSelects() {
    const [country = "", state = "", town = ""] = (words.values.site?.rules ?? "").split("/");
    const steps = [
        ["Country", words.layers.filter(({ name }) => !name.includes("/")), country, ""],
        ["State or province", country ? below(country) : [], state ? `${country}/${state}` : "", country],
        ["County or town", state ? below(`${country}/${state}`) : [], town ? `${country}/${state}/${town}` : "", `${country}/${state}`],
    ];
    return steps.filter(([, layers]) => layers.length).map(([label, layers, chosen, whole]) => {
        const select = element("select", { id: `rules-${label.split(" ")[0].toLowerCase()}` });
        if (whole) select.append(element("option", { value: whole, text: label === "County or town" ? "none of these" : "the whole country" }));
        for (const layer of layers) {
            const name = whole ? placeOf(layer) : COUNTRIES[layer.name] ?? placeOf(layer);
            select.append(element("option", { value: layer.name, text: `${name}${layer.thin ? " (not whole)" : ""}` }));
        }
        select.value = chosen || whole;
        select.addEventListener("change", () => useRules(select.value));
        return labelled(label, select);
    });
}

function search() {
    const input = element("input", { type: "search", id: "rules-search", value: sought, autocomplete: "off", placeholder: "such as Helena" });
    const found = element("ul", { id: "rules-found", className: "plain" });
    const show = () => {
        sought = input.value;
        const parts = sought.toLowerCase().split(/\s+/).filter(Boolean);
        const hits = parts.length ? words.layers.filter((layer) => parts.every((part) => `${layer.title} ${layer.name}`.toLowerCase().includes(part))) : [];
        found.replaceChildren(...hits.slice(0, MOST_FOUND).map((layer) => {
            const use = button(`${layer.title} (${layer.name})${layer.thin ? ", not whole" : ""}`, () => useRules(layer.name));
            return wrap("li", [use, element("span", { className: "hint", text: `${layer.rows} numbers, ${layer.verified} of them read at the source` })]);
        }));
        if (parts.length && !hits.length) found.append(element("li", { text: "No rules here of that name. Take the state, and ask the county." }));
        if (hits.length > MOST_FOUND) found.append(element("li", { text: `and ${hits.length - MOST_FOUND} more` }));
    };
    input.addEventListener("input", show);
    show();
    return wrap("div", [labelled("Search a place", input), found]);
}

function edition(layer) {
    const lines = [element("b", { text: layer.title }), ` (${layer.name}): ${layer.authority}${layer.edition ? `, ${layer.edition}` : ""}.`];
    if (layer.thin) lines.push(element("b", { text: " Not whole: ask the authority for what is not held." }));
    const missing = [...layer.gaps.map((gap) => `Not held: ${gap}`), ...layer.set_aside];
    if (missing.length) lines.push(folded(`rules-gaps-${layer.name.replaceAll("/", "-")}`, `What it does not hold (${missing.length})`, missing));
    return wrap("li", lines);
}

function folded(id, title, lines) {
    const box = element("details", { id });
    box.append(element("summary", { text: title }), wrap("ul", [...lines].map((text) => element("li", { text }))));
    return box;
}

function unconfirmed(cited) {
    if (!cited.length) return element("p", { text: "Every number in use here was read at its source." });
    const lines = new Set(cited.map((one) => `${one.citation}${one.edition ? `, ${one.edition}` : ""} (${one.layer})`));
    return folded("rules-unconfirmed", `Unconfirmed: nobody has read the source of ${cited.length} in use here`, lines);
}

// Facts of the whole site that a rule asks for; then those of drawn things.
export function factsSection() {
    const { rules } = words;
    if (!rules) return [element("p", { text: "What the rules ask is told when the site can be read." })];
    const stated = words.values.facts ?? {};
    const asked = rules.facts.map((fact) => fact.key);
    const idle = Object.keys(stated).filter((key) => !asked.includes(key)).map((key) => ({ key, sort: "text", asked_by: [], difference: [] }));
    const parts = [...rules.facts, ...idle].map((fact) => factBox(fact, stated[fact.key]));
    if (!parts.length) parts.push(element("p", { text: "These rules ask for no fact of the whole site." }));
    parts.push(...ofThings(rules.things));
    return parts;
}

function factBox(fact, value) {
    const sort = typeof value === "boolean" ? "yes_no" : fact.sort;
    const field = { key: fact.key, label: `${capital(fact.key.replaceAll("_", " "))}${sort === "yes_no" ? "?" : ""}`, sort, options: [], required: false };
    const help = fact.asked_by.length ? `Asked by ${fact.asked_by[0]}${fact.asked_by.length > 1 ? ` and ${fact.asked_by.length - 1} more` : ""}.` : "No rule in force here asks for it.";
    const box = [entry(["facts", fact.key], field, value, { help })];
    if (value === undefined) {
        box.push(fact.difference.length
            ? folded(`fact-${fact.key}`, `Not stated. What hangs on it here (${fact.difference.length})`, fact.difference)
            : element("p", { className: "hint", text: "Not stated. It makes no difference to what is drawn so far." }));
    }
    return wrap("div", box, "card");
}

function ofThings(things) {
    if (!things.length) return [];
    const seen = new Map(things.map((one) => [`${one.id}.${one.fact}`, one]));
    const rows = [...seen.values()].map((one) => {
        const drawn = desk.drawing.things.find(({ feature }) => feature.id === one.id);
        const go = button(`State it: ${one.thing}`, () => {
            showTab("draw");
            desk.tell("choose", { key: drawn.key });
        });
        const parts = [element("b", { text: `${one.thing}: ${one.fact}. ` }), one.difference];
        return wrap("li", drawn ? [...parts, wrap("p", [go], "tools")] : parts);
    });
    return [element("h3", { text: "Not stated of drawn things" }), wrap("ul", rows)];
}

// Hazards that nobody drew nor looked for, to tick off with who looked and how far.
export function lookedSection() {
    const { rules } = words;
    const stated = words.values.looked ?? {};
    const open = rules?.unlooked ?? [];
    const who = element("input", { id: "looked-who", autocomplete: "off", placeholder: "such as none, walked 300 ft round with the owner" });
    const missing = element("p", { className: "fault", id: "looked-fault" });
    missing.setAttribute("role", "alert");
    const tick = (one) => {
        const box = element("input", { type: "checkbox", id: `looked-${one.kind}` });
        box.addEventListener("change", () => {
            const said = who.value.trim();
            missing.textContent = said ? "" : "First say who looked, and how far.";
            box.checked = false;
            if (!said) return who.focus();
            return words.change([{ do: "set", at: ["looked", one.kind], to: said }], `${one.name} looked for`, ["looked", one.kind]);
        });
        const label = element("label", { htmlFor: box.id, className: "tick" });
        label.append(box, ` No ${one.name}`, element("span", { className: "hint", text: ` ${one.citation} (${one.layer})` }));
        return wrap("li", [label, ...refusal(["looked", one.kind])]);
    };
    const parts = [];
    if (open.length) {
        parts.push(
            element("p", { text: "The rules name these, nobody drew one, and nobody says to have looked. Draw what is there; tick what was looked for and not found." }),
            labelled("Who looked, and how far", who), missing, wrap("ul", open.map(tick), "plain"),
        );
    } else if (rules) parts.push(element("p", { text: "Every hazard that these rules name is drawn or was looked for." }));
    const done = Object.entries(stated).map(([kind, said]) => entry(["looked", kind], { key: kind, label: `No ${words.kinds[kind] ?? kind}`, sort: "text", required: false, help: "", wide: true }, said));
    if (done.length) parts.push(element("h3", { text: "Looked for and not found" }), wrap("div", done, "facts"), element("p", { className: "hint", text: "Empty the words to take one out." }));
    return parts;
}
