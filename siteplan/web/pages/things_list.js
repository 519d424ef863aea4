// What is drawn, as a list grouped as the trade groups it.

import { at, desk } from "./desk.js";
import { button, element, wrap } from "./element.js";

export function listThings(reach) {
    const { drawing, kinds } = desk;
    at("things-count").textContent = String(drawing.things.length);
    const groups = new Map([...kinds.values()].map(({ group }) => [group, []]));
    for (const { key, feature } of drawing.things) {
        const properties = feature.properties ?? {};
        const kind = kinds.get(properties.kind);
        const group = kind?.group ?? "of no known kind";
        const words = `${properties.name || feature.id || "unnamed"}: ${kind?.name ?? properties.kind ?? "unknown"}`;
        if (!groups.has(group)) groups.set(group, []);
        groups.get(group).push(wrap("li", [button(words, () => reach(key))]));
    }
    const full = [...groups].filter(([, lines]) => lines.length);
    at("things").replaceChildren(...full.flatMap(([name, lines]) => {
        const title = name[0].toUpperCase() + name.slice(1);
        return [element("h3", { text: title }), wrap("ul", lines)];
    }));
}
