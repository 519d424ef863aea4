// The lines to lay as cards: what each carries, from where to where, in which pipe or conduit.

import { desk } from "./desk.js";
import { button, element, wrap } from "./element.js";
import { blank, capital, entry, refusal, refusedIn, typedIn } from "./lines_field.js";
import { words } from "./lines_words.js";

const CARRIES = { water: "Water", electric: "Power", communications: "Communications" };
const FACTS = {
    volts: { label: "Volts", example: "240 V" },
    amps: { label: "Amps", example: "20 A" },
    gfci: { label: "GFCI protected?" },
    dwelling: { label: "Does it serve a dwelling?" },
    suction: { label: "Is it a suction line?" },
};
const SIDES = ["north", "east", "south", "west"];
const USUAL = { ft: { water: "pe-1-ips", electric: "pvc-1" }, m: { water: "pe-32-mm", electric: "pvc-25-mm" } };

const asNamed = (things) => things.map((thing) => [thing.id, things.filter(({ name }) => name === thing.name).length > 1 ? `${thing.name} (${thing.id})` : thing.name]);

export function cards() {
    const { lines } = words;
    if (!lines.length) return [element("p", { text: "No line yet. Add the first one below." })];
    return [...inPlaceOf(), ...lines.map((line, number) => card(line, number))];
}

// What lines start from or end at and nobody has drawn: one press puts something drawn in its place, in all of them.
function inPlaceOf() {
    if (!desk.ground) return [];
    const named = words.lines.flatMap((line, number) => ["from", "to"].map((key) => ({ line, at: [...place(line, number), key], key, id: line[key] })));
    const known = new Set(["cheapest", undefined, ...[...words.things, ...words.lines].map(({ id }) => id)]);
    const missing = new Set(named.map(({ id }) => id).filter((id) => !known.has(id)));
    return [...missing].map((id) => {
        const uses = named.filter((one) => one.id === id);
        const options = uses.some(({ key }) => key === "from") ? starts(uses[0].line) : ends();
        const label = `In place of “${id}”`;
        const select = blank(["instead", id], { key: "instead", sort: "choice", options, required: true, label }, "");
        const put = () => {
            const to = select.entered();
            if (to) words.change(uses.map(({ at }) => ({ do: "set", at, to })), `${nameOf(to)} in place of ${id}`, ["instead", id]);
        };
        const text = `“${id}” is not drawn, and ${uses.length === 1 ? "a line names" : `${uses.length} lines name`} it. Draw it, or put something else in its place.`;
        return wrap("div", [element("p", { className: "fault", text }), wrap("div", [select, button("Put it there", put)], "row"), ...refusal(["instead", id])], "card");
    });
}

// A line is addressed by its id as long as it has one of its own.
function place(line, number) {
    const own = typeof line.id === "string" && words.lines.filter(({ id }) => id === line.id).length === 1;
    return ["line", own ? line.id : number];
}

function card(line, number) {
    const at = place(line, number);
    const title = line.name || line.id || "Unnamed line";
    const set = (key, more = {}) => entry([...at, key], words.field("line", key), line[key], { help: "", ...more });
    const head = element("h3", { id: `card-${at[1]}-head`, text: `${number + 1}. ${title}` });
    const summary = wrap("summary", [head, element("span", { className: "told", text: told(line) }), ...undrawn(line).map((text) => element("span", { className: "fault", text }))]);
    const body = wrap("div", [
        wrap("div", [
            set("carries", { edits: (value) => carryOther(at, line, value) }),
            set("from", { sort: "choice", options: starts(line), strange: "not drawn" }),
            set("to", { sort: "choice", options: ends(), strange: "not drawn" }),
            set("product", { options: products(line.carries) }),
            ...(line.carries === "electric" || line.method ? [set("method", methodOf(line))] : []),
            ...facts(at, line),
            set("cover", { help: "The deeper of this and the rules governs" }),
            set("name"),
        ], "facts"),
        more(at, line, set),
        ...refusal(at),
        tools(at, number, title),
    ]);
    const box = element("details", { id: `card-${at[1]}`, className: "card" });
    box.append(summary, body);
    if (refusedIn(at) || words.state.faults.some((fault) => fault.at[0] === "line" && fault.at[1] === number)) box.open = true;
    return box;
}

function told(line) {
    const from = line.from === "cheapest" ? "wherever it is cheapest" : nameOf(line.from);
    const product = words.products.find(({ id }) => id === line.product)?.name ?? line.product ?? "not chosen";
    const tees = words.lines.some(({ id }) => id === line.from);
    return `${CARRIES[line.carries] ?? "?"} ${tees ? "off" : "from"} ${from} to ${nameOf(line.to)}; ${product}.`;
}

