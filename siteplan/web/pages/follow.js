// Saves each change at once, and has the plan follow in stages. One request of a sort at a time; a change made meanwhile is
// sent when the answer is there. A drawing that cannot be saved stays in the page. While something is dragged the plan goes with
// it: a first look at the drawing as it would be, of which nothing is kept.

import { ask } from "./api.js";

const NOTHING = { type: "FeatureCollection", features: [] };
const STAGES = ["first look", "searched", "proven"];
const AFTER_TYPING_MS = 400;
const REST_MS = 1200;
const WATCH_MS = 2000;
const QUICK_MS = 1000;

export class Follower extends EventTarget {
    #drawing;
    #revision = "";
    #timer = 0;
    #rest = 0;
    #dirty = false;
    #saving = false;
    #planning = false;
    #wanted = null;
    #stamp = "";
    #air = null;
    #carried = null;
    #carrying = false;
    #looked = false;
    #tookMs = 0;

    constructor(drawing) {
        super();
        this.#drawing = drawing;
        drawing.addEventListener("change", (event) => {
            if (event.detail.from !== "load") this.#changed(event.detail.from);
        });
        setInterval(() => this.#watch(), WATCH_MS);
        document.addEventListener("visibilitychange", () => this.#watch());
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
        this.#stamp = data.stamp;
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

    // Plan the folder as it stands: a first look at once, then what takes longer as long as nothing changes.
    plan() {
        this.#want(STAGES[0]);
        this.#tell("planning", {});
    }

    // Plan the drawing as it would be with what is in the air where it is now: the newest place, when the answer about an older one
    // is there. Not where plans are slow.
    async carry(collection) {
        if (this.unsaved || this.#tookMs > QUICK_MS) return;
        clearTimeout(this.#rest);
        this.#air ??= {};
        this.#carried = collection;
        if (this.#carrying) return;
        this.#carrying = true;
        while (this.#carried) {
            const [air, site] = [this.#air, this.#carried];
            this.#carried = null;
            const { ok, status, data } = await this.#look("/api/plan/carried", { site, revision: this.#revision });
            if (air !== this.#air || data.out_of_date || status === 409) continue;
            this.#tell(ok ? "carried" : "nowhere", data);
        }
        this.#carrying = false;
    }

    // What was in the air is back where it was.
    putBack() {
        if (!this.#air) return;
        this.#land();
        this.plan();
    }

    #land() {
        this.#air = null;
        this.#carried = null;
    }

    // The first plan of a page is slower than all that follow: it is no measure of them.
    async #look(address, body) {
        const begun = performance.now();
        const answer = await ask("POST", address, body);
        this.#tookMs = this.#looked ? performance.now() - begun : 0;
        this.#looked = true;
        return answer;
    }

    // Whether another window or program has changed the folder: the drawing is read again, other files are planned with.
    async #watch() {
        if (document.hidden || this.unsaved || this.#stamp === "") return;
        const seen = this.#stamp;
        const { ok, data } = await ask("GET", "/api/state");
        if (this.unsaved || this.#stamp !== seen) return;
        if (!ok) this.#tell("silent", data);
        else if (data.revision !== this.#revision) this.#tell("outdated", {});
        else if (data.stamp !== this.#stamp && !this.#planning) {
            this.#stamp = data.stamp;
            this.#tell("saved", {});
            this.plan();
        }
    }

    #changed(from) {
        this.#land();
        this.#dirty = true;
        clearTimeout(this.#timer);
        clearTimeout(this.#rest);
        this.#tell("waiting", {});
        if (from === "form") this.#timer = setTimeout(() => this.save(), AFTER_TYPING_MS);
        else this.save();
    }

    async save() {
        if (this.#saving || !this.#dirty) return;
        this.#saving = true;
        this.#dirty = false;
        this.#tell("saving", {});
        const edits = this.#drawing.edits();
        const body = { site: this.#drawing.collection(), revision: this.#revision, edits };
        const { ok, status, data } = await ask("PUT", "/api/site", body);
        this.#saving = false;
        if (ok) {
            this.#drawing.filed(edits);
            this.#revision = data.revision;
            this.#stamp = data.stamp;
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

    #want(stage) {
        clearTimeout(this.#rest);
        this.#wanted = stage;
        if (stage === STAGES[0] || !this.#planning) this.#ask();
    }

    // A first look does not wait for a slower stage that is under way: its answer is out of date when it comes.
    async #ask() {
        const stage = this.#wanted;
        if (this.#planning === stage) return;
        this.#wanted = null;
        this.#planning = stage;
        const { ok, data } = stage === STAGES[0] ? await this.#look("/api/plan", { stage }) : await ask("POST", "/api/plan", { stage });
        if (this.#planning !== stage) return;
        this.#planning = false;
        if (this.#wanted) return void this.#ask();
        if (this.unsaved || this.#air) return;
        if (data.out_of_date) return void (this.#rest = setTimeout(() => this.#want(stage), REST_MS));
        if (ok) this.#stamp = data.stamp;
        if (ok && data.revision !== this.#revision) return void this.#tell("outdated", {});
        this.#tell(ok ? "planned" : "unplanned", data);
        const next = ok && STAGES[STAGES.indexOf(data.stage) + 1];
        if (next) this.#rest = setTimeout(() => this.#want(next), next === STAGES[1] ? 0 : REST_MS);
    }

    #tell(what, data) {
        this.dispatchEvent(new CustomEvent("follow", { detail: { what, data } }));
    }
}
