// Names beside things: each on the first side where there is room inside the map, hidden where there is none. They come back
// when the map is drawn larger.

export const SIDES = {
    point: ["right", "left", "bottom", "top"],
    line: ["center", "right", "left", "bottom", "top"],
    area: ["center", "bottom", "right", "left", "top"],
};

const BESIDE_MARK = { right: [10, 0], left: [10, 0], bottom: [0, 10], top: [0, -10] };

// `things` are {layer, sort, rank}; those of the lowest rank choose first, those without a rank have no name to place.
export function placeNames(container, things) {
    const whole = container.getBoundingClientRect();
    const marks = container.querySelectorAll(".mark, .number.crossing, .size, .bar-scale, .leaflet-control-zoom");
    const taken = [...marks].map((mark) => mark.getBoundingClientRect());
    const named = things.filter(({ rank }) => rank !== null);
    for (const { layer, sort } of named.sort((one, other) => one.rank - other.rank)) {
        const name = layer.getTooltip();
        const box = name.getElement();
        if (!box) continue;
        const free = SIDES[sort].some((side) => {
            name.options.direction = side;
            if (sort === "point") name.options.offset = L.point(BESIDE_MARK[side]);
            name.update();
            const here = box.getBoundingClientRect();
            if (!inside(here, whole) || taken.some((other) => overlap(here, other))) return false;
            taken.push(here);
            return true;
        });
        box.classList.toggle("no-room", !free);
    }
}

function overlap(one, other) {
    return one.left < other.right && other.left < one.right && one.top < other.bottom && other.top < one.bottom;
}

// Wholly inside, or wholly outside, where it is in nobody's way.
function inside(one, whole) {
    return !overlap(one, whole) || (one.left >= whole.left && one.right <= whole.right && one.top >= whole.top && one.bottom <= whole.bottom);
}
