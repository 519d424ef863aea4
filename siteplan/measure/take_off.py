"""What to buy and what to price: developed lengths of the lines, and the rows of the take-off."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from math import ceil

from siteplan.measure.amounts import Quantity
from siteplan.measure.crossing import Crossing
from siteplan.measure.crossings import is_buried
from siteplan.measure.earthwork import compacted_m3
from siteplan.measure.fittings import fittings
from siteplan.measure.model import Interval, Pull, Section, Volumes
from siteplan.measure.profile import Trench
from siteplan.measure.sections import depth_steps_m
from siteplan.measure.sleeves import SLACK_M, Sleeve, sleeves
from siteplan.route.model import Layout
from siteplan.site.catalogue import products, soils, surfaces
from siteplan.site.features import Line
from siteplan.site.site import Site
from siteplan.units import Printer


def developed_lengths(
    site: Site, layout: Layout, trenches: Mapping[str, Trench]
) -> tuple[tuple[str, float], ...]:
    """Length [m] of each line along itself: the slope of the ground, the steps between sections, and its risers.

    Riser: at a building the whole cut; at an entry of stated depth the way to it; at a hydrant none, its own pipe rises; at the
    casing a water line the way to the pitless, a cable the cut and the casing above ground.
    """
    found = []
    for path in layout.paths:
        line = site.line(path.line)
        slope_m = sum(trenches[name].slope_length_m((a, b)) for name, a, b in path.legs)
        sections = [section for name, a, b in path.legs for _, section in trenches[name].between(a, b)]
        risers_m = _riser_m(site, line, line.start, sections[0]) + _riser_m(
            site, line, line.end, sections[-1]
        )
        found.append((line.id, slope_m + depth_steps_m(line.id, sections) + risers_m))
    return tuple(found)


def _riser_m(site: Site, line: Line, at: str, section: Section) -> float:
    if at in {other.id for other in site.lines}:
        return 0.0
    feature = site.feature(at)
    cover_m = next((laid.cover_m for laid in section.lines if laid.line == line.id), section.lines[0].cover_m)
    if feature.kind == "well":
        if line.carries != "water":
            return section.cut_m + float(feature.facts.get("casing_height", 0.0))
        return abs(float(feature.facts.get("pitless_depth", cover_m)) - cover_m)
    if feature.kind == "hydrant":
        return 0.0
    if feature.kind == "entry" and "depth" in feature.facts:
        return abs(cover_m - float(feature.facts["depth"]))
    return section.cut_m


def quantities(
    site: Site,
    layout: Layout,
    trenches: Iterable[Trench],
    *,
    volumes: Volumes,
    developed_m: Mapping[str, float],
    hand_digs: Iterable[Interval],
    crossings: Iterable[Crossing],
    pulls: Iterable[Pull],
) -> tuple[Quantity, ...]:
    """Rows of the take-off, in the order of the work."""
    trenches = tuple(trenches)
    sleeved = tuple(
        (trench, sleeve)
        for trench in trenches
        for sleeve in sleeves(site, trench.reach, [stretch for stretch, _ in trench.parts])
    )
    return (
        *_digging(site, trenches, volumes, hand_digs),
        *_products(site, developed_m),
        *fittings(
            site,
            layout,
            developed_m=developed_m,
            pulls=tuple(pulls),
            sleeves=(sleeve for _, sleeve in sleeved),
        ),
        *_sleeves(site, sleeved),
        *_along_the_trench(site, trenches, developed_m),
        *_potholes(site, crossings),
    )


def _digging(
    site: Site, trenches: tuple[Trench, ...], volumes: Volumes, hand_digs: Iterable[Interval]
) -> Iterator[Quantity]:
    lengths: dict[str, float] = defaultdict(float)
    areas: dict[str, float] = defaultdict(float)
    for trench in trenches:
        for stretch, section in trench.opened:
            lengths[stretch.surface] += stretch.length_m
            areas[stretch.surface] += stretch.length_m * section.top_width_m
    for surface in surfaces().values():
        if surface.id in lengths:
            yield _row(f"Trench, {surface.name}", "length", lengths[surface.id], "on the map")
    for surface in surfaces().values():
        if surface.id in areas:
            note = "top of the trench; the machine and the pile tear up more"
            yield _row(f"Restore, {surface.name}", "area", areas[surface.id], note)
    for trench in trenches:
        for bored in trench.reach.bored:
            name = site.feature(bored.feature).name
            yield _row(f"Bore, under {name}", "length", bored.to_m - bored.from_m, "edge to edge")
    hand_m = sum(each.to_m - each.from_m for each in hand_digs)
    yield _row("Hand dig", "length", hand_m, "part of the trench")
    pits = ", ".join(name for name, _ in volumes.extras)
    yield _row("Dig, in the bank", "volume", volumes.bank_m3, f"with {pits}" if pits else "")
    yield _row("Dig, in the pile", "volume", volumes.loose_m3, "loose")
    soil = soils()[site.digging.soil]
    settled_m3 = compacted_m3(volumes.bank_m3, soil)
    yield _row("Dig, compacted", "volume", settled_m3, f"as {soil.name} of that bank volume compacts")
    yield _row("Bedding", "volume", volumes.bedding_m3, "in place")
    yield _row("Backfill", "volume", volumes.backfill_bank_m3, "in the bank measure")
    yield _row("Haul off", "volume", volumes.haul_off_m3, "loose: what bedding and lines take up")


def _row(item: str, unit: str, amount: float, note: str = "") -> Quantity:
    return Quantity(item=item, unit=unit, amount=amount, order=amount, note=note)  # type: ignore[arg-type]


def _products(site: Site, developed_m: Mapping[str, float]) -> Iterator[Quantity]:
    by_product: dict[str, list[Line]] = defaultdict(list)
    for line in site.lines:
        if line.id in developed_m:
            by_product[line.product].append(line)
    length = Printer("m" if site.units == "m" else "ft").length
    for product_id, lines in by_product.items():
        product = products()[product_id]
        amount_m = sum(developed_m[line.id] for line in lines)
        pieces = ceil(amount_m / product.stock_m - 1e-9) if product.stock_m else 0
        stock = f"{product.sold}{'' if pieces == 1 else 's'} of {length(product.stock_m)}"
        yield Quantity(
            item=product.name,
            unit="length",
            amount=amount_m,
            order=pieces * product.stock_m if pieces else amount_m,
            note=", ".join(line.name for line in lines)
            + ": along the slope, with risers (full cut at a wall) and no waste",
            pieces=f"{pieces} {stock}" if pieces else "",
        )


def _sleeves(site: Site, sleeved: Iterable[tuple[Trench, Sleeve]]) -> Iterator[Quantity]:
    for trench, sleeve in sleeved:
        how = "drawn into the bore, two sizes up" if sleeve.bored else "two sizes up"
        note = f"{trench.name}, {sleeve.line.name}; {how}, ends capped"
        name = f"Sleeve under {site.feature(sleeve.feature).name}"
        yield _row(name, "length", sleeve.length_m, note)


def _along_the_trench(
    site: Site, trenches: tuple[Trench, ...], developed_m: Mapping[str, float]
) -> Iterator[Quantity]:
    tape_m = sum(
        trench.slope_length_m(*((stretch.from_m, stretch.to_m) for stretch, _ in trench.opened))
        for trench in trenches
    )
    yield _row("Warning tape", "length", tape_m, "over all that is opened")
    water = [line for line in site.lines if line.carries == "water" and line.id in developed_m]
    if water:
        wire_m = sum(developed_m[line.id] + 2 * SLACK_M for line in water)
        yield _row("Tracer wire", "length", wire_m, "along each water line, both ends left in reach")


def _potholes(site: Site, crossings: Iterable[Crossing]) -> Iterator[Quantity]:
    count = sum(is_buried(site.feature(crossing.feature)) for crossing in crossings)
    if count:
        yield _row(
            "Test hole (pothole)", "count", count, "one at each crossing, before the machine comes near"
        )
