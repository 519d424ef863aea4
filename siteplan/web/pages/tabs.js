// The tabs over the panel: one panel shown at a time, arrow keys go along, as the ARIA pattern for tabs asks.

const at = (id) => document.getElementById(id);
const tabs = () => [...at("tabs").querySelectorAll('[role="tab"]')];

export function showTab(name) {
    for (const tab of tabs()) {
        const shown = tab.id === `tab-${name}`;
        tab.setAttribute("aria-selected", String(shown));
        tab.tabIndex = shown ? 0 : -1;
        at(tab.getAttribute("aria-controls")).hidden = !shown;
    }
}

export const shownTab = () => tabs().find((tab) => tab.getAttribute("aria-selected") === "true").id.slice("tab-".length);

export function beginTabs() {
    for (const tab of tabs()) tab.addEventListener("click", () => showTab(tab.id.slice("tab-".length)));
    at("tabs").addEventListener("keydown", (event) => {
        const all = tabs();
        const here = all.indexOf(document.activeElement);
        const to = { ArrowRight: here + 1, ArrowLeft: here - 1, Home: 0, End: all.length - 1 }[event.key];
        if (here < 0 || to === undefined) return;
        event.preventDefault();
        const next = all[(to + all.length) % all.length];
        showTab(next.id.slice("tab-".length));
        next.focus();
    });
}
