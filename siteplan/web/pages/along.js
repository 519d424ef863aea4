// Places along a trench: {name, length_m, places: [[distance, longitude, latitude]], ...}, as the map page has them too.

export function placeAt(reach, distance) {
    const { places } = reach;
    const found = places.findIndex(([along]) => along >= distance);
    const after = found < 0 ? places.length - 1 : Math.max(1, found);
    const [end, endLongitude, endLatitude] = places[after];
    const [begin, longitude, latitude] = places[after - 1];
    const part = end > begin ? Math.min(1, (distance - begin) / (end - begin)) : 0;
    return [longitude + part * (endLongitude - longitude), latitude + part * (endLatitude - latitude)];
}

// The stretch between two distances as places, with its bends.
export function between(reach, from, to) {
    const bends = reach.places.filter(([along]) => along > from && along < to).map(([, ...place]) => place);
    return [placeAt(reach, from), ...bends, placeAt(reach, to)];
}

// How far along a line of places [longitude, latitude] a place lies, on the screen: {part, away [px]}. `part` counts sides.
export function nearestOn(line, place, project) {
    const at = project(place);
    const points = line.map(project);
    let best = { part: 0, away: Infinity };
    for (let n = 1; n < points.length; n += 1) {
        const way = points[n].subtract(points[n - 1]);
        const off = at.subtract(points[n - 1]);
        const square = way.x ** 2 + way.y ** 2;
        const part = square ? Math.min(1, Math.max(0, (off.x * way.x + off.y * way.y) / square)) : 0;
        const away = at.distanceTo(points[n - 1].add(way.multiplyBy(part)));
        if (away < best.away) best = { part: n - 1 + part, away };
    }
    return best;
}

// The trench nearest to a place on the screen: {reach, distance, away}; null if there is none.
export function nearest(reaches, place, project) {
    let best = null;
    for (const reach of reaches) {
        const { part, away } = nearestOn(reach.places.map(([, ...at]) => at), place, project);
        const side = Math.min(Math.floor(part), reach.places.length - 2);
        const [begin, end] = [reach.places[side][0], reach.places[side + 1][0]];
        if (!best || away < best.away) best = { reach, away, distance: begin + (part - side) * (end - begin) };
    }
    return best;
}

// "1+35.5", as the sheets print it.
export function station(reach, distance) {
    const tenths = Math.max(0, Math.floor(distance / reach.unit_m * 10 + 0.5 + 1e-9));
    const whole = Math.floor(tenths / (reach.full * 10));
    const rest = (tenths - whole * reach.full * 10) / 10;
    return `${whole}+${rest.toFixed(1).padStart(String(reach.full).length + 1, "0")}`;
}

// What is read at a distance: station, cut, cover of each line, and a crossing if one is near.
export function reading(reach, distance) {
    const stretch = reach.stretches.find((each) => distance <= each.to_m) ?? reach.stretches.at(-1);
    const bored = reach.bored.some(([from, to]) => distance >= from && distance <= to);
    const crossing = reach.crossings.find(({ at_m: at }) => Math.abs(at - distance) < reach.unit_m);
    return [
        `${reach.name} ${station(reach, distance)}`,
        bored ? `bored, at the depth of a cut of ${stretch.cut}` : `cut ${stretch.cut}`,
        ...stretch.covers.map(([line, cover]) => `cover ${cover} ${line}`),
        ...(crossing ? [crossing.words] : []),
    ].join("; ");
}
