// Saves each change a moment after it is made, and has the plan follow. One request of a sort at a time; a change made
// meanwhile is sent when the answer is there. A drawing that cannot be saved stays in the page.

import { ask } from "./api.js";

const PAUSE_MS = 400;
const NOTHING = { type: "FeatureCollection", features: [] };

export class Follower extends EventTarget {
    #drawing;
    #revision = "";
    #timer = 0;
    #dirty = false;
    #saving = false;
    #planning = false;
    #planWanted = false;

    constructor(drawing) {
        super();
        this.#drawing = drawing;
        drawing.addEventListener("change", (event) => {
            if (event.detail.from !== "load") this.#changed();
        });
    }

    get unsaved() {
        return this.#dirty || this.#saving;
    }

    async load() {
        clearTimeout(this.#timer);
        const { ok, data } = await ask("GET", "/api/site");
        if (!ok) {
            this.#tell("unread", data);
            return null;
        }
        this.#revision = data.revision;
        this.#dirty = false;
        this.#drawing.load(data.grid ? NOTHING : data.site);
        this.#tell("saved", {});
        this.plan();
        return data;
    }

    // Take the file on disk as the version before ours, and write ours over it; siteplan keeps the other one.
    async writeOver() {
        const { ok, data } = await ask("GET", "/api/site");
        if (!ok) {
            this.#tell("unread", data);
            return;
        }
        this.#revision = data.revision;
        this.#dirty = true;
        this.save();
    }

    plan() {
        this.#planWanted = true;
        if (!this.#planning) this.#plan();
    }

    #changed() {
        this.#dirty = true;
        this.#tell("waiting", {});
        clearTimeout(this.#timer);
        this.#timer = setTimeout(() => this.save(), PAUSE_MS);
    }

    async save() {
        if (this.#saving || !this.#dirty) return;
        this.#saving = true;
        this.#dirty = false;
        this.#tell("saving", {});
        const body = { site: this.#drawing.collection(), revision: this.#revision };
        const { ok, status, data } = await ask("PUT", "/api/site", body);
        this.#saving = false;
        if (ok) {
            this.#revision = data.revision;
            this.#tell("saved", {});
            this.plan();
            this.save();
            return;
        }
        const again = this.#dirty;
        this.#dirty = true;
        this.#tell(status === 409 ? "elsewhere" : "refused", data);
        if (again && status !== 409) this.save();
    }

    async #plan() {
        this.#planning = true;
        this.#tell("planning", {});
        while (this.#planWanted) {
            this.#planWanted = false;
            const { ok, data } = await ask("POST", "/api/plan", {});
            if (this.#planWanted) continue;
            if (ok && data.revision !== this.#revision && !this.unsaved) this.#tell("outdated", {});
            else this.#tell(ok ? "planned" : "unplanned", data);
        }
        this.#planning = false;
    }

    #tell(what, data) {
        this.dispatchEvent(new CustomEvent("follow", { detail: { what, data } }));
    }
}
