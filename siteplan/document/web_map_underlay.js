"use strict";

// Pictures under the map. Each hangs by three of its corners: over a site the map is a flat drawing of the ground.
{
    const pane = planMap.createPane("underlay");
    pane.classList.add("leaflet-zoom-hide");
    const hung = planData.underlays.map(({ name, source, width, height, corners }) => {
        const picture = planElement("img", "underlay");
        picture.alt = `Picture ${name}`;
        picture.draggable = false;
        picture.src = source;
        picture.style.width = `${width}px`;
        picture.style.height = `${height}px`;
        pane.append(picture);
        return { picture, width, height, corners };
    });

    function hang() {
        for (const { picture, width, height, corners } of hung) {
            const [start, right, down] = corners.map(([lng, lat]) => planMap.project([lat, lng]).subtract(planMap.getPixelOrigin()));
            const [a, b] = [(right.x - start.x) / width, (right.y - start.y) / width];
            const [c, d] = [(down.x - start.x) / height, (down.y - start.y) / height];
            picture.style.transform = `matrix(${a}, ${b}, ${c}, ${d}, ${start.x}, ${start.y})`;
        }
    }

    document.getElementById("plan-map").classList.toggle("over-picture", hung.length > 0);
    planMap.on("zoomend viewreset resize", hang);
    hang();
}