function nameOf(id) {
    const found = words.things.find((thing) => thing.id === id) ?? words.lines.find((line) => line.id === id);
    return found?.name ?? found?.id ?? id ?? "?";
}

// What the line names and nobody has drawn, once the drawing is read.
function undrawn(line) {
    if (!desk.ground) return [];
    const known = new Set([...words.things, ...words.lines].map(({ id }) => id));
    const named = [line.from === "cheapest" ? undefined : line.from, line.to, ...(line.through ?? []), line.drawn];
    return named.filter((id) => id !== undefined && !known.has(id)).map((id) => `“${id}” is not drawn. Draw it, or choose another.`);
}

function starts(line) {
    const carries = line.carries ?? "water";
    const tees = words.lines.filter((other) => other.carries === carries && other.id !== line.id);
    const drawn = words.things.filter(({ kind }) => words.starts.includes(kind));
    const wells = drawn.filter(({ kind }) => kind === "well");
    const there = drawn.filter((thing) => thing.kind === "buried_line" && thing.carries === carries);
    const other = drawn.filter(({ kind }) => kind !== "well" && kind !== "buried_line");
    return [
        ["Well", asNamed(wells)],
        ["Tee on another line to lay", tees.map((tee) => [tee.id, tee.name ?? tee.id])],
        ["Line already there", asNamed(there)],
        ["Building or other", asNamed(other)],
        ["Or", [["cheapest", "where it is cheapest: the plan chooses"]]],
    ];
}

function ends() {
    return words.ends.filter((kind) => words.things.some((thing) => thing.kind === kind)).map((kind) => [
        capital(words.kinds[kind] ?? kind), asNamed(words.things.filter((thing) => thing.kind === kind)),
    ]);
}

const fitting = (carries) => words.products.filter((product) => !carries || product.carries.includes(carries));
const products = (carries) => fitting(carries).map(({ id, name }) => [id, name]);

function usualProduct(carries) {
    const usual = USUAL[words.values.site?.units === "m" ? "m" : "ft"][carries];
    return fitting(carries).find(({ id }) => id === usual)?.id ?? fitting(carries)[0].id;
}

function methodOf(line) {
    const methods = [...new Set(fitting(line.carries).map(({ method }) => method).filter(Boolean))];
    const own = words.products.find(({ id }) => id === line.product)?.method;
    return { sort: "choice", options: methods.map((method) => [method, method.replaceAll("_", " ")]), usual: own?.replaceAll("_", " ") };
}

// Facts that rules of this site read of such a line, and those that are stated anyway.
function facts(at, line) {
    const asked = words.state.asked[line.carries] ?? (line.carries === "electric" ? ["volts", "amps", "gfci"] : []);
    return Object.keys(FACTS).filter((key) => asked.includes(key) || line[key] !== undefined).map((key) => {
        const sort = words.lineFacts[key] === "yes_no" ? "yes_no" : "text";
        const usual = key === "dwelling" ? "as its building" : undefined;
        const help = asked.includes(key) && line[key] === undefined && !usual ? "A rule asks for it" : "";
        return entry([...at, key], { key, sort, options: [], required: false, help, ...FACTS[key], usual }, line[key]);
    });
}

function carryOther(at, line, carries) {
    const edits = [{ do: "set", at: [...at, "carries"], to: carries }];
    if (!fitting(carries).some(({ id }) => id === line.product)) edits.push({ do: "set", at: [...at, "product"], to: usualProduct(carries) });
    for (const key of ["method", "volts", "amps", "gfci"]) {
        if (carries !== "electric" && line[key] !== undefined) edits.push({ do: "remove", at: [...at, key] });
    }
    return edits;
}

function more(at, line, set) {
    const box = element("details", { id: `card-${at[1]}-more` });
    const passes = words.things.filter(({ kind }) => kind === "pass_point").map(({ id }) => id);
    const routes = asNamed(words.things.filter(({ kind }) => kind === "drawn_route"));
    box.append(
        element("summary", { text: "Points to pass, sides, short name" }),
        wrap("div", [
            set("id", { edits: (value) => renamed(at, line, value) }),
            set("through", { help: passes.length ? `In order, with commas. Drawn: ${passes.join(", ")}` : "No point to pass is drawn." }),
            set("drawn", { sort: "choice", options: routes, strange: "not drawn" }),
        ], "facts"),
        sides(at, line),
    );
    return box;
}

