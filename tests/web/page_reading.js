// What hinders somebody who reads or reaches the page as it stands now: one line for each fault.
() => {
    const phone = matchMedia("(pointer: coarse)").matches;
    const seen = (box) => box.checkVisibility({ visibilityProperty: true, opacityProperty: true });
    const inside = (box, words) => box.closest(words);
    const short = (box) => box.outerHTML.slice(0, 140).replace(/\s+/g, " ");
    const faults = [];
    const fault = (what, box) => faults.push(`${what}: ${short(box)}`);

    const shade = (colour) => {
        const [red, green, blue] = colour.match(/[\d.]+/g).map(Number).map((part) => {
            const share = part / 255;
            return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4;
        });
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue;
    };
    const behind = (box) => {
        for (let at = box; at; at = at.parentElement) {
            const colour = getComputedStyle(at).backgroundColor;
            if (colour !== "rgba(0, 0, 0, 0)") return colour;
        }
        return "rgb(255, 255, 255)";
    };
    const contrast = (one, other) => {
        const [light, dark] = [shade(one), shade(other)].sort((a, b) => b - a);
        return (light + 0.05) / (dark + 0.05);
    };

    const all = [...document.querySelectorAll("body *")].filter(seen);
    const holdsText = (box) => [...box.childNodes].some((part) => part.nodeType === 3 && part.data.trim());
    for (const box of all.filter((one) => holdsText(one) || one.matches("input, select, textarea"))) {
        const style = getComputedStyle(box);
        const px = parseFloat(style.fontSize) * (box instanceof SVGElement ? box.getScreenCTM()?.a ?? 1 : 1);
        if (px < 13.99) fault(`${px.toFixed(1)} px`, box);
        const ink = box instanceof SVGElement ? style.fill : style.color;
        if (contrast(ink, behind(box)) < 4.5 && !box.disabled) fault("faint", box);
        if (box.placeholder && contrast(getComputedStyle(box, "::placeholder").color, behind(box)) < 4.5) fault("faint example", box);
    }

    const named = (box) => {
        const by = box.getAttribute("aria-labelledby")?.split(" ").map((id) => document.getElementById(id).textContent).join(" ");
        const own = box.getAttribute("aria-label") ?? by ?? [...(box.labels ?? [])].map((label) => label.textContent).join(" ");
        return (own || (box.matches("input, select, textarea") ? "" : box.textContent)).replace(/\s+/g, " ").trim();
    };
    // Two of one name are told apart by what they stand in, if that has a name of its own.
    const around = (box) => {
        const names = [];
        for (let at = box.parentElement; at; at = at.parentElement) {
            const head = at.matches("fieldset") ? at.querySelector("legend")
                : at.matches("details") ? at.querySelector("summary")
                : at.matches("section, li, form, [role=group]") ? at.querySelector("h2, h3, h4") : null;
            if (head && !head.contains(box)) names.push(head.textContent.trim());
            if (at.matches("[role=group], section") && at.getAttribute("aria-label")) names.push(at.getAttribute("aria-label"));
        }
        return names.join(" < ");
    };
    const controls = all.filter((box) => box.matches("a[href], button, input, select, textarea, summary, [tabindex='0']"));
    const known = new Map();
    for (const box of controls) {
        if (inside(box, "#map") && !box.matches("button, a")) {
            if (!named(box)) fault("no name", box);
            continue;
        }
        const name = named(box);
        if (!name) fault("no name", box);
        const whole = `${name} < ${around(box)}`;
        if (known.has(whole)) fault(`the name "${whole}" twice`, box);
        known.set(whole, box);
        if (box.tabIndex > 0) fault("before its turn", box);
    }

    const wide = document.documentElement.clientWidth;
    if (document.documentElement.scrollWidth > wide) faults.push(`${document.documentElement.scrollWidth} px wide`);
    for (const box of all.filter((one) => !inside(one, "#map, svg"))) {
        const { right, left, width } = box.getBoundingClientRect();
        if (width > 1 && (right > wide + 1 || left < -1)) fault(`reaches from ${left.toFixed()} to ${right.toFixed()} of ${wide} px`, box);
        const clipped = box.scrollWidth > box.clientWidth + 1 && getComputedStyle(box).overflowX === "auto" && box.matches("section, #panel, [role=tabpanel]");
        if (clipped) fault("must be pushed aside to be read", box);
    }

    if (phone) for (const box of controls.filter((one) => !inside(one, "#map"))) {
        const inSentence = box.matches("p > a, li > a, td a");
        const target = box.matches("[type=checkbox], [type=radio]") ? box.labels[0] ?? box : box;
        const { width, height } = target.getBoundingClientRect();
        if (!inSentence && Math.min(width, height) < 23.9) fault(`${width.toFixed()} by ${height.toFixed()} px to touch`, box);
    }

    // Words of drawing programs; "edge" is left out, for "nearest edge" is the trade's own. And what nobody may promise.
    const avoided = /^(node|polygon|layer|feature|snap|buffer|vertex|vertices|compliant|compliance|safe|safely)(s|ed|ping|ped)?$/;
    const told = [document.body.innerText, ...all.flatMap((box) => ["placeholder", "aria-label", "title"].map((key) => box.getAttribute(key) ?? ""))];
    for (const words of told) for (const match of words.toLowerCase().matchAll(/[\p{L}]+/gu)) {
        if (avoided.test(match[0])) faults.push(`the word "${match[0]}": ${words.slice(Math.max(0, match.index - 60), match.index + 60).replace(/\s+/g, " ")}`);
    }
    return faults;
}
