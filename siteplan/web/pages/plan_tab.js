// The tab of the plan: numbers, verdicts, cover along the trench, other ways and routes fixed by hand, kept in step with the
// drawing, and marked old while they are not of it.

import { beginByHand, showLines } from "./by_hand.js";
import { at, desk } from "./desk.js";
import { besideSteps } from "./first_steps.js";
import { counts, showNumbers } from "./numbers.js";
import { problem } from "./problems.js";
import { beginProfiles, showProfiles } from "./profile.js";
import { Review } from "./review.js";
import { showWays } from "./ways.js";

const SOON_MS = 150;

let staleSoon = 0;

// Say why what stands here is not of the drawing as it is; nothing if it is. `afterMs`: unless it is again before that.
function stale(why, afterMs = 0) {
    clearTimeout(staleSoon);
    if (afterMs) return void (staleSoon = setTimeout(() => stale(why), afterMs));
    at("stale").textContent = why;
    at("stale").hidden = !why;
    at("panel-plan").classList.toggle("old", Boolean(why));
    desk.ground?.plan.stale(Boolean(why));
}

function planned(review, data, words) {
    problem("planning", null);
    desk.drawing.takeControl(data.control);
    stale("");
    showNumbers(data);
    review.show(data);
    showWays(data);
    showLines(data);
    showProfiles(data);
    at("planned").textContent = `${words}: ${counts(data.findings)}`;
    desk.plan = data;
    desk.tell("plan", { data });
}

function unplanned(data) {
    const lines = besideSteps(data.faults);
    problem("planning", lines.length ? { head: "No plan of this drawing:", lines } : null);
    at("planned").textContent = lines.length ? "No plan" : "No plan yet";
    stale(desk.plan ? "No plan could be made of this drawing: this is the last one." : "No plan could be made of this drawing yet.");
    desk.ground.plan.showBlocked(data.blocked);
}

export function beginPlanTab() {
    const review = new Review();
    desk.follower.addEventListener("follow", ({ detail: { what, data } }) => {
        if (what === "planning") at("planned").textContent = "Planning";
        if (what === "waiting" || what === "planning") stale(desk.plan ? "Being planned again: this is of the drawing before." : "Being planned.", SOON_MS);
        if (what === "planned") planned(review, data, "Plan");
        if (what === "carried") planned(review, data, "With it here");
        if (what === "nowhere" && desk.plan) stale(`No plan with it here: ${data.faults[0]}`);
        if (what === "planned" || what === "carried") performance.mark("redrawn", { detail: what === "carried" ? what : data.stage });
        if (what === "unplanned") unplanned(data);
    });
    review.addEventListener("point", ({ detail }) => desk.ground.plan.point(detail));
    at("plan-again").addEventListener("click", () => desk.follower.plan());
    at("show-kept-off").addEventListener("change", (event) => desk.ground.plan.showKeptOff(event.target.checked));
    beginProfiles();
    beginByHand();
}
