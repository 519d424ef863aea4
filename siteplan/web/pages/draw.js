// Puts the page together: reads the site, makes the map, and begins each part.

import { beginBring } from "./bring.js";
import { beginBuiltTab } from "./built_tab.js";
import { at, desk } from "./desk.js";
import { beginDrawTab, showDrawing, takeSite, watchGround } from "./draw_tab.js";
import { beginEarlier } from "./earlier.js";
import { Ground } from "./ground.js";
import { beginLinesTab } from "./lines_tab.js";
import { beginPlanTab } from "./plan_tab.js";
import { problem } from "./problems.js";
import { beginSheetsTab } from "./sheets_tab.js";
import { beginTabs } from "./tabs.js";
import { beginTape } from "./tape.js";
import { offerTiles } from "./tiles.js";
import { beginUnderlay } from "./underlay.js";

const SAVED = { waiting: "Not saved yet", saving: "Saving", saved: "Saved", refused: "Not saved", elsewhere: "Not saved", unread: "Not read" };
const BUSY = new Set(["waiting", "saving", "saved", "planning", "carried", "nowhere"]);

function followSaving(what, data) {
    const { follower } = desk;
    at("state").setAttribute("aria-busy", String(BUSY.has(what)));
    at("state").dataset.stage = what === "planned" ? data.stage : "";
    if (SAVED[what]) at("saved").textContent = SAVED[what];
    if (what === "saved") problem("saving", null);
    if (what === "refused") problem("saving", { head: "Not saved. Mend this:", lines: data.faults, tools: [["Try again", () => follower.save()]] });
    if (what === "unread") problem("saving", { head: "The drawing cannot be read. Mend this:", lines: data.faults, tools: [["Read it again", read]] });
    if (what === "elsewhere") {
        const tools = [["Take the file, drop my changes", read], ["Write mine over it", () => follower.writeOver()]];
        problem("saving", { head: "Not saved:", lines: data.faults, tools });
    }
    if (what === "silent") problem("saving", { head: "No answer:", lines: data.faults });
    if (what === "outdated") {
        const lines = ["This page shows it as it is now. What was here before is under Earlier versions."];
        const tools = [["Close", () => problem("other", null)]];
        problem("other", { head: "The drawing was changed by another window or program.", lines, tools });
        read();
    }
}

// Read the site, at the start and whenever the file was changed by another hand.
async function read() {
    problem("saving", null);
    const data = await desk.follower.load();
    if (!data) return;
    if (!desk.ground) {
        desk.units = data.units;
        takeSite(data);
        at("site-name").textContent = data.name;
        document.title = `${data.name}: site drawing`;
        at("grid").hidden = !data.grid;
        document.body.classList.toggle("taped", data.grid);
        desk.ground = new Ground(at("map"), desk.kinds, desk.units);
        new ResizeObserver(() => desk.ground.refit()).observe(at("map"));
        watchGround();
        offerTiles(data.pictures);
    }
    showDrawing();
    desk.tell("site", { data });
}

addEventListener("beforeunload", (event) => {
    if (desk.follower.unsaved) event.preventDefault();
});
desk.follower.addEventListener("follow", ({ detail: { what, data } }) => followSaving(what, data));
beginTabs();
desk.on("reread", read);
for (const begin of [beginDrawTab, beginTape, beginBring, beginUnderlay, beginEarlier, beginPlanTab, beginLinesTab, beginSheetsTab, beginBuiltTab]) begin();
read();
