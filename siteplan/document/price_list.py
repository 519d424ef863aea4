"""Prices on paper: what the trenches come to, what sharing saves, and the layouts of another kind."""

from __future__ import annotations

from siteplan.document.model import Plan
from siteplan.measure.prices import total
from siteplan.route.drawing_error import words
from siteplan.units import Printer, money

NOT_IN_IT = "pipe, conduit, wire, pump, permits, rock and water that nobody drew are not in it"
FOR_SCALE = "for scale only: state your own in [rates] of site.toml"
_MOST_TOLERANCES = 8


def sums_words(plan: Plan) -> str:
    """Price of the trenches: the likely one, and low to high."""
    low, likely, high = (money(each, plan.site.rates.currency) for each in total(plan.works.prices))
    return f"likely {likely}, {low} to {high}: the trench only"


def price_words(plan: Plan) -> str:
    """Price of the trenches in words, what is not in it, and whose rates it is made with."""
    return f"{sums_words(plan)}; {NOT_IN_IT}; {rates_words(plan)}"


def rates_words(plan: Plan) -> str:
    """Say which of the rates are the site's own."""
    stated = sum(row.stated for row in plan.works.prices)
    if stated == len(plan.works.prices):
        return "all rates are the site's own"
    if not stated:
        return f"rates {FOR_SCALE}"
    return f"{stated} of {len(plan.works.prices)} rates are the site's own, the others {FOR_SCALE}"


def sharing_words(plan: Plan) -> str:
    """What sharing trenches saves; ``""`` if none is shared or nothing is saved."""
    apart = plan.layout.apart_price
    if apart is None or apart - plan.layout.price < 1.0:
        return ""
    saved = money(apart - plan.layout.price, plan.site.rates.currency)
    return f"{saved} less than a trench of its own to each end, at likely rates"


def alternative_words(plan: Plan) -> list[tuple[str, str]]:
    """Layouts of another kind: their names, and a sentence for each with length, price and why."""
    printer = Printer(plan.site.units)
    return [
        (
            other.name,
            f"{printer.length(other.length_m)}, {money(other.price, plan.site.rates.currency)}: {other.why}",
        )
        for other in plan.layout.alternatives
    ]


def tolerance_words(plan: Plan) -> list[str]:
    """How far each thing may lie from where it is drawn, those that may be off the least first."""
    return [words(plan.site, tolerance) for tolerance in plan.tolerances[:_MOST_TOLERANCES]]
