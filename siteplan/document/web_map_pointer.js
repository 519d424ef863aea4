"use strict";

// One mark, on the map and on the profile at once: station, cut, cover and ground where the pointer, the finger or the keys are.
const planPointer = (() => {
    const NEAR_PX = 30, EDGE_PX = 40;
    const dot = L.circleMarker([0, 0], { radius: 9, className: "here", interactive: false });
    const onMap = planElement("div", "read-out");
    onMap.hidden = true;
    document.getElementById("plan-map").append(onMap);
    const profiles = new Map(Array.from(document.querySelectorAll("svg.profile"), (drawing) => [drawing.dataset.reach, drawing]));
    let isFromMap = false;

    function words(reach, distance) {
        const stretch = reach.stretches.find((each) => distance <= each.to_m) ?? reach.stretches.at(-1);
        const isBored = reach.bored.some(([from, to]) => distance >= from && distance <= to);
        const heights = reach.heights, after = Math.max(1, heights.findIndex(([along]) => along >= distance));
        const [[begin, low], [end, high]] = [heights[after - 1], heights[after]];
        const hasLevels = low !== null && high !== null;
        const height = hasLevels && low + (end > begin ? (distance - begin) / (end - begin) : 0) * (high - low);
        return [
            `${reach.name} ${planText.station(distance)}`,
            isBored ? `bored, line at the depth of a cut of ${stretch.cut}` : `cut ${stretch.cut}`,
            ...stretch.covers.map(([line, cover]) => `cover ${cover} ${line}`),
            hasLevels ? `ground ${planText.length(height)}` : "no level here",
        ].join("; ");
    }

    function say(text) {
        onMap.textContent = text;
        onMap.hidden = !text;
    }

    function show(reach, distance) {
        clear();
        const text = words(reach, distance);
        dot.setLatLng(planGround.placeAt(reach, distance)).addTo(planMap);
        say(text);
        const drawing = profiles.get(reach.name), frame = drawing.parentElement;
        const x = Number(drawing.dataset.left) + distance * Number(drawing.dataset.perM);
        mark(drawing, x);
        if (x < frame.scrollLeft + EDGE_PX) frame.scrollLeft = x - EDGE_PX;
        if (x > frame.scrollLeft + frame.clientWidth - EDGE_PX) frame.scrollLeft = x - frame.clientWidth + EDGE_PX;
        frame.setAttribute("aria-valuenow", (distance / planData.units.unit_m).toFixed(1));
        frame.setAttribute("aria-valuetext", text);
        frame.nextElementSibling.textContent = text;
    }

    function clear() {
        dot.remove();
        say("");
        for (const drawing of profiles.values()) {
            mark(drawing, -9);
            drawing.parentElement.nextElementSibling.textContent = "";
        }
    }

    function mark(drawing, x) {
        const pointer = drawing.querySelector(".pointer");
        pointer.setAttribute("x1", x);
        pointer.setAttribute("x2", x);
    }

    for (const [name, drawing] of profiles) {
        const reach = planData.reaches.find((each) => each.name === name);
        const follow = (event) => {
            const x = event.clientX - drawing.getBoundingClientRect().left;
            const distance = (x - Number(drawing.dataset.left)) / Number(drawing.dataset.perM);
            isFromMap = false;
            if (distance >= 0 && distance <= reach.length_m) show(reach, distance);
        };
        drawing.addEventListener("pointerdown", follow);
        drawing.addEventListener("pointermove", follow);
        drawing.addEventListener("pointerleave", (event) => {
            if (event.pointerType === "mouse") clear();
        });
        drawing.parentElement.addEventListener("keydown", (event) => step(event, reach));
    }

    function step(event, reach) {
        const { unit_m: unit, interval } = planData.units, now = Number(event.currentTarget.getAttribute("aria-valuenow")) * unit;
        const by = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: interval, PageDown: -interval,
            Home: -Infinity, End: Infinity }[event.key];
        if (event.key === "Escape") clear();
        if (by === undefined) return;
        event.preventDefault();
        isFromMap = false;
        show(reach, Math.min(Math.max(now + by * unit, 0), reach.length_m));
    }

    function fromMap({ latlng }) {
        if (planMap.getContainer().closest(".measuring")) return;
        const found = planGround.nearest(latlng);
        if (found.away <= NEAR_PX) {
            isFromMap = true;
            show(found.reach, found.distance);
        } else if (isFromMap) {
            isFromMap = false;
            clear();
        }
    }

    planMap.on("mousemove click", fromMap);
    return { show, clear, say };
})();
