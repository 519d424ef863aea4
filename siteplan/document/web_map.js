"use strict";

{
    const plan = JSON.parse(document.getElementById("plan-data").textContent);
    const frame = document.getElementById("plan-map");
    const popup = L.popup({ autoPanPadding: [12, 12] });
    const shapesByRef = new Map();
    planShapes.eachLayer((shape) => {
        const { ref } = shape.feature.properties;
        if (!ref) return;
        shapesByRef.set(ref, [...(shapesByRef.get(ref) ?? []), shape]);
        shape.on("click", (event) => openCard(ref, event.latlng));
    });

    // Cards: a title, and rows of term and text. Texts are put in as text, never as HTML.
    function cardElement({ title, rows, url }) {
        const card = element("div", "card");
        const list = element("dl");
        for (const [term, text] of rows) {
            list.append(element("dt", "", term), element("dd", term === "Verdict" ? "verdict" : "", text));
        }
        card.append(element("h4", "", title), list);
        if (url) {
            const link = element("a", "", url);
            link.href = url;
            link.target = "_blank";
            link.rel = "noopener noreferrer";
            card.append(link);
        }
        return card;
    }

    function element(tag, classes = "", text = "") {
        const made = document.createElement(tag);
        if (classes) made.className = classes;
        made.textContent = text;
        return made;
    }

    function openCard(ref, at) {
        choose(ref);
        openAt(cardElement(plan.cards[ref]), at);
    }

    function openAt(content, at) {
        const { x: width, y: height } = planMap.getSize();
        popup.options.minWidth = popup.options.maxWidth = Math.min(420, width - 60);
        popup.options.maxHeight = Math.max(160, height * 0.6);
        popup.setLatLng(at).setContent(content).openOn(planMap);
    }

    function choose(ref) {
        document.querySelectorAll("#plan-map .chosen").forEach((shape) => shape.classList.remove("chosen"));
        for (const shape of shapesByRef.get(ref) ?? []) {
            switchOn(shape);
            shape.getElement()?.classList.add("chosen");
        }
    }

    function switchOn(shape) {
        const group = /group-(\S+)/.exec(shape.feature.properties.look)[1];
        const box = document.querySelector(`[data-group="${group}"]`);
        if (!box.checked) box.click();
    }

    function boundsOf(ref) {
        const shapes = shapesByRef.get(ref) ?? [];
        return shapes.length ? L.featureGroup(shapes).getBounds() : null;
    }

    function bringIntoView(bounds) {
        if (planMap.getBounds().contains(bounds)) return;
        const zoom = Math.min(planMap.getZoom(), planMap.getBoundsZoom(bounds.pad(0.3)));
        planMap.setView(bounds.getCenter(), zoom, { animate: false });
    }

    // The verdict table opens its card below the row; all else opens it on the map.
    document.getElementById("sheet").addEventListener("click", (event) => {
        const row = event.target.closest("tr");
        const button = event.target.closest("[data-ref]") ?? row?.querySelector("[data-ref]");
        if (!button || event.target.closest("a, .card")) return;
        const { ref } = button.dataset, bounds = boundsOf(ref);
        if (bounds) bringIntoView(bounds);
        if (button.classList.contains("circle")) {
            planMap.closePopup();
            choose(ref);
            toggleCardRow(button, row);
        } else if (bounds) {
            openCard(ref, bounds.getCenter());
        }
    });

    function toggleCardRow(button, row) {
        const isOpen = button.getAttribute("aria-expanded") === "true";
        document.querySelectorAll("tr.card-row").forEach((open) => open.remove());
        document.querySelectorAll("[aria-expanded]").forEach((open) => open.setAttribute("aria-expanded", "false"));
        document.querySelectorAll("tr.chosen-row").forEach((open) => open.classList.remove("chosen-row"));
        if (isOpen) return;
        const below = element("tr", "card-row"), cell = element("td");
        cell.colSpan = row.cells.length;
        cell.append(cardElement(plan.cards[button.dataset.ref]));
        below.append(cell);
        row.after(below);
        row.classList.add("chosen-row");
        button.setAttribute("aria-expanded", "true");
    }

    // Groups.
    for (const box of document.querySelectorAll("[data-group]")) {
        const apply = () => {
            frame.classList.toggle(`hide-${box.dataset.group}`, !box.checked);
            planLettering.draw();
        };
        box.addEventListener("change", apply);
        frame.classList.toggle(`hide-${box.dataset.group}`, !box.checked);
    }

    // Views and stations.
    const answer = document.querySelector("#go-to output");
    const dot = L.circleMarker([0, 0], { radius: 9, className: "here", interactive: false });

    for (const button of document.querySelectorAll("[data-view]")) {
        button.addEventListener("click", () => fit(button.dataset.view));
    }

    function fit(view) {
        const [west, south, east, north] = plan.views[view];
        planMap.fitBounds([[south, west], [north, east]], { padding: [24, 24], animate: false, maxZoom: 22 });
    }

    document.getElementById("go-to").addEventListener("submit", (event) => {
        event.preventDefault();
        answer.textContent = goTo(document.getElementById("station").value.trim());
    });

    function goTo(text) {
        const match = /^(?:(\S.*?)\s+)?(\d+)\+(\d+(?:\.\d+)?)$/.exec(text);
        if (!match) return "Write a station such as 1+35, or A 0+20 on a branch.";
        const [, name = plan.reaches[0].name, whole, rest] = match;
        const reach = plan.reaches.find((each) => each.name.toLowerCase() === name.toLowerCase());
        if (!reach) return `There is no trench ${name}.`;
        const distance = (Number(whole) * plan.station.full + Number(rest)) * plan.station.unit_m;
        if (distance > reach.length_m + plan.station.unit_m / 10) return `${reach.name} ends before ${whole}+${rest}.`;
        const at = placeAt(reach, distance);
        const stretch = reach.stretches.find((each) => distance <= each.to_m) ?? reach.stretches.at(-1);
        bringIntoView(L.latLngBounds([at, at]));
        dot.setLatLng(at).addTo(planMap);
        const card = plan.cards[stretch.ref];
        openAt(cardElement({ ...card, title: `${reach.name} ${whole}+${rest}` }), at);
        return "";
    }

    function placeAt(reach, distance) {
        const after = Math.max(1, reach.places.findIndex(([along]) => along >= distance));
        const [end, endLng, endLat] = reach.places[distance > reach.length_m ? reach.places.length - 1 : after];
        const [begin, lng, lat] = reach.places[(distance > reach.length_m ? reach.places.length - 1 : after) - 1];
        const part = Math.min(1, (distance - begin) / (end - begin));
        return L.latLng(lat + part * (endLat - lat), lng + part * (endLng - lng));
    }

    // The pointer on a profile moves a mark on the map.
    for (const drawing of document.querySelectorAll("svg.profile")) {
        const reach = plan.reaches.find((each) => each.name === drawing.dataset.reach);
        const pointer = drawing.querySelector(".pointer");
        drawing.addEventListener("pointermove", (event) => {
            const x = event.clientX - drawing.getBoundingClientRect().left;
            const distance = (x - Number(drawing.dataset.left)) / Number(drawing.dataset.perM);
            if (distance < 0 || distance > reach.length_m) return;
            pointer.setAttribute("x1", x);
            pointer.setAttribute("x2", x);
            dot.setLatLng(placeAt(reach, distance)).addTo(planMap);
        });
        drawing.addEventListener("pointerleave", () => {
            pointer.setAttribute("x1", -9);
            pointer.setAttribute("x2", -9);
            dot.remove();
        });
    }

    const NorthArrow = L.Control.extend({
        options: { position: "topright" },
        onAdd() {
            const box = element("div", "north-arrow");
            box.append(document.getElementById("north").content.cloneNode(true));
            return box;
        },
    });
    new NorthArrow().addTo(planMap);

    // On paper the map has a size of its own, and all that is folded is opened.
    const paper = window.matchMedia("print");
    let wasFolded = [];
    paper.addEventListener("change", () => toPaper(paper.matches));
    window.addEventListener("beforeprint", () => toPaper(true));
    window.addEventListener("afterprint", () => toPaper(false));

    function toPaper(isPaper) {
        if (document.body.classList.contains("on-paper") === isPaper) return;
        document.body.classList.toggle("on-paper", isPaper);
        if (isPaper) wasFolded = Array.from(document.querySelectorAll("details:not([open])"));
        wasFolded.forEach((folded) => { folded.open = isPaper; });
        planMap.closePopup();
        planMap.invalidateSize({ animate: false });
        fit("work");
    }

    new ResizeObserver(() => planMap.invalidateSize({ animate: false })).observe(frame);
    planLettering.start(plan, openCard);
}
