// What the parts of the page share: the drawing, what saves and plans it, the map, and what was read with the site.
// Parts tell each other through events of the desk: "choose" {key}, "plan" {data}, "site" {data}, "override" {row}.

import { Drawing } from "./drawing.js";
import { Follower } from "./follow.js";

class Desk extends EventTarget {
    drawing = new Drawing();
    follower = new Follower(this.drawing);
    ground = null;
    kinds = new Map();
    words = { asked: {}, known: {}, methods: [] };
    units = "ft";
    plan = null;

    tell(what, detail) {
        this.dispatchEvent(new CustomEvent(what, { detail }));
    }

    // Call `act` with the detail of every such event.
    on(what, act) {
        this.addEventListener(what, ({ detail }) => act(detail));
    }
}

export const desk = new Desk();
export const at = (id) => document.getElementById(id);
