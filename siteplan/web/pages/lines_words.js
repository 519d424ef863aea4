// What stands in site.toml, as the server reads it: forms that never change, and values that do. A change is sent at once, one
// after the other; what is refused stays typed, with what was expected, and the file stays as it was.

import { ask } from "./api.js";
import { desk } from "./desk.js";
import { problem } from "./problems.js";

export const keyOf = (at) => at.join(".");

// Tells of "read" (new values), "refused" {at} and "busy" {on}.
export class Words extends EventTarget {
    forms = {};
    products = [];
    starts = [];
    ends = [];
    layers = [];
    lineFacts = {};
    kinds = {};
    state = null;
    rules = null;
    refused = new Map();
    settled = "";
    stale = true;
    #queue = Promise.resolve();
    #waiting = 0;
    #before = [];
    #told = false;

    get values() {
        return this.state.values;
    }

    get lines() {
        return this.values.line ?? [];
    }

    get lastChange() {
        return this.#before.at(-1)?.about ?? "";
    }

    field(table, key) {
        return this.forms[table].find((field) => field.key === key);
    }

    // Things that a line may start from or end at: as read, or as drawn while the site cannot be read.
    get things() {
        if (this.state.things.length) return this.state.things;
        return desk.drawing.things.map(({ feature }) => {
            const { kind, name, carries } = feature.properties ?? {};
            return { id: feature.id, name: name || feature.id, kind, carries };
        });
    }

    // What is wrong already in the file, at one field.
    faultAt([table, which, ...rest]) {
        const numbered = table === "line" && typeof which === "string" ? this.lines.findIndex(({ id }) => id === which) : which;
        return this.state.faults.find((fault) => keyOf(fault.at) === keyOf([table, numbered, ...rest]));
    }

    // Where a fault of the file stands, in the words of the page.
    placeOf({ at: [table, which, key], line, words: said }) {
        const label = this.forms[table]?.find((field) => field.key === (key ?? which))?.label;
        if (!label) return line;
        return table === "line" ? `${this.lines[which]?.name ?? this.lines[which]?.id}, ${label}: ${said}` : `${label}: ${said}`;
    }

    // Read the file again, once all changes are through.
    load() {
        return this.#after(() => this.#fresh());
    }

    async #fresh() {
        if (!this.layers.length && !(await this.#begin())) return;
        this.stale = false;
        const { ok, data } = await ask("GET", "/api/words");
        if (!ok) return void problem("other", { head: "site.toml cannot be read:", lines: data.faults });
        if (this.state && data.stamp === this.state.stamp) return;
        if (this.state && data.revision !== this.state.revision) this.#before = [];
        await this.#take(data);
    }

    // Make edits together, or none of them; `about` says in words what was changed, `at` is the field that asked for it.
    change(edits, about, at, typed) {
        return this.#send({ edits }, about, at, typed);
    }

    // Write the file as it was before the last change made here.
    takeBack() {
        const last = this.#before.at(-1);
        return last ? this.#send({ text: last.text }, null, ["file"]) : null;
    }

    #send(body, about, at, typed) {
        return this.#after(async () => {
            if (this.stale) await this.#fresh();
            const { text, revision } = this.state;
            const { ok, status, data } = await ask("PUT", "/api/words", { ...body, revision });
            if (ok) {
                if (about === null) this.#before.pop();
                else if (data.revision !== revision) this.#before.push({ text, about });
                for (const key of [...this.refused.keys()]) {
                    if (key === keyOf(at) || key.startsWith(`${keyOf(at)}.`)) this.refused.delete(key);
                }
                this.#close();
                this.settled = keyOf(at);
                await this.#take(data);
                if (data.revision !== revision) desk.follower.plan();
                return true;
            }
            if (status === 409) {
                this.#before = [];
                const lines = [...data.faults, "It is shown as it is now. Make your change again."];
                this.#told = true;
                problem("other", { head: "Not written:", lines, tools: [["Close", () => this.#close()]] });
                const again = await ask("GET", "/api/words");
                if (again.ok) await this.#take(again.data);
                return false;
            }
            this.#refuse(data, at, typed);
            return false;
        });
    }

    #close() {
        if (this.#told) problem("other", null);
        this.#told = false;
    }

    async #begin() {
        const { ok, data } = await ask("GET", "/api/words/forms");
        if (ok) Object.assign(this, { ...data, lineFacts: data.line_facts });
        else problem("other", { head: "The forms cannot be read:", lines: data.faults });
        return ok;
    }

    // Hold what was refused: at the field that it is about, where that is one of those that were sent, else at what asked for it.
    #refuse(data, at, typed) {
        const faults = data.at ?? data.faults.map((words) => ({ words, at: [] }));
        const here = keyOf(at);
        for (const key of [...this.refused.keys()]) if (key.startsWith(`${here}.`)) this.refused.delete(key);
        const own = [];
        for (const fault of faults) {
            const key = keyOf(fault.at);
            if (typeof typed === "object" && key.startsWith(`${here}.`)) this.refused.set(key, { typed: typed[fault.at.at(-1)], words: fault.words });
            else own.push(fault.words);
        }
        this.refused.set(here, { typed: typeof typed === "object" ? undefined : typed, words: own.join(" ") });
        this.#tell("refused", { at });
    }

    async #take(data) {
        this.state = data;
        const { ok, data: rules } = await ask("GET", "/api/rules");
        this.rules = ok ? rules : null;
        this.#tell("read", {});
    }

    #after(work) {
        this.#waiting += 1;
        this.#tell("busy", { on: true });
        const done = this.#queue.then(work).finally(() => {
            this.#waiting -= 1;
            if (this.#waiting === 0) this.#tell("busy", { on: false });
        });
        this.#queue = done.catch(() => {});
        return done;
    }

    #tell(what, detail) {
        this.dispatchEvent(new CustomEvent(what, { detail }));
    }
}

export const words = new Words();
