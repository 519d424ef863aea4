// The verdicts, worst first. A row points out on the map what it measured; its button tells the rule, what held and what would
// settle it. Rows that another plan leaves as they were are not made anew.

import { ask } from "./api.js";
import { at, desk } from "./desk.js";
import { button, element, wrap } from "./element.js";
import { missingFacts } from "./missing.js";
import { counts, isOpen } from "./numbers.js";

const VERDICT = 1;

export class Review extends EventTarget {
    #open = new Set();
    #rows = new Map();
    #pointed = null;

    constructor() {
        super();
        this.body = at("verdicts").tBodies[0];
        at("verdict-words").addEventListener("input", () => this.#sift());
        at("verdict-all").addEventListener("change", () => this.#sift());
    }

    show({ findings }) {
        const before = this.#rows;
        this.#rows = new Map();
        for (const finding of findings) {
            const key = keyOf(finding, this.#rows);
            const words = JSON.stringify(finding);
            const same = before.get(key)?.words === words;
            this.#rows.set(key, same ? before.get(key) : { words, finding, ...this.#make(finding, key) });
        }
        const wanted = [...this.#rows.values()].flatMap(({ row, more }) => [row, more]);
        const there = this.body.children;
        if (wanted.length !== there.length || wanted.some((row, n) => row !== there[n])) this.#lay(wanted);
        at("verdict-counts").textContent = counts(findings);
        this.#sift();
        if (this.#pointed !== null) this.#tellPoint();
    }

    // Put the rows in order; the one with the focus keeps it.
    #lay(wanted) {
        const held = document.activeElement?.closest?.("#verdicts tr")?.dataset.key;
        this.body.replaceChildren(...wanted);
        if (held) this.#rows.get(held)?.row.querySelector("button").focus();
    }

    // Show the rows with all of the typed words; without words, what is open.
    #sift() {
        const words = at("verdict-words").value.toLowerCase().split(/\s+/).filter(Boolean);
        let shown = 0;
        for (const { row, more, finding, text } of this.#rows.values()) {
            const fits = words.length ? words.every((word) => text.includes(word)) : at("verdict-all").checked || isOpen(finding.verdict);
            row.hidden = !fits;
            more.hidden = !fits || !this.#open.has(row.dataset.key);
            if (fits) shown += 1;
        }
        at("verdict-shown").textContent = shown < this.#rows.size ? `${shown} of ${this.#rows.size} shown` : "";
    }

    #make(finding, key) {
        const row = element("tr", { className: "verdict" });
        const more = element("tr", { className: "more", hidden: true });
        row.dataset.key = key;
        more.dataset.key = key;
        const name = button(finding.what, () => this.#toggle(key));
        name.setAttribute("aria-expanded", "false");
        const error = finding.error && element("span", { text: `± ${finding.error}` });
        const verdict = element("span", { className: finding.verdict.replaceAll(" ", "-"), text: finding.verdict });
        const where = finding.where ? [element("span", { className: "where", text: finding.where })] : [];
        row.append(
            cell("No.", finding.number),
            cell("Verdict", verdict, name, ...where),
            cell("Required", finding.required),
            cell("Measured", finding.measured, " ", error),
            cell("Margin", finding.margin),
        );
        if (this.#open.has(key)) this.#tellMore(more, name, finding);
        for (const come of ["mouseenter", "focusin"]) row.addEventListener(come, () => this.#point(key));
        row.addEventListener("mouseleave", () => this.#point(null));
        row.addEventListener("focusout", () => this.#point(null));
        const text = `${finding.number} ${finding.verdict} ${finding.what} ${finding.where} ${finding.topic} ${finding.rule?.text ?? ""} ${finding.rule?.row ?? ""}`.toLowerCase();
        return { row, more, text };
    }

    #toggle(key) {
        const { row, more, finding } = this.#rows.get(key);
        const name = row.cells[VERDICT].querySelector("button");
        if (this.#open.delete(key)) {
            more.hidden = true;
            name.setAttribute("aria-expanded", "false");
        } else {
            this.#open.add(key);
            this.#tellMore(more, name, finding);
        }
        this.#point(key);
    }

    #tellMore(more, name, finding) {
        const words = element("td", { colSpan: 5 });
        words.append(...detail(finding));
        more.replaceChildren(words);
        more.hidden = false;
        name.setAttribute("aria-expanded", "true");
    }

    #point(key) {
        if (key === this.#pointed) return;
        this.#pointed = key;
        this.#tellPoint();
    }

    #tellPoint() {
        this.dispatchEvent(new CustomEvent("point", { detail: this.#rows.get(this.#pointed)?.finding ?? null }));
    }
}

// What a row is known by in the next plan; what is told twice is counted.
function keyOf({ topic, subject, to, what, reach, rule }, taken) {
    const key = [topic, subject, to, topic === "crossing" ? "" : what, reach, rule?.row ?? ""].join(" | ");
    let number = 1;
    while (taken.has(`${key} ${number}`)) number += 1;
    return `${key} ${number}`;
}

function cell(name, ...content) {
    const made = element("td", {});
    made.dataset.name = name;
    if (content[0] !== "") made.append(...content);
    return made;
}

function detail(finding) {
    const { rule, settle, because, method, asked, chance, topic, subject, to } = finding;
    const lines = [];
    const add = (head, ...words) => lines.push(wrap("p", [element("b", { text: `${head}: ` }), ...words]));
    lines.push(...missingFacts(finding));
    if (settle) add(topic === "unlooked" ? "What to look for" : "What would settle it", settle);
    if (chance) add("Chance", chance);
    if (asked) add("The rule asks", asked);
    if (method) add("How measured", method);
    for (const reason of because) add("Because", reason);
    if (rule) {
        add("Rule", rule.text, ...(rule.confirmed ? [] : [element("span", { className: "hint", text: " Nobody has checked this number against the rule itself." })]));
        if (rule.note) add("Note", rule.note);
        add("Row", `${rule.row} of ${rule.layer}`);
        if (/^https?:\/\//.test(rule.url)) {
            add("Where it was read", element("a", { href: rule.url, target: "_blank", rel: "noopener noreferrer", text: rule.url }));
        }
    }
    if (topic === "setback" && to) lines.push(allRows(subject, to));
    if (rule?.row && topic !== "unlooked") lines.push(button("Replace this number here", () => desk.tell("override", { row: rule.row })));
    return lines;
}

// All that the rules say of a pair, read when it is asked for.
function allRows(subject, to) {
    const box = element("div", {});
    const told = element("pre", { className: "rows", hidden: true });
    const open = button("All rows that speak of these two", async () => {
        open.disabled = true;
        const { ok, data } = await ask("POST", "/api/plan/rules", { subject, to });
        told.textContent = ok ? data.text : data.faults.join("\n");
        told.hidden = false;
        open.hidden = true;
    });
    box.append(open, told);
    return box;
}
