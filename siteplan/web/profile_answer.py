"""One trench as the page shows it along its length: the drawing and the places of the map page, and what it crosses."""

from __future__ import annotations

from typing import Any

from siteplan.document.map_data import reach_data
from siteplan.document.map_profile import profile, profile_note
from siteplan.document.model import Plan
from siteplan.document.words import named, reach_title
from siteplan.measure.crossing import Crossing
from siteplan.route.model import Reach
from siteplan.units import FOOT_M, Printer


def reach_answer(plan: Plan, reach: Reach) -> dict[str, Any]:
    """Return what is read along a trench, and its profile as an SVG drawing.

    Lengths in metres; ``unit_m`` is what an arrow key goes, ``full`` how many of it a whole station holds.
    """
    metric = plan.site.units == "m"
    print_ = Printer(plan.site.units)
    return {
        **reach_data(plan, reach),
        "title": reach_title(plan, reach),
        "unit_m": 1.0 if metric else FOOT_M,
        "full": 1000 if metric else 100,
        "drawing": profile(plan, reach),
        "note": profile_note(plan, reach),
        "crossings": [
            {
                "number": crossing.number,
                "at_m": crossing.distance_m,
                "words": _crossing(plan, crossing, print_),
            }
            for crossing in plan.works.crossings
            if crossing.reach == reach.name
        ],
    }


def _crossing(plan: Plan, crossing: Crossing, print_: Printer) -> str:
    """Whose line is crossed where, and what is clear of it."""
    where = (
        f"crossing {crossing.number}, {print_.station(crossing.distance_m)}: {named(plan, crossing.feature)}"
    )
    if crossing.their_depth_m is None:
        return f"{where}, depth not known"
    clear = "" if crossing.clear_m is None else f", {print_.short(crossing.clear_m)} clear"
    asked = f" of {print_.short(crossing.required_m)} asked" if crossing.required_m is not None else ""
    return f"{where}, {print_.short(crossing.their_depth_m)} deep{clear}{asked if clear else ''}"
