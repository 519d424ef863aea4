// The drawing as a list of things, with the way back. A thing is {key, feature}: the GeoJSON feature is never changed in
// place, so an earlier list is an earlier drawing, and properties that the page does not know pass through as they came.

export class Drawing extends EventTarget {
    #members = {};
    #things = [];
    #before = [];
    #after = [];
    #lastKey = 0;

    load(collection) {
        const { features, ...members } = collection;
        this.#members = members;
        this.#things = features.map((feature) => this.#thing(feature));
        this.#before = [];
        this.#after = [];
        this.#tell("load");
    }

    get things() {
        return this.#things;
    }

    get canUndo() {
        return this.#before.length > 0;
    }

    get canRedo() {
        return this.#after.length > 0;
    }

    thing(key) {
        return this.#things.find((thing) => thing.key === key);
    }

    collection() {
        return { ...this.#members, features: this.#things.map((thing) => thing.feature) };
    }

    add(feature) {
        const thing = this.#thing(feature);
        this.#change([...this.#things, thing], "page");
        return thing;
    }

    // Several at once are one step to undo.
    addAll(features) {
        this.#change([...this.#things, ...features.map((feature) => this.#thing(feature))], "page");
    }

    // `from` says who changed it: the map does not draw anew what was moved on it.
    replace(key, feature, from = "page") {
        this.#change(this.#things.map((thing) => (thing.key === key ? { key, feature } : thing)), from);
    }

    remove(key) {
        this.#change(this.#things.filter((thing) => thing.key !== key), "page");
    }

    undo() {
        if (this.canUndo) {
            this.#after.push(this.#things);
            this.#things = this.#before.pop();
            this.#tell("page");
        }
    }

    redo() {
        if (this.canRedo) {
            this.#before.push(this.#things);
            this.#things = this.#after.pop();
            this.#tell("page");
        }
    }

    freeId(kind) {
        const taken = new Set(this.#things.map((thing) => thing.feature.id));
        let number = 1;
        while (taken.has(`${kind}-${number}`)) number += 1;
        return `${kind}-${number}`;
    }

    #thing(feature) {
        this.#lastKey += 1;
        return { key: this.#lastKey, feature };
    }

    #change(things, from) {
        this.#before.push(this.#things);
        this.#after = [];
        this.#things = things;
        this.#tell(from);
    }

    #tell(from) {
        this.dispatchEvent(new CustomEvent("change", { detail: { from } }));
    }
}