// Another id goes into every line that tees off this one.
function renamed(at, line, id) {
    const tees = words.lines.map((other, number) => [other, number]).filter(([other]) => other.from === line.id);
    return [
        ...tees.map(([other, number]) => ({ do: "set", at: [...place(other, number), "from"], to: id })),
        { do: "set", at: [...at, "id"], to: id },
    ];
}

function sides(at, line) {
    const closed = new Set(line.closed_sides ?? []);
    const boxes = SIDES.map((side) => {
        const tick = element("input", { type: "checkbox", checked: closed.has(side), id: `entry-${at.join("-")}-${side}` });
        tick.addEventListener("change", () => {
            const now = SIDES.filter((one) => (one === side ? tick.checked : closed.has(one)));
            words.change([{ do: "set", at: [...at, "closed_sides"], to: now }], "Sides without an entry", at);
        });
        const label = element("label", {});
        label.append(tick, ` ${side}`);
        return label;
    });
    return wrap("fieldset", [element("legend", { text: "Sides of the building where it may not enter" }), ...boxes], "switches");
}

function tools(at, number, title) {
    const move = (text, to) => {
        const one = button(text, () => words.change([{ do: "move", at, to }], `${title} moved`, at));
        one.setAttribute("aria-label", `${text}: ${title}`);
        one.id = `card-${at[1]}-${text.toLowerCase()}`;
        one.disabled = to < 0 || to >= words.lines.length;
        return one;
    };
    const remove = button("Remove", () => words.change([{ do: "remove", at }], `${title} removed`, at));
    remove.setAttribute("aria-label", `Remove: ${title}`);
    remove.disabled = words.lines.length === 1;
    const why = remove.disabled ? [element("p", { className: "hint", text: "The only line: add another before you remove it." })] : [];
    return wrap("div", [wrap("p", [move("Earlier", number - 1), move("Later", number + 1), remove], "tools"), ...why]);
}

function freeId(wanted) {
    const taken = new Set([...words.things, ...words.lines].map(({ id }) => id));
    let id = wanted;
    for (let number = 2; taken.has(id); number += 1) id = `${wanted}-${number}`;
    return id;
}

function newLine(carries, from, to, product) {
    const values = { id: freeId(`${carries === "electric" ? "power" : carries}-${to}`), name: `${CARRIES[carries]} to ${nameOf(to)}`, carries };
    return { do: "add", table: "line", values: { ...values, from, to, product: product || usualProduct(carries) } };
}

// What a line is to be, typed before there is one.
export function addForm() {
    const carries = blank(["new", "carries"], words.field("line", "carries"), "water", { help: "" });
    const rest = element("div", { className: "facts" });
    const choose = (what) => rest.replaceChildren(
        blank(["new", "from"], words.field("line", "from"), "", { sort: "choice", options: starts({ carries: what }), help: "" }),
        blank(["new", "to"], words.field("line", "to"), "", { sort: "choice", options: ends(), help: "" }),
        blank(["new", "product"], words.field("line", "product"), usualProduct(what), { options: products(what), help: "" }),
    );
    const select = carries.querySelector("select");
    select.addEventListener("change", () => choose(select.value));
    choose("water");
    const add = () => {
        const { from, to, product } = typedIn(rest);
        const lacking = [["from", "From"], ["to", "To"]].find(([key]) => !{ from, to }[key]);
        if (lacking) return rest.querySelector(`[data-key="${lacking[0]}"] select`).focus();
        return words.change([newLine(select.value, from, to, product)], "a line added", ["new"]);
    };
    return [wrap("div", [carries], "facts"), rest, ...refusal(["new"]), wrap("p", [button("Add this line", add, "main")], "tools")];
}

// Water and power from the well to a building, with one press.
export function usualSet() {
    const well = words.things.find(({ kind }) => kind === "well");
    const buildings = words.things.filter(({ kind }) => kind === "building" || kind === "entry");
    if (!well || !buildings.length) return [element("p", { text: "Draw a well and a building; then water and power between them can be added here with one press." })];
    const to = blank(["usual", "to"], { key: "to", sort: "choice", options: asNamed(buildings), required: true, label: "Building" }, buildings[0].id);
    const add = () => {
        const end = to.entered();
        words.change([newLine("water", well.id, end), newLine("electric", well.id, end)], "water and power added", ["usual"]);
    };
    return [wrap("div", [to, button(`Add water and power from ${well.name}`, add)], "row"), ...refusal(["usual"])];
}
