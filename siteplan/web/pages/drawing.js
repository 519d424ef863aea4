// The drawing as a list of things, with the way back. A thing is {key, feature}: the GeoJSON feature is never changed in
// place, so an earlier list is an earlier drawing, and properties that the page does not know pass through as they came.
// Every step has words: "move Well". What fixes the routes in site.toml belongs to the drawing: it is undone and saved with it.

export class Drawing extends EventTarget {
    #members = {};
    #things = [];
    #control = {};
    #onFile = {};
    #before = [];
    #after = [];
    #lastKey = 0;
    #joined = "";

    load(collection) {
        const { features, ...members } = collection;
        this.#members = members;
        this.#things = features.map((feature) => this.#thing(feature));
        this.#control = {};
        this.#onFile = {};
        this.#before = [];
        this.#after = [];
        this.#joined = "";
        this.#tell("load");
    }

    get things() {
        return this.#things;
    }

    // What would be undone, and done again: words, or null.
    get undoWords() {
        return this.#before.at(-1)?.words ?? null;
    }

    get redoWords() {
        return this.#after.at(-1)?.words ?? null;
    }

    thing(key) {
        return this.#things.find((thing) => thing.key === key);
    }

    collection() {
        return { ...this.#members, features: this.#things.map((thing) => thing.feature) };
    }

    // As it would be with a thing of another shape.
    collectionWith(key, geometry) {
        const features = this.#things.map((thing) => (thing.key === key ? { ...thing.feature, geometry } : thing.feature));
        return { ...this.#members, features };
    }

    add(feature, words = `draw ${nameOf(feature)}`) {
        return this.addAll([feature], words)[0];
    }

    // Several at once are one step.
    addAll(features, words = `draw ${features.length} things`) {
        const added = features.map((feature) => this.#thing(feature));
        this.#change([...this.#things, ...added], "page", words);
        return added;
    }

    // `from` says who changed it: "form" while the hands are in a field, "map" for a drag. Steps with the same `joins` in a row
    // are one step.
    replace(key, feature, from = "page", { words, joins = "" } = {}) {
        const old = this.thing(key);
        if (!old) return;
        const things = this.#things.map((thing) => (thing.key === key ? { key, feature } : thing));
        this.#change(things, from, words ?? changeWords(old.feature, feature), joins);
    }

    // Every thing anew: `update` gives the feature for a thing, or null to take it out.
    replaceAll(update, words) {
        const things = this.#things.map((thing) => ({ ...thing, feature: update(thing) })).filter(({ feature }) => feature);
        this.#change(things, "page", words);
    }

    remove(key) {
        const old = this.thing(key);
        if (old) this.#change(this.#things.filter((thing) => thing.key !== key), "page", `remove ${nameOf(old.feature)}`);
    }

    // Fix routes, as one step: features that come, keys of things that go, and [key path of site.toml, value or null].
    fix({ add = [], remove = [], control = [] }, words) {
        const kept = this.#things.filter(({ key }) => !remove.includes(key));
        const added = add.map((feature) => this.#thing(feature));
        const fixed = Object.fromEntries(control.map(([path, value]) => [JSON.stringify(path), value]));
        this.#change([...kept, ...added], "page", words, "", { ...this.#control, ...fixed });
        return added;
    }

    // What a key path of site.toml says of the routes; null if it is not stated.
    control(...path) {
        return this.#control[JSON.stringify(path)] ?? null;
    }

    // Take what site.toml says now, here and in every earlier step, but for what was changed here and is not saved yet.
    takeControl(pairs) {
        const now = Object.fromEntries(pairs.map(([path, value]) => [JSON.stringify(path), value]));
        const taken = (control) => Object.fromEntries(Object.keys(now).map((key) => {
            const ours = key in control && !same(control[key], this.#onFile[key]);
            return [key, ours ? control[key] : now[key]];
        }));
        for (const state of [...this.#before, ...this.#after]) state.control = taken(state.control);
        this.#control = taken(this.#control);
        this.#onFile = now;
    }

    // Edits of site.toml that are to be saved with the drawing; once they are, `filed` takes them.
    edits() {
        const changed = Object.keys(this.#control).filter((key) => !same(this.#control[key], this.#onFile[key]));
        return changed.map((key) => ({ do: "set", at: JSON.parse(key), to: this.#control[key] ?? "" }));
    }

    filed(edits) {
        for (const { at, to } of edits) this.#onFile[JSON.stringify(at)] = to === "" ? null : to;
    }

    undo() {
        this.#step(this.#before, this.#after);
    }

    redo() {
        this.#step(this.#after, this.#before);
    }

    freeId(kind) {
        const taken = new Set(this.#things.map((thing) => thing.feature.id));
        let number = 1;
        while (taken.has(`${kind}-${number}`)) number += 1;
        return `${kind}-${number}`;
    }

    #step(from, to) {
        if (from.length === 0) return;
        const { things, control, words } = from.pop();
        to.push({ things: this.#things, control: this.#control, words });
        this.#things = things;
        this.#control = control;
        this.#joined = "";
        this.#tell("page");
    }

    #thing(feature) {
        this.#lastKey += 1;
        return { key: this.#lastKey, feature };
    }

    #change(things, from, words, joins = "", control = this.#control) {
        if (joins === "" || joins !== this.#joined) this.#before.push({ things: this.#things, control: this.#control, words });
        this.#control = control;
        this.#joined = joins;
        this.#after = [];
        this.#things = things;
        this.#tell(from);
    }

    #tell(from) {
        this.dispatchEvent(new CustomEvent("change", { detail: { from } }));
    }
}

const same = (one, other) => JSON.stringify(one ?? null) === JSON.stringify(other ?? null);
const nameOf = ({ id, properties }) => String(properties?.name || properties?.kind || id || "unnamed").slice(0, 40);

function changeWords(old, feature) {
    if (old.geometry !== feature.geometry) return `move ${nameOf(old)}`;
    if (old.id !== feature.id) return `short name of ${nameOf(old)}`;
    const [before, after] = [old.properties ?? {}, feature.properties ?? {}];
    const changed = [...new Set([...Object.keys(before), ...Object.keys(after)])].filter((name) => before[name] !== after[name]);
    const what = changed.includes("kind") ? "kind" : changed[0] ?? "facts";
    return `${what.replaceAll("_", " ")} of ${nameOf(old)}`;
}
