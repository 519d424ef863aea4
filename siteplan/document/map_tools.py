"""What can be done on the map page: groups to show, places to find, distances, and where one is."""

from __future__ import annotations

from siteplan.document.map_parts import items, section
from siteplan.document.map_shapes import GROUPS, HIDDEN_AT_FIRST
from siteplan.document.model import Plan
from siteplan.document.page import escaped
from siteplan.site.underlay import Underlay
from siteplan.units import FOOT_M, Printer

PHONE_GOOD_TO_M = 16 * FOOT_M
"""Phones are typically good to 4.9 m (16 ft) under open sky: gps.gov, "GPS Accuracy" (from memory)."""

_LINKS = {
    "cautions": "Cautions",
    "switches": "Show",
    "tools": "Find, measure",
    "verdicts": "Verdicts",
    "profiles": "Profile",
    "stations": "Stations",
}


def links() -> str:
    """Links to the parts of the column, for a thumb and for the keyboard."""
    each = "".join(f'<a href="#{name}">{words}</a>' for name, words in _LINKS.items())
    return f'<nav aria-label="Parts of this page">{each}</nav>'


def switches(plan: Plan) -> str:
    """Compose the groups that can be shown, and how."""
    groups = {**GROUPS, **({"underlay": "Picture below"} if plan.site.underlays else {})}
    boxes = "".join(
        f'<label class="switch {name}"><input type="checkbox" data-group="{name}"'
        f"{'' if name in HIDDEN_AT_FIRST else ' checked'}>"
        f'<svg width="30" height="14" aria-hidden="true"><path d="M1 7h28"/></svg>{escaped(words)}</label>'
        for name, words in groups.items()
    )
    sun = '<label class="switch"><input type="checkbox" id="sun">Bright sun: bold, no grey</label>'
    return section(
        "On the map",
        f'<fieldset><legend>Show</legend><div class="switches">{boxes}{sun}</div></fieldset>',
        items(escaped(underlay_words(plan, each)) for each in plan.site.underlays)
        if plan.site.underlays
        else "",
        name="switches",
    )


def underlay_words(plan: Plan, picture: Underlay) -> str:
    """Say by what a picture was laid and how well its points agree."""
    weight = f"It makes this page {len(picture.content) * 4 / 3e6:.1f} MB larger"
    return f"{laid_words(picture, Printer(plan.site.units))} {weight}."


def laid_words(picture: Underlay, print_: Printer) -> str:
    """Say the same, without what it means for a page."""
    at = [
        each.at if isinstance(each.at, str) else f"{each.at[0]:.6f}, {each.at[1]:.6f}"
        for each in picture.points
    ]
    laid = f"Picture {picture.name}, laid by {', '.join(at)}"
    misfit_m = picture.lie.misfit_m if picture.lie else None
    if misfit_m is None:
        held = "two points, so nothing shows whether they are right: a third would"
    else:
        held = (
            f"{at[2]} lies {print_.length(misfit_m)} from where the first two put it,"
            " and the picture is stretched by that"
        )
    return f"{laid}: {held}. It is to look at: nothing was measured on it."


def tools(plan: Plan) -> str:
    """Compose the field to find places, the distances and the position."""
    metric = plan.site.units == "m"
    example = "0+041" if metric else "1+35"
    return section(
        "Find and measure",
        '<form id="go-to"><label for="station">Station or name</label>'
        f'<input id="station" autocomplete="off" placeholder="{example}" size="12"><button type="submit">Go</button>'
        '<button type="button" data-view="site">Whole site</button><button type="button" data-view="trench">Trench</button>'
        '<output for="station"></output></form>',
        '<div id="tape" role="group" aria-label="Distances"><button type="button" id="tape-start" aria-pressed="false">Distances'
        '</button><button type="button" id="tape-back">Take back</button>'
        '<button type="button" id="tape-clear">Clear</button>'
        '<p id="tape-help" hidden>Tap two or more points on the map. By keyboard: the arrows move the map under the cross,'
        " Enter takes the point, Backspace takes it back, Escape ends.</p>"
        '<ol id="tape-list"></ol><p id="tape-sum" role="status"></p></div>',
        '<div id="where"><button type="button" id="where-button" aria-pressed="false">Where am I</button>'
        '<output id="where-answer" for="where-button"></output>'
        "<p>The page sends nothing; the browser may ask a service of its own for the position.</p></div>",
        name="tools",
    )
