// Facts that a verdict waits for, asked where it stands: of a thing that is drawn, of a line, of the whole site; or who looked
// for what nobody drew.

import { desk } from "./desk.js";
import { button, element, labelled, wrap } from "./element.js";
import { fact, fault } from "./fields.js";
import { words } from "./lines_words.js";

export function missingFacts({ topic, subject, what, missing }) {
    if (topic === "unlooked") return [looked(subject, what)];
    return missing.map((one) => asked(one));
}

function asked(one) {
    const box = fact(one.key, one.sort, undefined, desk.units, desk.words.known?.[one.key], (value) => state(box, one, value));
    box.querySelector("label").textContent = `${one.name}: ${one.words}`;
    box.classList.add("asked");
    return box;
}

async function state(box, { of, id, key, name }, value) {
    if (value === "" || value === null) return;
    fault(box, "");
    if (of === "thing") {
        const thing = desk.drawing.things.find(({ feature }) => feature.id === id);
        if (!thing) return void fault(box, `${name} is not in the drawing but in another file of this site: state it there.`);
        const { feature } = thing;
        const properties = { ...feature.properties, [key]: value };
        desk.drawing.replace(thing.key, { ...feature, properties }, "page", { words: `${key.replaceAll("_", " ")} of ${name}` });
        return;
    }
    const at = of === "line" ? ["line", id, key] : ["facts", key];
    await write(box, at, typeof value === "boolean" ? value : String(value), `${key.replaceAll("_", " ")} of ${name}`);
}

// "I looked": how far, and who.
function looked(kind, what) {
    const name = what.split(":")[0];
    const far = element("input", { type: "text", autocomplete: "off", placeholder: "such as 200 ft" });
    const who = element("input", { type: "text", autocomplete: "off", placeholder: "such as R. Alder, walked it" });
    const box = wrap("div", [], "asked");
    const write_ = button("I looked: there is none", () => {
        const [distance, person] = [far.value.trim(), who.value.trim()];
        if (!distance || !person) return void fault(box, "Say how far it was looked for, and who looked.");
        write(box, ["looked", kind], `none within ${distance}, ${person}`, `looked for ${name}`);
    });
    box.append(
        wrap("div", [labelled(`No ${name} within`, far), labelled("Who looked, and how", who)], "facts"),
        wrap("p", [write_], "tools"),
    );
    return box;
}

async function write(box, at, to, about) {
    fault(box, "");
    if (!words.state) await words.load();
    const done = await words.change([{ do: "set", at, to }], about, at, to);
    if (!done) fault(box, words.refused.get(at.join("."))?.words || "Not written.");
}
