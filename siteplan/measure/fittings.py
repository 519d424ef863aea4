"""Fittings of the take-off: tees, couplings between the lengths as sold, sweeps, pull points, wall sleeves, caps."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from math import ceil, floor

from siteplan.measure.amounts import Quantity
from siteplan.measure.bends import is_conduit, sweeps
from siteplan.measure.model import Pull
from siteplan.measure.sleeves import Sleeve
from siteplan.route.model import Layout
from siteplan.site.catalogue import products
from siteplan.site.features import Line
from siteplan.site.site import Site

_WALLS = ("building", "entry")
_SLACK = 1e-9


def fittings(
    site: Site,
    layout: Layout,
    *,
    developed_m: Mapping[str, float],
    pulls: tuple[Pull, ...],
    sleeves: Iterable[Sleeve],
) -> Iterator[Quantity]:
    """Rows of the fittings that follow from the layout; valves, clamps, the pitless and the hydrant itself are not in it."""
    laid = [line for line in site.lines if line.id in developed_m]
    yield from _tees(site, laid)
    yield from _couplings(laid, layout, developed_m, pulls)
    yield from _sweeps(site, layout, pulls)
    points = sum(pull.from_m > 0.0 for pull in pulls)
    if points:
        yield _count("Pull point", points, "in place of a bend, where the bends of a conduit sum to too much")
    walls = sum(at in _at_walls(site) for line in laid for at in (line.start, line.end))
    if walls:
        yield _count("Wall sleeve with seal", walls, "one for each line at each wall; the seal gives way")
    ends = 2 * sum(1 for _ in sleeves)
    if ends:
        yield _count("Seal, end of a sleeve", ends, "both ends of each sleeve under a drive, walk or road")


def joints(stock_m: float, lengths_m: Iterable[float]) -> int:
    """Joints in lines that are laid one after the other off lengths as sold, each new length begun where the last one ended.

    Parameters
    ----------
    stock_m : float
        Length as sold [m], more than 0.
    lengths_m : iterable of float
        Of the lines, in the order in which they are laid [m].

    Examples
    --------
    Coils of 100 ft for lines of 60, 80 and 70 ft: the coils end within the second line and within the third.

    >>> joints(100, [60, 80, 70]), joints(100, [100, 100])
    (2, 0)
    """
    count, begin_m = 0, 0.0
    for length_m in lengths_m:
        end_m = begin_m + length_m
        count += ceil(end_m / stock_m - _SLACK) - 1 - floor(begin_m / stock_m + _SLACK)
        begin_m = end_m
    return count


def _count(item: str, amount: int, note: str) -> Quantity:
    return Quantity(item=item, unit="count", amount=float(amount), order=float(amount), note=note)


def _at_walls(site: Site) -> set[str]:
    return {feature.id for feature in site.of_kind(*_WALLS)}


def _tees(site: Site, laid: list[Line]) -> Iterator[Quantity]:
    ids = {line.id for line in site.lines}
    counts: dict[str, int] = defaultdict(int)
    for line in laid:
        if line.carries == "water" and line.start in ids:
            counts[products()[line.product].name] += 1
    for name, count in counts.items():
        yield _count(f"Tee, {name}", count, "where a water line leaves another; tie it before backfill")


def _couplings(
    laid: list[Line], layout: Layout, developed_m: Mapping[str, float], pulls: tuple[Pull, ...]
) -> Iterator[Quantity]:
    by_product: dict[str, list[Line]] = defaultdict(list)
    for line in laid:
        by_product[line.product].append(line)
    for product_id, lines in by_product.items():
        product = products()[product_id]
        if not product.stock_m:
            continue
        if product.sold == "stick":
            count = sum(_stick_joints(line, layout, developed_m[line.id], pulls) for line in lines)
            name, note = "Coupling", "one a joint of sticks and sweeps; a belled end brings its own"
        else:
            count = joints(product.stock_m, (developed_m[line.id] for line in lines))
            name = "Splice kit" if product.sold == "reel" else "Coupling"
            note = f"a joint in the ground where a {product.sold} ends; a longer {product.sold} has none"
        if count:
            yield _count(f"{name}, {product.name}", count, note)


def _stick_joints(line: Line, layout: Layout, length_m: float, pulls: tuple[Pull, ...]) -> int:
    """Joints of one line of sticks: one less than its sticks, and one more for each sweep that is set between or at its ends."""
    sticks = ceil(length_m / products()[line.product].stock_m - _SLACK)
    turned = sweeps(layout, layout.path(line.id), pulls) if is_conduit(line) else 0
    return sticks - 1 + turned


def _sweeps(site: Site, layout: Layout, pulls: tuple[Pull, ...]) -> Iterator[Quantity]:
    counts: dict[str, int] = defaultdict(int)
    for path in layout.paths:
        line = site.line(path.line)
        if is_conduit(line):
            counts[products()[line.product].name] += sweeps(layout, path, pulls)
    for name, count in counts.items():
        yield _count(f"Sweep, {name}", count, "one at each end, one at each bend over 11 1/4 deg")
