"use strict";

{
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
        const card = planElement("div", "card");
        const list = planElement("dl");
        for (const [term, text] of rows) {
            list.append(planElement("dt", "", term), planElement("dd", term === "Verdict" ? "verdict" : "", text));
        }
        card.append(planElement("h4", "", title), list);
        if (url) {
            const link = planElement("a", "", url);
            link.href = url;
            link.target = "_blank";
            link.rel = "noopener noreferrer";
            card.append(link);
        }
        return card;
    }

    function openCard(ref, at) {
        if (planDistances.isOn()) return;
        choose(ref);
        openAt(cardElement(planData.cards[ref]), at);
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

    document.querySelectorAll("#verdicts .circle").forEach((button) => button.setAttribute("aria-expanded", "false"));

    function toggleCardRow(button, row) {
        const isOpen = button.getAttribute("aria-expanded") === "true";
        document.querySelectorAll("tr.card-row").forEach((open) => open.remove());
        document.querySelectorAll("[aria-expanded]").forEach((open) => open.setAttribute("aria-expanded", "false"));
        document.querySelectorAll("tr.chosen-row").forEach((open) => open.classList.remove("chosen-row"));
        if (isOpen) return;
        const below = planElement("tr", "card-row"), cell = planElement("td");
        cell.colSpan = row.cells.length;
        cell.append(cardElement(planData.cards[button.dataset.ref]));
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

    // Views, and what is looked for.
    for (const button of document.querySelectorAll("[data-view]")) {
        button.addEventListener("click", () => fit(button.dataset.view));
    }

    function fit(view) {
        const [west, south, east, north] = planData.views[view];
        planMap.fitBounds([[south, west], [north, east]], { padding: [24, 24], animate: false, maxZoom: 22 });
    }

    document.getElementById("go-to").addEventListener("submit", (event) => {
        event.preventDefault();
        const found = planFind(document.getElementById("station").value.trim());
        document.querySelector("#go-to output").textContent = found.answer ?? "";
        if (found.reach) {
            const at = planGround.placeAt(found.reach, found.distance);
            const stretch = found.reach.stretches.find((each) => found.distance <= each.to_m) ?? found.reach.stretches.at(-1);
            bringIntoView(L.latLngBounds([at, at]));
            planPointer.show(found.reach, found.distance);
            openAt(cardElement({ ...planData.cards[stretch.ref], title: found.title }), at);
        } else if (found.ref) {
            bringIntoView(boundsOf(found.ref));
            openCard(found.ref, boundsOf(found.ref).getCenter());
        }
    });

    document.addEventListener("keydown", (event) => {
        if (event.key === "Escape") planMap.closePopup();
    });

    // A thinner drawing where the map is small, so that its parts can be told apart.
    function fitLines() {
        const isSmall = planMap.getSize().x < 600;
        frame.classList.toggle("small", isSmall);
        planShapes.eachLayer((shape) => shape.setRadius?.(isSmall ? 3.5 : 5));
    }
    planMap.on("resize", fitLines);
    fitLines();

    document.getElementById("sun").addEventListener("change", (event) => {
        document.body.classList.toggle("sun", event.target.checked);
        planMap.invalidateSize({ animate: false });
        planLettering.draw();
    });
    if (window.matchMedia("(prefers-contrast: more)").matches) document.getElementById("sun").click();

    const NorthArrow = L.Control.extend({
        options: { position: "topright" },
        onAdd() {
            const box = planElement("div", "north-arrow");
            box.append(document.getElementById("north").content.cloneNode(true));
            return box;
        },
    });
    new NorthArrow().addTo(planMap);

    // On paper the map has a size and a view of its own; the reader's comes back after it.
    const paper = window.matchMedia("print");
    let onScreen = null;
    paper.addEventListener("change", () => toPaper(paper.matches));
    window.addEventListener("beforeprint", () => toPaper(true));
    window.addEventListener("afterprint", () => toPaper(false));

    function toPaper(isPaper) {
        if (document.body.classList.contains("on-paper") === isPaper) return;
        if (isPaper) onScreen = [planMap.getCenter(), planMap.getZoom()];
        document.body.classList.toggle("on-paper", isPaper);
        planPointer.clear();
        planMap.closePopup();
        planMap.invalidateSize({ animate: false });
        if (isPaper) fit("work");
        else planMap.setView(...onScreen, { animate: false });
    }

    planMap.getContainer().setAttribute("role", "region");
    planMap.getContainer().setAttribute("aria-label", "Map. All that it shows stands in the lists beside it.");
    new ResizeObserver(() => planMap.invalidateSize({ animate: false })).observe(frame);
    planLettering.start(planData, openCard);
}
