"""The take-off and the price on paper: dirt, what to buy, what is put back, low to high, and what is not in it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

import shapely

from siteplan.check.finding import Verdict
from siteplan.document.cautions import unconfirmed
from siteplan.document.model import Plan
from siteplan.document.pages import LEAST_PT, SMALL_PT, TEXT_PT, Book, Flow, make_book
from siteplan.document.price_list import FOR_SCALE, alternative_words, rates_words, sharing_words
from siteplan.document.private_lines import not_located
from siteplan.document.rule_words import on_every_sheet
from siteplan.document.sheet import LETTER, Paper
from siteplan.document.table import Cell, Column, Row, Table
from siteplan.document.tables import amount
from siteplan.document.words import feature_name
from siteplan.measure.amounts import Quantity
from siteplan.measure.deeper import SIX_INCHES_M, dig
from siteplan.measure.prices import total
from siteplan.measure.suspected import suspected_lines
from siteplan.measure.torn_up import by_surface, torn_up
from siteplan.site.catalogue import surfaces
from siteplan.units import Printer, money

_PAD_PT = 1.0
_LARGE_PT, _SMALL_PT = TEXT_PT, SMALL_PT
"""Sizes of the rows, the larger that leaves it all on one page; what takes more pages is set large."""

_VOLUMES_ACROSS = 6
_PLACES = ("Trench, ", "Restore, ")
_MOST_NAMED = 6


def quantities_sheet(plan: Plan, paper: Paper = LETTER) -> bytes:
    """Print the take-off with its price.

    Parameters
    ----------
    plan : Plan
    paper : Paper
        Upright.

    Returns
    -------
    bytes
        A PDF, of one page if that can be read. The same plan gives the same bytes.
    """
    sheets, said = 0, [*left_out(plan)]
    deeper = _deeper(plan)

    def drawn(size: float) -> bytes:
        def draw(book: Book) -> None:
            nonlocal sheets
            _draw(Flow(book), plan, size, deeper=deeper, left_out=said)
            sheets = book.sheet

        return make_book(plan, "QUANTITIES AND PRICE", paper, draw)

    large = drawn(_LARGE_PT)
    if sheets == 1:
        return large
    small = drawn(_SMALL_PT)
    return small if sheets == 1 else large


def _draw(flow: Flow, plan: Plan, size: float, *, deeper: str, left_out: Sequence[str]) -> None:
    paper = plan.site.paper
    names = (("Owner", paper.owner), ("Contractor", paper.contractor), ("Phone", paper.phone))
    flow.text("   ".join(f"{what}: {name or '_' * 16}" for what, name in names), size=SMALL_PT)
    if said := on_every_sheet(plan):
        flow.text(" ".join(said), size=LEAST_PT)
    volumes = [row for row in plan.works.quantities if row.unit == "volume"]
    for n in range(0, len(volumes), _VOLUMES_ACROSS):
        flow.table(_dirt(plan, volumes[n : n + _VOLUMES_ACROSS], flow.width, size))
    flow.table(_items(plan, flow.width, size))
    _prices(flow, plan, size)
    words = [rates_words(plan), sharing_words(plan)] if plan.works.prices else []
    flow.text(_sentences([*words, deeper]), size=min(size, SMALL_PT))
    flow.heading("Not in the price", below=40)
    flow.columns(left_out, size=min(size, SMALL_PT))
    _other_ways(flow, plan, min(size, SMALL_PT))
    call = plan.requirements.locate.call or "the one-call centre"
    flow.text(
        f"Before anybody digs: call {call} and wait until every owner has answered.", size=size, bold=True
    )


def _dirt(plan: Plan, rows: Sequence[Quantity], width: float, size: float) -> Table:
    """Volumes side by side: in the bank, in the pile and compacted are three different numbers."""
    printer = Printer(plan.site.units)
    columns = tuple(Column(_dirt_head(row), 1.0, "right") for row in rows)
    cells = tuple(Cell(amount(row, row.amount, printer), size, bold=True) for row in rows)
    return Table(columns, [Row(cells)], width, pad=_PAD_PT)


def _dirt_head(row: Quantity) -> str:
    heads = {"Dig, in the pile": "Dig, loose in the pile", "Bedding": "Bedding, in place"}
    heads |= {"Backfill": "Backfill, bank measure", "Haul off": "Haul off, loose"}
    return heads.get(row.item, row.item)


def _items(plan: Plan, width: float, size: float) -> Table:
    """All that is not dirt in two columns: what, how much, and how it is sold."""
    rows = [row for row in plan.works.quantities if row.unit != "volume"]
    half = (len(rows) + 1) // 2
    printer = Printer(plan.site.units)
    cells = [(Cell(row.item, size), Cell(_amounts(row, printer), size, bold=True)) for row in rows]
    cells += [(Cell(""), Cell(""))] * (2 * half - len(rows))
    columns = (Column("Item", 128), Column("Amount; order", 150, "right")) * 2
    return Table(
        columns,
        [Row((*one, *other)) for one, other in zip(cells[:half], cells[half:], strict=True)],
        width,
        pad=_PAD_PT,
    )


def _amounts(row: Quantity, printer: Printer) -> str:
    said = amount(row, row.amount, printer)
    return f"{said}; {row.pieces}" if row.pieces else said


def _prices(flow: Flow, plan: Plan, size: float) -> None:
    prices, currency, printer = plan.works.prices, plan.site.rates.currency, Printer(plan.site.units)
    if not prices:
        return
    columns = (
        Column("Price of the trench", 226),
        Column("Amount", 74, "right"),
        Column("Low", 60, "right"),
        Column("Likely", 64, "right"),
        Column("High", 64, "right"),
        Column("Rate", 70, "centre"),
    )
    rows = [
        Row(
            (
                Cell(row.what, size),
                Cell(amount(row, row.amount, printer), size),
                *(Cell(money(each, currency), size) for each in (row.low, row.likely, row.high)),
                Cell("site's own" if row.stated else "for scale", size),
            )
        )
        for row in prices
    ]
    sums = (Cell(money(each, currency), size, bold=True) for each in total(prices))
    rows.append(Row((Cell("All of these", size, bold=True), "", *sums, "")))
    flow.table(Table(columns, rows, flow.width, pad=_PAD_PT))


def _sentences(parts: Sequence[str]) -> str:
    return ". ".join(words[:1].upper() + words[1:] for words in parts if words) + "."


def _deeper(plan: Plan) -> str:
    """Say what six inches more of depth add."""
    site, printer = plan.site, Printer(plan.site.units)
    now, then = (
        dig(site, plan.requirements, plan.layout, plan.works, deeper_m=by_m) for by_m in (0.0, SIX_INCHES_M)
    )
    bank_m3 = then.bank_m3 - now.bank_m3
    said = (
        f"{printer.short(SIX_INCHES_M)} deeper all along: {printer.volume(bank_m3)} more in the bank"
        f" ({100 * bank_m3 / now.bank_m3:.0f} %), {printer.volume(then.loose_m3 - now.loose_m3)} more in the pile"
    )
    protection = plan.requirements.trench.protection_depth_m
    if then.protected_m - now.protected_m > 0.05:
        depth = f"{printer.length(protection.value)}{unconfirmed(protection.citation)}"
        said += f", and {printer.length(then.protected_m - now.protected_m)} more of it at {depth} or deeper"
    return said


def left_out(plan: Plan) -> Iterator[str]:
    """What the price does not hold, from what the plan knows of it."""
    site, printer = plan.site, Printer(plan.site.units)
    yield "Pipe, conduit, wire, fittings, pump, tank, hydrant, electrician, permits, inspections, water tests."
    if private := not_located(plan):
        count = f"{len(private)} private line{'s' if len(private) > 1 else ''}"
        yield f"{count} not located ({_some(feature_name(each) for each in private)}): owner's risk, see the map."
    if guessed := suspected_lines(site, plan.layout):
        count = f"{len(guessed)} more suspected" if len(guessed) > 1 else "one more suspected"
        yield f"Private lines that nobody drew: {count}, see the locate request."
    yield _rock(plan)
    yield "Water in the trench, frozen ground, shoring, a second trip, filling what settles."
    volumes = plan.works.volumes
    yield (
        f"Hauling {printer.volume(volumes.haul_off_m3)} loose away, but where neither side has room for the pile;"
        f" {printer.volume(volumes.bedding_m3)} of bedding."
    )
    strip = torn_up(site, plan.requirements, plan.layout, plan.works)
    beside = shapely.union(strip.pile, strip.machine)
    kinds_of_ground = ", ".join(
        f"{surfaces()[surface].name} {printer.area(area_m2)}"
        for surface, area_m2 in by_surface(site, beside).items()
    )
    yield (
        f"Perhaps: the ground beside the trench put back, under the pile and the machine ({kinds_of_ground})."
    )
    if words := _open_verdicts(plan):
        yield f"What follows from {words} of the setback review: the route, and the price, may change."


def _rock(plan: Plan) -> str:
    printer, rates = Printer(plan.site.units), plan.site.rates
    ledge, plain = (rates[row] for row in ("dig-ledge", "dig-machine"))
    drawn = "Rock that nobody drew" if any(plan.site.of_kind("ledge")) else "Rock: none is drawn"
    unit_m = 1.0 if printer.unit == "m" else SIX_INCHES_M * 2

    def each(price: float) -> str:
        return f"{rates.currency}{price * unit_m:.0f}"

    return (
        f"{drawn}. Where it is met, a {'metre' if printer.unit == 'm' else 'foot'} costs {each(ledge.low)} to"
        f" {each(ledge.high)}, likely {each(ledge.likely)}, instead of {each(plain.low)} to {each(plain.high)}"
        + ("." if "dig-ledge" in rates.stated else f" ({FOR_SCALE.partition(':')[0]}).")
    )


def _open_verdicts(plan: Plan) -> str:
    counts = Counter(finding.verdict for finding in plan.findings)
    open_ones: tuple[Verdict, ...] = ("short", "too close to call", "needs approval")
    return ", ".join(f"{counts[verdict]} {verdict}" for verdict in open_ones if counts[verdict])


def _some(names: Iterator[str]) -> str:
    every = list(names)
    more = f" and {len(every) - _MOST_NAMED} more" if len(every) > _MOST_NAMED else ""
    return ", ".join(every[:_MOST_NAMED]) + more


def _other_ways(flow: Flow, plan: Plan, size: float) -> None:
    if ways := alternative_words(plan):
        flow.heading("Other ways", below=30)
        flow.columns([f"{name}: {why}" for name, why in ways], size=size)
