// Names beside things: each on the first side where there is room inside the map, hidden where there is none. They come back
// when the map is drawn larger. All boxes are worked out before any name is moved: the browser lays the page out once.

export const SIDES = {
    point: ["right", "left", "bottom", "top"],
    line: ["center", "right", "left", "bottom", "top"],
    area: ["center", "bottom", "right", "left", "top"],
};

const BESIDE_MARK = { right: [10, 0], left: [-10, 0], bottom: [0, 10], top: [0, -10] };
const MARGIN = { right: [6, 0], left: [-6, 0], bottom: [0, 6], top: [0, -6], center: [0, 0] };
// Of the name's width and height, so much lies left of and above its place.
const BACK = { right: [0, 0.5], left: [1, 0.5], bottom: [0.5, 0], top: [0.5, 1], center: [0.5, 0.5] };

const sizes = new WeakMap();
const placed = new WeakMap();

// `things` are {layer, sort, rank}; those of the lowest rank choose first, those without a rank have no name to place.
export function placeNames(map, things) {
    const container = map.getContainer();
    const whole = container.getBoundingClientRect();
    const marks = container.querySelectorAll(".mark, .number.crossing, .size, .bar-scale, .leaflet-control-zoom");
    const taken = [...marks].map((mark) => mark.getBoundingClientRect());
    const named = things.filter(({ rank }) => rank !== null).sort((one, other) => one.rank - other.rank);
    const found = named.map(({ layer, sort }) => ({ name: layer.getTooltip(), sort })).filter(({ name }) => name.getElement());
    for (const one of found) one.size = sizeOf(one.name.getElement());
    for (const one of found) {
        const at = map.latLngToContainerPoint(one.name.getLatLng());
        one.side = SIDES[one.sort].find((side) => {
            const here = boxAt(at, side, one, whole);
            if (!inside(here, whole) || taken.some((other) => overlap(here, other))) return false;
            taken.push(here);
            return true;
        });
    }
    for (const { name, sort, side } of found) {
        name.getElement().classList.toggle("no-room", !side);
        if (side && placed.get(name) !== side) put(name, sort, side);
    }
}

function sizeOf(box) {
    const words = box.textContent;
    if (sizes.get(box)?.words !== words) sizes.set(box, { words, width: box.offsetWidth, height: box.offsetHeight });
    return sizes.get(box);
}

function put(name, sort, side) {
    name.options.direction = side;
    if (sort === "point") name.options.offset = L.point(BESIDE_MARK[side]);
    name.update();
    placed.set(name, side);
}

// Where the map library would put a name: a box in the window.
function boxAt({ x, y }, side, { sort, size: { width, height } }, whole) {
    const [right, down] = sort === "point" ? BESIDE_MARK[side] : [0, 0];
    const left = whole.left + x + right + MARGIN[side][0] - BACK[side][0] * width;
    const top = whole.top + y + down + MARGIN[side][1] - BACK[side][1] * height;
    return { left, top, right: left + width, bottom: top + height };
}

function overlap(one, other) {
    return one.left < other.right && other.left < one.right && one.top < other.bottom && other.top < one.bottom;
}

// Wholly inside, or wholly outside, where it is in nobody's way.
function inside(one, whole) {
    return !overlap(one, whole) || (one.left >= whole.left && one.right <= whole.right && one.top >= whole.top && one.bottom <= whole.bottom);
}
