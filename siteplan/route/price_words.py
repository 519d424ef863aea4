"""Prices in words: why one layout is dearer than another, and where that turns over."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from siteplan.route.ground_prices import BORE_PITS
from siteplan.route.priced.bill import Item
from siteplan.site.site import Site
from siteplan.units import Printer, money

_TELLING = 0.1
"""A difference smaller than this share of the largest one is not named."""

_MOST_NAMED = 3
_SHORT_M = 0.05
_DETOUR_M = 0.1


def why(site: Site, chosen: Sequence[Item], other: Sequence[Item]) -> str:
    """Say in one sentence how much dearer or cheaper another layout is, by what, and where that turns over."""
    printer = Printer(site.units)
    more = sum(item.price for item in other) - sum(item.price for item in chosen)
    parts = sorted(_differences(site, chosen, other), key=lambda part: -abs(part[0]))
    named = [words for price, words in parts if abs(price) >= _TELLING * abs(parts[0][0])][:_MOST_NAMED]
    what = f": {', '.join(named)}" if named else ""
    if abs(more) < 0.5:
        return f"As dear{what}."
    said = f"{money(abs(more), site.rates.currency)} {'dearer' if more > 0 else 'cheaper'}{what}."
    if any(_count(chosen, row) != _count(other, row) for row in (BORE_PITS, "tee")):
        return said
    longer_m = _metres(other, _is_trench) - _metres(chosen, _is_trench)
    rate = site.rates["dig-machine"].likely + site.rates[f"restore-{site.digging.ground}"].likely
    rest = more - longer_m * rate
    if rate <= 0.0 or longer_m * rest >= 0.0 or abs(rest) < rate or abs(longer_m) < _DETOUR_M:
        return said
    return f"{said} {_turn(printer, longer_m, abs(rest) / rate)}"


def _turn(printer: Printer, longer_m: float, even_m: float) -> str:
    """Say at what detour the two layouts cost the same."""
    detour, even = printer.length(abs(longer_m)), printer.length(even_m)
    if longer_m > 0.0:
        return f"The way round is {detour} longer; it would pay up to {even}."
    return f"It saves {detour} of trench; it would pay past {even}."


def _differences(site: Site, chosen: Sequence[Item], other: Sequence[Item]) -> list[tuple[float, str]]:
    """Differences in price with words for each, in a fixed order."""
    printer = Printer(site.units)
    names = {feature.id: feature.name for feature in site.features}
    found: list[tuple[float, str]] = []

    def tell(belongs: Callable[[Item], bool], length: str = "", one: str = "", many: str = "") -> None:
        more = sum(item.price for item in other if belongs(item)) - sum(
            item.price for item in chosen if belongs(item)
        )
        amount = _metres(other, belongs) - _metres(chosen, belongs)
        if abs(more) < 0.5 or (length and abs(amount) < _SHORT_M):
            return
        quantity = "more" if amount > 0 else "less"
        if length:
            found.append((more, f"{printer.length(abs(amount))} {quantity} {length}"))
        else:
            count = round(abs(amount))
            quantity = "more" if amount > 0 else "fewer"
            found.append(
                (more, f"{count} {quantity} {one if count == 1 else many}" if count else f"other {many}")
            )

    tell(_is_trench, length="trench")
    tell(lambda item: item.row == "dig-hand", length="by hand")
    tell(lambda item: item.row == "dig-roots", length="through roots")
    tell(lambda item: item.row.startswith("crossing"), one="crossing", many="crossings")
    tell(lambda item: item.row.startswith("bend"), one="bend", many="bends")
    tell(lambda item: item.row == "tee", one="tee", many="tees")
    for feature in dict.fromkeys(item.of for item in (*chosen, *other) if item.of):
        tell(_restores(feature), length=f"of {names.get(feature, feature)} to restore")
        bores = [item for item in (*chosen, *other) if item.of == feature and item.row == BORE_PITS]
        if bores:
            more = sum(i.price for i in other if _bores(i, feature)) - sum(
                i.price for i in chosen if _bores(i, feature)
            )
            bored = [any(item in bores for item in bill) for bill in (chosen, other)]
            if abs(more) >= 0.5:
                what = "another" if all(bored) else "a" if bored[1] else "no"
                found.append((more, f"{what} bore under {names.get(feature, feature)}"))
    return found


def _restores(feature: str) -> Callable[[Item], bool]:
    return lambda item: item.of == feature and item.row.startswith("restore")


def _bores(item: Item, feature: str) -> bool:
    return item.of == feature and item.row.startswith("bore")


def _count(items: Sequence[Item], row: str) -> int:
    return round(sum(item.amount for item in items if item.row == row))


def _is_trench(item: Item) -> bool:
    """Is it a metre of trench: dug in whatever way."""
    return item.row.startswith("dig-")


def _metres(items: Sequence[Item], belongs: Callable[[Item], bool]) -> float:
    return sum(item.amount for item in items if belongs(item))


def certificate(price: float, least_price: float | None, *, fixed: bool, from_here: bool) -> str:
    """Say what is proven about the price of a layout, for the sheets.

    Parameters
    ----------
    price : float
        Of the layout, at likely rates.
    least_price : float or None
        Proven least price; ``None`` if none was worked out.
    fixed : bool
        Does some trench lie where the user drew it, or pass a point that it must.
    from_here : bool
        Was the start of some line chosen: nothing is proven of other starts.
    """
    if least_price is None:
        return "How near this layout comes to the cheapest was not worked out."
    over_percent = math.ceil(1000 * max(0.0, 1 - least_price / price) - 1e-9) / 10 if price else 0.0
    here = " with every line beginning where it does here" if from_here else ""
    if fixed:
        return (
            f"Some trench lies where it was drawn or must pass. Proven: no layout that keeps every distance{here} is "
            f"more than {over_percent:.1f} % cheaper, wherever it lies."
        )
    return (
        f"Proven: no layout that keeps every distance{here} is more than {over_percent:.1f} % cheaper "
        "at the likely rates."
    )
