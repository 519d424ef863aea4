// The tab of the plan: numbers and verdicts, kept in step with the drawing, marked old while they are not of it.

import { at, desk } from "./desk.js";
import { problem } from "./problems.js";
import { Review, counts } from "./review.js";

export function beginPlanTab() {
    const review = new Review();
    const stale = (why) => {
        review.stale(why);
        desk.ground?.plan.stale(Boolean(why));
    };

    desk.follower.addEventListener("follow", ({ detail: { what, data } }) => {
        if (what === "planning") at("planned").textContent = "Planning";
        if (what === "waiting" || what === "planning") stale("Being planned again: this is of the drawing before.");
        if (what === "planned") {
            problem("planning", null);
            stale("");
            review.show(data);
            at("planned").textContent = `Plan: ${counts(data.findings)}`;
            desk.plan = data;
            desk.tell("plan", { data });
        }
        if (what === "unplanned") {
            problem("planning", { head: "No plan of this drawing:", lines: data.faults });
            at("planned").textContent = "No plan";
            stale("No plan could be made of this drawing: this is the last one.");
            desk.ground.plan.showBlocked(data.blocked);
        }
    });
    review.addEventListener("point", ({ detail }) => desk.ground.plan.point(detail ? [detail] : []));
    at("plan-again").addEventListener("click", () => desk.follower.plan());
    at("show-kept-off").addEventListener("change", (event) => desk.ground.plan.showKeptOff(event.target.checked));
}
