"use strict";

// A station such as 1+35 or A 0+50, or a thing by its name.
const planFind = (() => {
    const MOST_NAMED = 4;

    // What is meant: a place on a trench, the card of a thing, or a line of words that says why neither.
    function find(text) {
        const match = /^(?:(.*?)[\s:]*)?\b(\d+)\+(\d+(?:\.\d+)?)$/.exec(text.replace(/^sta(?:tion)?\.?\s+/i, ""));
        return match ? station(match[1] || planData.reaches[0].name, match[2], match[3]) : named(text);
    }

    function station(name, whole, rest) {
        const reach = planData.reaches.find((each) => each.name.toLowerCase() === name.toLowerCase());
        if (!reach) return { answer: `There is no trench ${name}.` };
        const { full, unit_m: unit } = planData.units, distance = (Number(whole) * full + Number(rest)) * unit;
        if (distance > reach.length_m + unit / 10) return { answer: `${reach.name} ends before ${whole}+${rest}, at ${planText.station(reach.length_m)}.` };
        return { reach, distance: Math.min(distance, reach.length_m), title: `${reach.name} ${whole}+${rest}` };
    }

    function named(text) {
        const wanted = text.toLowerCase();
        const ways = [(name) => name === wanted, (name) => name.startsWith(wanted), (name) => name.includes(wanted)];
        const found = wanted && ways.map((fits) => planData.names.filter(([name]) => fits(name.toLowerCase()))).find((some) => some.length);
        if (!found) return { answer: "Nothing has this name. Write a station such as 1+35, A 0+20 on a branch, or the name of a thing." };
        if (found.length === 1) return { ref: found[0][1] };
        const first = found.slice(0, MOST_NAMED).map(([name]) => name).join(", ");
        return { answer: `${found.length} things fit: ${first}${found.length > MOST_NAMED ? " ..." : ""}. Write more of the name.` };
    }

    return find;
})();
