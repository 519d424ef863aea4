"""The plan as one map page that works with no network: the site, the trench, what was measured, and why.

The drawing is in ``map_shapes`` and ``map_lettering``, the texts in ``map_cards``, the column beside it in ``map_panel``;
the line types are in ``web_map.css``, and what moves is in ``web_map.js`` and ``web_map_lettering.js``.
"""

from __future__ import annotations

from importlib import resources
from typing import Any, get_args

from shapely import Point

from siteplan.document.map_cards import cards
from siteplan.document.map_lettering import labels
from siteplan.document.map_panel import panel
from siteplan.document.map_shapes import View, bounds, collection, places
from siteplan.document.model import Plan
from siteplan.document.page import OfflineMap, OfflineShapes, data_block, sealed_html
from siteplan.units import FOOT_M

_PATTERNS = """<svg id="patterns" width="0" height="0" aria-hidden="true"><defs>
<pattern id="hatch-hand" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
<path d="M0 0v6" stroke="#000" stroke-width="4"/></pattern>
<pattern id="hatch-kept" width="11" height="11" patternUnits="userSpaceOnUse" patternTransform="rotate(-45)">
<path d="M0 0v11" stroke="#555" stroke-width="1.2"/></pattern>
<marker id="tick" markerWidth="3" markerHeight="14" refX="1.5" refY="7" orient="auto" markerUnits="userSpaceOnUse">
<path d="M1.5 0v14" stroke="#000" stroke-width="1.6"/></marker>
</defs></svg>
<template id="north"><svg width="34" height="52" role="img" aria-label="North is up" viewBox="0 0 34 52">
<path d="M17 2 26 36 17 30 8 36Z" fill="none" stroke="#000" stroke-width="1.6"/><path d="M17 2 17 30 8 36Z"/>
<text x="17" y="51" font-size="16" font-weight="700" text-anchor="middle">N</text></svg></template>"""


def map_html(plan: Plan) -> str:
    """Write the map page; the same plan gives the same bytes.

    Raises
    ------
    SiteplanError
        If the site has no place on the earth, or Leaflet is missing from the installation.
    """
    import folium

    map_ = OfflineMap(bounds(plan))
    shapes = OfflineShapes(
        collection(plan),
        style_function=lambda each: {"className": each["properties"]["look"]},
        marker=folium.CircleMarker(radius=5),
    ).add_to(map_)
    names = f"const planShapes = {shapes.get_name()};"
    return sealed_html(
        map_,
        title=f"{plan.site.name}: trench and setbacks",
        styles=_text("web_map.css"),
        scripts=[names, _text("web_map_lettering.js"), _text("web_map.js")],
        body=f"{_PATTERNS}{panel(plan)}{data_block(_data(plan))}",
    )


def _text(name: str) -> str:
    return resources.files("siteplan.document").joinpath(name).read_text(encoding="utf-8")


def _data(plan: Plan) -> dict[str, Any]:
    """What the scripts read: cards, labels, and each trench as distances [m] with their longitude and latitude."""
    stretches = list(enumerate(plan.works.stretches(plan.layout.reaches), 1))
    return {
        "cards": cards(plan),
        "labels": labels(plan),
        "reaches": [
            {
                "name": reach.name,
                "length_m": reach.length_m,
                "places": [
                    [reach.path.project(Point(place)), *at]
                    for place, at in zip(reach.path.coords, places(plan, reach.path), strict=True)
                ],
                "stretches": [
                    {"to_m": to_m, "ref": f"stretch-{number}"}
                    for number, (name, _, to_m, _) in stretches
                    if name == reach.name
                ],
            }
            for reach in plan.layout.reaches
        ],
        "station": {"full": 1000, "unit_m": 1.0}
        if plan.site.units == "m"
        else {"full": 100, "unit_m": FOOT_M},
        "views": {view: bounds(plan, view) for view in get_args(View)},
    }
