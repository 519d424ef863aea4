"""A plan as the page shows it: shapes, numbers in the units of the site, verdicts, other ways. No length is computed here."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from shapely.geometry.base import BaseGeometry

from siteplan.document.geojson import geometry, plan_features
from siteplan.document.model import Plan
from siteplan.document.price_list import NOT_IN_IT, rates_words, sharing_words
from siteplan.document.quantities import left_out
from siteplan.document.tables import amount
from siteplan.document.words import named
from siteplan.measure.prices import total
from siteplan.plane.frame import Frame
from siteplan.units import Printer, money
from siteplan.web.finding_answer import finding_answers
from siteplan.web.profile_answer import reach_answer
from siteplan.web.route_control import lines_of

_NOT_SHOWN = frozenset({"station", "line"})
"""Themes of the plan's features that the page does not draw."""


def plan_answer(plan: Plan, *, whole: bool) -> dict[str, Any]:
    """Return a plan as JSON values; ``by_hand`` says whether routes can be fixed in the page: not in a tape grid.

    Parameters
    ----------
    plan : Plan
    whole : bool
        With what takes longest to tell: what the price leaves out.
    """
    placed = plan.frame.placed
    return {
        "shapes": {
            "type": "FeatureCollection",
            "features": plan_features(plan, leave_out=_NOT_SHOWN) if placed else [],
        },
        "numbers": list(_numbers(plan)),
        "price": _price(plan, whole=whole),
        "take_off": list(_take_off(plan)),
        "by_hand": isinstance(plan.frame, Frame),
        "lines": list(_lines(plan)),
        "certificate": plan.layout.certificate,
        "findings": finding_answers(plan),
        "ways": list(_ways(plan)),
        "reaches": [reach_answer(plan, reach) for reach in plan.layout.reaches if placed],
    }


def _numbers(plan: Plan) -> Iterator[tuple[str, str]]:
    print_ = Printer(plan.site.units)
    cuts = [station.cut_m for station in plan.works.stations]
    volumes = plan.works.volumes
    yield "Trench", print_.length(plan.layout.length_m)
    least, most = print_.length(min(cuts)), print_.length(max(cuts))
    yield "Cut", least if least == most else f"{least} to {most}"
    yield "Crossings", str(len(plan.works.crossings))
    yield "Dirt in the bank", print_.volume(volumes.bank_m3)
    yield "Loose", print_.volume(volumes.loose_m3)
    yield "Haul off, loose", print_.volume(volumes.haul_off_m3)


def _price(plan: Plan, *, whole: bool) -> dict[str, Any]:
    currency, print_ = plan.site.rates.currency, Printer(plan.site.units)
    low, likely, high = (money(each, currency) for each in total(plan.works.prices))
    return {
        "low": low,
        "likely": likely,
        "high": high,
        "words": f"The trench only: {NOT_IN_IT}. {_sentence(rates_words(plan))}",
        "sharing": _sentence(sharing_words(plan)),
        "rows": [
            [row.what, amount(row, row.amount, print_)]
            + [money(each, currency) for each in (row.low, row.likely, row.high)]
            for row in plan.works.prices
        ],
        "left_out": list(left_out(plan)) if whole else None,
    }


def _take_off(plan: Plan) -> Iterator[tuple[str, str, str]]:
    """What is dug, bought and put back: item, amount, how it is sold."""
    print_ = Printer(plan.site.units)
    for row in plan.works.quantities:
        yield row.item, amount(row, row.amount, print_), row.pieces or row.note


def _lines(plan: Plan) -> Iterator[dict[str, Any]]:
    """Each line to lay: its length, how its route is fixed, and the trench that it would fix if that were drawn by hand."""
    print_, developed = Printer(plan.site.units), dict(plan.works.developed_m)
    trenches = {line.id: way for line, way in lines_of(plan, [reach.path for reach in plan.layout.reaches])}

    def places(shape: BaseGeometry) -> Any:
        return geometry(plan.frame.to_lonlat(shape))["coordinates"] if plan.frame.placed else []

    for line in plan.site.lines:
        way = plan.layout.way(line.id)
        end = plan.site.feature(line.end)
        yield {
            "id": line.id,
            "name": line.name,
            "length": print_.length(developed[line.id]) if line.id in developed else "",
            "to": named(plan, line.end),
            "building": end.kind == "building",
            "way": places(way) if way.length else [],
            "trench": places(trenches[line.id]) if line.id in trenches else [],
            "drawn": line.drawn,
            "through": list(line.through),
            "closed_sides": list(line.closed_sides),
        }


def _ways(plan: Plan) -> Iterator[dict[str, Any]]:
    """Layouts of another kind beside the plan: price, what they cost more or less, and why."""
    print_, currency = Printer(plan.site.units), plan.site.rates.currency
    for number, other in enumerate(plan.layout.alternatives, 1):
        dearer = other.price - plan.layout.price
        words = f"{money(abs(dearer), currency)} {'dearer' if dearer >= 0 else 'cheaper'}"
        yield {
            "number": number,
            "name": other.name,
            "length": print_.length(other.length_m),
            "price": money(other.price, currency),
            "difference": words,
            "why": other.why,
        }


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}." if words else ""
