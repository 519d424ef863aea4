// The plan in words: quantities, and the verdicts worst first. A row points out on the map what it measured; its button
// shows the rule, what held and what would settle it.

import { at } from "./desk.js";
import { element } from "./element.js";

export class Review extends EventTarget {
    #open = new Set();

    constructor() {
        super();
        this.body = at("verdicts").tBodies[0];
    }

    show({ numbers, certificate, findings }) {
        at("numbers").replaceChildren(...numbers.map(([name, value]) => {
            const pair = element("div", {});
            pair.append(element("dt", { text: name }), element("dd", { text: value }));
            return pair;
        }));
        at("certificate").textContent = certificate;
        this.body.replaceChildren(...findings.flatMap((finding) => this.#rows(finding)));
    }

    // Say why what stands here is not of the drawing as it is; nothing if it is.
    stale(why) {
        at("stale").textContent = why;
        at("stale").hidden = !why;
        at("review").classList.toggle("old", Boolean(why));
    }

    #rows(finding) {
        const key = `${finding.what} ${finding.rule?.row ?? ""} ${finding.reach}`;
        const row = element("tr", { className: "verdict" });
        const more = element("tr", { className: "more", hidden: !this.#open.has(key) });
        const button = element("button", { type: "button", text: finding.what });
        button.setAttribute("aria-expanded", String(!more.hidden));
        const error = finding.error && element("span", { text: `± ${finding.error}` });
        row.append(
            cell("No.", finding.number),
            cell("Verdict", element("span", { className: finding.verdict.replaceAll(" ", "-"), text: finding.verdict }), button),
            cell("Required", finding.required),
            cell("Measured", finding.measured, " ", error),
            cell("Margin", finding.margin),
        );
        const words = element("td", { colSpan: 5 });
        words.append(...detail(finding));
        more.append(words);
        button.addEventListener("click", () => {
            more.hidden = !more.hidden;
            button.setAttribute("aria-expanded", String(!more.hidden));
            if (more.hidden) this.#open.delete(key);
            else this.#open.add(key);
            this.#tell("point", finding);
        });
        for (const come of ["mouseenter", "focusin"]) row.addEventListener(come, () => this.#tell("point", finding));
        row.addEventListener("mouseleave", () => this.#tell("point", null));
        return [row, more];
    }

    #tell(what, finding) {
        this.dispatchEvent(new CustomEvent(what, { detail: finding }));
    }
}

// "1 short · 2 not checked": how much of the review wants a look.
export function counts(findings) {
    const number = new Map();
    const open = findings.filter(({ verdict }) => !["clear", "not applicable"].includes(verdict));
    for (const { verdict } of open) number.set(verdict, (number.get(verdict) ?? 0) + 1);
    return [...number].map(([verdict, count]) => `${count} ${verdict}`).join(" · ") || "nothing short or open";
}

function cell(name, ...content) {
    const made = element("td", {});
    made.dataset.name = name;
    if (content[0] !== "") made.append(...content);
    return made;
}

function detail({ rule, settle, because, method }) {
    const lines = [];
    const add = (head, words) => {
        const line = element("p", {});
        line.append(element("b", { text: `${head}: ` }), words);
        lines.push(line);
    };
    if (settle) add("What would settle it", settle);
    if (method) add("How measured", method);
    for (const reason of because) add("Because", reason);
    if (rule) {
        add("Rule", [rule.text, rule.edition, rule.force, rule.confirmed ? "" : "unconfirmed"].filter(Boolean).join(", "));
        if (rule.note) add("Note", rule.note);
        add("Row", `${rule.row} of ${rule.layer}`);
        if (/^https?:\/\//.test(rule.url)) {
            add("Where it was read", element("a", { href: rule.url, target: "_blank", rel: "noopener noreferrer", text: rule.url }));
        }
    }
    return lines;
}
