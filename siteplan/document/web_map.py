"""The plan as one map page that works with no network: the site, the trench, what was measured, and why.

The drawing is in ``map_shapes`` and ``map_lettering``, the texts in ``map_cards``, the column beside it in ``map_panel``,
all that the scripts read in ``map_data``. The line types are in ``web_map.css``, the tools, the phone and the bright sun in
``web_map_tools.css``, the printed page in ``web_map_paper.css``. Each script does one thing and says what at its head.
"""

from __future__ import annotations

from importlib import resources

from siteplan.document.map_data import page_data
from siteplan.document.map_panel import panel
from siteplan.document.map_shapes import bounds, collection
from siteplan.document.model import Plan
from siteplan.document.page import OfflineMap, OfflineShapes, data_block, sealed_html

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
_STYLES = ("web_map.css", "web_map_tools.css", "web_map_paper.css")
_SCRIPTS = tuple(
    f"web_map{part}.js" for part in ("_plan", "_underlay", "_lettering", "_pointer", "_find", "_tools", "")
)


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
        styles="\n".join(map(_text, _STYLES)),
        scripts=[names, *map(_text, _SCRIPTS)],
        body=f"{_PATTERNS}{panel(plan)}{data_block(page_data(plan))}",
    )


def _text(name: str) -> str:
    return resources.files("siteplan.document").joinpath(name).read_text(encoding="utf-8")
