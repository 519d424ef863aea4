"use strict";

// Distances between points that are tapped on the map. By keyboard: the arrows move the map under a cross, Enter takes the point.
const planDistances = (() => {
    const FINGER_PX = 4;
    const frame = document.getElementById("plan-map"), map = planMap.getContainer();
    const [start, back, wipe] = ["tape-start", "tape-back", "tape-clear"].map((id) => document.getElementById(id));
    const list = document.getElementById("tape-list"), sum = document.getElementById("tape-sum"), help = document.getElementById("tape-help");
    const line = L.polyline([], { className: "tape", interactive: false }), marks = L.layerGroup();
    let points = [], isOn = false;

    function turn(on) {
        isOn = on;
        start.setAttribute("aria-pressed", String(on));
        frame.classList.toggle("measuring", on);
        help.hidden = !on;
        planMap.doubleClickZoom[on ? "disable" : "enable"]();
        planPointer.say("");
        if (!on) return;
        planMap.closePopup();
        planPointer.clear();
        line.addTo(planMap);
        marks.addTo(planMap);
        map.focus({ preventScroll: true });
        document.getElementById("tape").scrollIntoView({ block: "nearest" });
        draw();
    }

    function draw() {
        line.setLatLngs(points);
        marks.clearLayers();
        points.forEach((at) => L.circleMarker(at, { radius: 6, className: "tape-point", interactive: false }).addTo(marks));
        const legs = points.slice(1).map((to, n) => planGround.between(points[n], to));
        let total = 0, last = "";
        list.replaceChildren(...legs.map(({ length, bearing }) => {
            total += length;
            const toHere = legs.length > 1 ? `, ${planText.length(total)} to here` : "";
            last = `${planText.length(length)}, bearing ${Math.round(bearing) % 360}°${toHere}`;
            return planElement("li", "", last);
        }));
        if (isOn) planPointer.say(last);
        const good = planText.length(FINGER_PX * metresOfPixel());
        sum.textContent = legs.length ? `${planText.length(total)} in all, level, as drawn. A tap is good to ${good} at this scale; a tape decides.`
            : points.length ? "One point. Take the next." : "";
        back.disabled = wipe.disabled = !points.length;
    }

    function metresOfPixel() {
        const { x, y } = planMap.getSize().divideBy(2);
        return planGround.between(planMap.containerPointToLatLng([x, y]), planMap.containerPointToLatLng([x + 100, y])).length / 100;
    }

    function take(at) {
        if (points.length && points.at(-1).equals(at, 1e-9)) return;
        points.push(at);
        draw();
    }

    start.addEventListener("click", () => turn(!isOn));
    back.addEventListener("click", () => { points.pop(); draw(); });
    wipe.addEventListener("click", () => { points = []; draw(); });
    planMap.on("click", ({ latlng }) => { if (isOn) take(latlng); });
    map.addEventListener("keydown", (event) => {
        if (!isOn || event.target !== map) return;
        if (event.key === "Enter") take(planMap.getCenter());
        if (event.key === "Backspace") back.click();
        if (event.key === "Escape") turn(false);
    });
    draw();
    return { isOn: () => isOn };
})();

// Where the device says that it is, if the browser lets the page ask. Nothing leaves the page.
{
    const WHY = { 1: "The browser did not allow the page to ask where you are.", 2: "No position can be had here.", 3: "No position came in time." };
    const CAUTION = `A phone is good to ${planData.phone_good_to} at best, worse by walls and under trees: it is no tape. Never dig by it.`;
    const button = document.getElementById("where-button"), answer = document.getElementById("where-answer");
    const circle = L.circle([0, 0], { radius: 1, className: "you-error", interactive: false });
    const dot = L.circleMarker([0, 0], { radius: 7, className: "you", interactive: false });
    let watch = null;

    function stop(words = "") {
        if (watch !== null) navigator.geolocation.clearWatch(watch);
        watch = null;
        circle.remove();
        dot.remove();
        button.setAttribute("aria-pressed", "false");
        answer.textContent = words;
    }

    function put({ coords: { latitude, longitude, accuracy } }) {
        if (watch === null) return;
        const at = L.latLng(latitude, longitude), isFirst = !planMap.hasLayer(dot);
        const found = planGround.nearest(at), away = planGround.between(at, planGround.placeAt(found.reach, found.distance)).length;
        circle.setLatLng(at).setRadius(accuracy).addTo(planMap);
        dot.setLatLng(at).addTo(planMap);
        const isNear = away < 2 * planData.reaches[0].length_m + 1000;
        if (isFirst && isNear && !planMap.getBounds().contains(at)) planMap.setView(at, planMap.getZoom(), { animate: false });
        const trench = `${found.reach.name} ${planText.station(found.distance)}`;
        const where = isNear ? `${planText.length(away)} from ${trench}, the nearest of the trench.` : "You are not at this site.";
        answer.textContent = `Within ${planText.length(accuracy)} of the mark (95 %, as the device says). ${where} ${CAUTION}`;
    }

    button.addEventListener("click", () => {
        if (watch !== null) {
            stop();
        } else if (!navigator.geolocation) {
            stop("This browser gives no position to the page.");
        } else {
            button.setAttribute("aria-pressed", "true");
            answer.textContent = "Waiting for a position ...";
            watch = navigator.geolocation.watchPosition(put, (error) => stop(WHY[error.code] ?? WHY[2]),
                { enableHighAccuracy: true, timeout: 30000, maximumAge: 5000 });
        }
    });
}
