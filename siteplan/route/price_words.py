"""Prices in words: why one layout is dearer than another, and where that turns over."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from siteplan.route.ground_prices import BORE_PITS
from siteplan.route.priced.bill import Item
from siteplan.site.catalogue import ground_rows
from siteplan.site.features import Feature
from siteplan.site.site import Site
from siteplan.units import Printer, money

_TELLING = 0.1
"""A difference smaller than this share of the largest one is not named."""

_MOST_NAMED = 4
_SHORT_M = 0.05
_DETOUR_M = 0.1
_ALIKE_M = 0.5
_NEAR = 4.0
"""Where it turns over is told if it is no more than this many times as far, or as near, as the layout is now (own choice)."""

_BY_HAND, _IN_ROOTS, _BY_MACHINE, _HAULED = "dig-hand", "dig-roots", "dig-machine", "no-room"


def why(site: Site, chosen: Sequence[Item], other: Sequence[Item]) -> str:
    """Say in one or two sentences how much dearer or cheaper another layout is, by what, and where that turns over.

    Examples
    --------
    "$360 dearer: 100.0 ft more trench, 20.0 ft less of Drive to restore. It would pay only if it were less than 67.3 ft longer;
    it is 100.0 ft longer."
    """
    printer = Printer(site.units)
    more = _total(other) - _total(chosen)
    parts = sorted(_differences(site, chosen, other), key=lambda part: -round(abs(part[0]), 2))
    named = [words for price, words in parts if abs(price) >= _TELLING * abs(parts[0][0])][:_MOST_NAMED]
    apart = "; " if any(", " in words for words in named) else ", "
    what = f": {apart.join(named)}" if named else ""
    if abs(more) < 0.5:
        return f"The same price{what}."
    said = f"{money(abs(more), site.rates.currency)} {'dearer' if more > 0 else 'cheaper'}{what}."
    if _count(chosen, BORE_PITS) != _count(other, BORE_PITS):
        return f"{said} {_bore_turn(site, printer, chosen, other)}".rstrip()
    if _count(chosen, "tee") != _count(other, "tee"):
        return said
    longer_m = _metres(other, _is_trench) - _metres(chosen, _is_trench)
    rate = site.rates[_BY_MACHINE].likely + site.rates[f"restore-{site.digging.ground}"].likely
    rest = more - longer_m * rate
    if rate <= 0.0 or longer_m * rest >= 0.0 or abs(longer_m) < _DETOUR_M:
        return said
    even_m = abs(rest) / rate
    if not 1.0 / _NEAR <= even_m / abs(longer_m) <= _NEAR:
        return said
    return f"{said} {_turn(printer, longer_m, even_m, pays=more < 0.0)}"


def _bore_turn(site: Site, printer: Printer, chosen: Sequence[Item], other: Sequence[Item]) -> str:
    """Say at which width of the ground a bore and an open cut cost the same; ``""`` if one bore is not all that differs."""
    bores = {
        item.of: round(_metres(other, _pits(item.of)) - _metres(chosen, _pits(item.of)))
        for item in (*chosen, *other)
        if item.row == BORE_PITS
    }
    changed = [feature for feature, count in bores.items() if count]
    if len(changed) != 1 or abs(bores[changed[0]]) != 1:
        return ""
    (under,) = changed
    bored, opened = (other, chosen) if bores[under] > 0 else (chosen, other)
    feature = site.feature(under)
    dig, restore = (_IN_ROOTS, None) if feature.kind == "tree" else ground_rows(feature)
    own = _of_thing(str(restore or dig), under)
    open_m = _metres(opened, own) - _metres(bored, own)
    rates = [
        site.rates[row].likely for row in (dig or _BY_MACHINE, restore or f"restore-{site.digging.ground}")
    ]
    hauled_m = _metres(opened, _of_row(_HAULED)) - _metres(bored, _of_row(_HAULED))
    if abs(hauled_m - open_m) < _ALIKE_M:
        rates.append(site.rates[_HAULED].likely)
    even_m = _even_bore_m(site, math.fsum(rates), open_m, _total(bored) - _total(opened))
    if open_m < _SHORT_M or not even_m or not 1.0 / _NEAR <= even_m / open_m <= _NEAR:
        return ""
    pays = _total(other) < _total(chosen)
    bound = "more" if bored is other else "less"
    length, here = printer.length(even_m), printer.length(open_m)
    return (
        f"It {'pays' if pays else 'would pay only'} with {bound} than {length} of {ground_name(feature)} on the way; "
        f"there are {here}."
    )


def _even_bore_m(site: Site, rate: float, open_m: float, more: float) -> float | None:
    """Return the length [m] at which a bore costs as much as an open cut at a rate, given what it costs more at one length."""
    pits, least, metre = (site.rates[row].likely for row in (BORE_PITS, "bore-least", "bore"))
    fixed = more - (pits + max(least, metre * open_m) - rate * open_m) + pits
    if rate > 0.0 and metre * (fixed + least) / rate <= least:
        return max(0.0, (fixed + least) / rate)
    return max(0.0, fixed / (rate - metre)) if rate > metre else None


def ground_name(feature: Feature) -> str:
    """Name the ground of a thing: a surface by its own name, a tree by its roots."""
    name = feature.name or feature.id
    return f"the roots of {name}" if feature.kind == "tree" else name


def _turn(printer: Printer, longer_m: float, even_m: float, *, pays: bool) -> str:
    """Say at how much more or less trench over plain ground the two layouts cost the same."""
    amount, even = printer.length(abs(longer_m)), printer.length(even_m)
    how = "longer" if longer_m > 0.0 else "shorter"
    bound = "less" if longer_m > 0.0 else "more"
    if pays:
        return f"It pays as long as it is {bound} than {even} {how}; it is {amount} {how}."
    return f"It would pay only if it were {bound} than {even} {how}; it is {amount} {how}."


def _differences(site: Site, chosen: Sequence[Item], other: Sequence[Item]) -> list[tuple[float, str]]:
    """Differences in price with words for each, in a fixed order.

    All trench counts as dug by machine; what is dug by hand, or in ground of its own, counts with what that costs beyond.
    """
    printer = Printer(site.units)
    names = {feature.id: ground_name(feature) for feature in site.features}
    machine = site.rates[_BY_MACHINE].likely
    found: list[tuple[float, str]] = []

    def tell_length(belongs: Callable[[Item], bool], words: str, price: Callable[[Item], float]) -> None:
        more = _added(other, belongs, price) - _added(chosen, belongs, price)
        amount_m = _metres(other, belongs) - _metres(chosen, belongs)
        if abs(more) >= 0.5 and abs(amount_m) >= _SHORT_M:
            found.append(
                (more, f"{printer.length(abs(amount_m))} {'more' if amount_m > 0 else 'less'} {words}")
            )

    def tell_count(belongs: Callable[[Item], bool], one: str, many: str, dearer: str, cheaper: str) -> None:
        more = _added(other, belongs, _price) - _added(chosen, belongs, _price)
        count = round(_metres(other, belongs) - _metres(chosen, belongs))
        if abs(more) < 0.5:
            return
        kind = dearer if more > 0 else cheaper
        if not count:
            found.append((more, f"{kind} {many}"))
            return
        words = f"{abs(count)} {'more' if count > 0 else 'fewer'} {one if abs(count) == 1 else many}"
        found.append((more, words if (count > 0) == (more > 0) else f"{words} but {kind} ones"))

    tell_length(_is_trench, "trench", lambda item: item.amount * machine)
    for row, words in ((_BY_HAND, "by hand"), (_IN_ROOTS, "through roots")):
        tell_length(_of_row(row), words, lambda item: item.price - item.amount * machine)
    tell_length(_of_row(_HAULED), "with the spoil hauled away", _price)
    tell_count(_of_row("pull-point"), "pull point", "pull points", "dearer", "cheaper")
    tell_count(_starts_with("crossing"), "crossing", "crossings", "dearer", "cheaper")
    tell_count(_starts_with("bend"), "bend", "bends", "sharper", "gentler")
    tell_count(_of_row("tee"), "tee", "tees", "dearer", "cheaper")
    for feature in dict.fromkeys(item.of for item in (*chosen, *other) if item.of):
        name = names.get(feature, feature)
        tell_length(_digs(feature), f"through {name}", lambda item: item.price - item.amount * machine)
        tell_length(_restores(feature), f"of {name} to restore", _price)
        bored = [_metres(bill, _pits(feature)) for bill in (chosen, other)]
        more = _added(other, _bores(feature), _price) - _added(chosen, _bores(feature), _price)
        if abs(more) >= 0.5:
            found.append((more, f"{_bore_words(*bored, dearer=more > 0)} under {name}"))
    return found


def _bore_words(before: float, after: float, *, dearer: bool) -> str:
    """Name the bores under one thing, given how many there are in either layout."""
    if before == after:
        return "a longer bore" if dearer else "a shorter bore"
    if not after:
        return "no bore"
    if not before and round(after) == 1:
        return "a bore"
    count = round(abs(after - before))
    return f"{count} {'more' if after > before else 'fewer'} {'bore' if count == 1 else 'bores'}"


def _added(items: Sequence[Item], belongs: Callable[[Item], bool], price: Callable[[Item], float]) -> float:
    return sum(price(item) for item in items if belongs(item))


def _price(item: Item) -> float:
    return item.price


def _of_row(row: str) -> Callable[[Item], bool]:
    return lambda item: item.row == row


def _starts_with(rows: str) -> Callable[[Item], bool]:
    return lambda item: item.row.startswith(rows)


def _digs(feature: str) -> Callable[[Item], bool]:
    """Is it dug in ground of its own: ledge, or woods."""
    usual = (_BY_MACHINE, _BY_HAND, _IN_ROOTS)
    return lambda item: item.of == feature and _is_trench(item) and item.row not in usual


def _restores(feature: str) -> Callable[[Item], bool]:
    return lambda item: item.of == feature and item.row.startswith("restore")


def _bores(feature: str) -> Callable[[Item], bool]:
    return lambda item: item.of == feature and item.row.startswith("bore")


def _pits(feature: str) -> Callable[[Item], bool]:
    return lambda item: item.of == feature and item.row == BORE_PITS


def _of_thing(row: str, feature: str) -> Callable[[Item], bool]:
    return lambda item: item.of == feature and item.row == row


def _total(items: Sequence[Item]) -> float:
    return math.fsum(item.price for item in items)


def _count(items: Sequence[Item], row: str) -> int:
    return round(sum(item.amount for item in items if item.row == row))


def _is_trench(item: Item) -> bool:
    """Is it a metre of trench: dug in whatever way."""
    return item.row.startswith("dig-")


def _metres(items: Sequence[Item], belongs: Callable[[Item], bool]) -> float:
    return sum(item.amount for item in items if belongs(item))


FIRST_LOOK = (
    "First look: the trenches follow those of the plan before; a cheaper layout was not searched for."
)
"""What is said for a certificate of a layout that was followed."""


def certificate(
    price: float, least_price: float | None, *, beyond: float = 0.0, fixed: bool, from_here: bool
) -> str:
    """Say what is proven about the price of a layout, for the sheets.

    Parameters
    ----------
    price : float
        Of the layout, at likely rates, with all that is printed of it.
    least_price : float or None
        Proven least price of the trenches alone; ``None`` if none was worked out.
    beyond : float
        So much of the price is for what the proof counts as nothing: hauled spoil and pull points.
    fixed : bool
        Does some trench lie where the user drew it, or pass a point that it must.
    from_here : bool
        Was the start of some line chosen: nothing is proven of other starts.
    """
    if least_price is None:
        return "How near this layout comes to the cheapest was not worked out."
    over_percent = math.ceil(1000 * max(0.0, 1 - least_price / price) - 1e-9) / 10 if price else 0.0
    rates = "at the likely rates" + (
        ", even one with no spoil to haul and no pull points" if beyond >= 0.5 else ""
    )
    here = " with every line beginning where it does here" if from_here else ""
    if fixed:
        return (
            f"Some trench lies where it was drawn or must pass. Proven: no layout that keeps every distance{here} is "
            f"more than {over_percent:.1f} % cheaper {rates}, wherever it lies."
        )
    return f"Proven: no layout that keeps every distance{here} is more than {over_percent:.1f} % cheaper {rates}."
