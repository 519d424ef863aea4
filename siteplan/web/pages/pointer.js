// Dragging by mouse, pen or finger, one way for all. The map does not move under it, and letting go is no click beside it.

const STILL_PX = 3;
const KEPT = ["mousedown", "touchstart", "click", "dblclick"];

// `act` is {start(), move({x, y, free}), end(), cancel()}; x and y are how far it was dragged on the screen, `free` says that
// Shift is held. Escape, a second finger or the loss of the pointer ends a drag as if it had not been. The answer ends it all.
export function draggable(element, act) {
    const listening = new AbortController();
    const { signal } = listening;
    for (const name of KEPT) element.addEventListener(name, (event) => event.stopPropagation(), { signal });
    element.addEventListener("pointerdown", (event) => {
        if (event.button !== 0 || !event.isPrimary) return;
        event.stopPropagation();
        follow(event, act);
    }, { signal });
    return () => listening.abort();
}

function follow(begun, act) {
    let dragging = false;
    const listening = new AbortController();
    const on = (name, heard) => addEventListener(name, heard, { signal: listening.signal, capture: true });
    const stop = (how) => {
        listening.abort();
        if (!dragging) return;
        swallowClick();
        act[how]();
    };
    on("pointermove", (event) => {
        if (event.pointerId !== begun.pointerId) return;
        const [x, y] = [event.clientX - begun.clientX, event.clientY - begun.clientY];
        if (!dragging && Math.hypot(x, y) < STILL_PX) return;
        if (!dragging) act.start();
        dragging = true;
        act.move({ x, y, free: event.shiftKey });
    });
    on("pointerup", (event) => event.pointerId === begun.pointerId && stop("end"));
    on("pointercancel", () => stop("cancel"));
    on("pointerdown", () => stop("cancel"));
    on("keydown", (event) => {
        if (event.key !== "Escape" || !dragging) return;
        event.stopPropagation();
        stop("cancel");
    });
}

// The browser may count the end of a drag as a click on whatever lies there.
function swallowClick() {
    const listening = new AbortController();
    const on = (name, heard) => addEventListener(name, heard, { signal: listening.signal, capture: true });
    on("click", (event) => {
        if (event.detail > 0) event.stopPropagation();
        listening.abort();
    });
    on("pointerdown", () => listening.abort());
}
