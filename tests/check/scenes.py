"""One well, one thing to keep away from, and one rule: the smallest site that a check can judge."""

from __future__ import annotations

from typing import Any

from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry

from siteplan.check.finding import Finding
from siteplan.check.setbacks import check_setbacks
from siteplan.measure.model import Volumes, Works
from siteplan.route.model import Layout
from siteplan.rules.citation import Citation
from siteplan.rules.model import LocateRules, Numbered, Requirements, RootRules, Setback, TrenchRules
from siteplan.site.evidence import Evidence
from siteplan.site.features import Feature, Source
from siteplan.site.site import Digging, Site
from siteplan.units import Length

FT = 0.3048
EXACT = Evidence(method="stated")
SOURCE = Source(file="site.geojson")
ROW = Citation(row="row", layer="us/xx", text="Rule 1", standing="verified")


def number(value: float) -> Numbered:
    return Numbered(value=value, citation=ROW)


def requirements(**given: Any) -> Requirements:
    values: dict[str, Any] = {
        "setbacks": (),
        "covers": (),
        "separations": (),
        "trench": TrenchRules(
            spoil_back_m=number(2 * FT),
            egress_depth_m=number(4 * FT),
            egress_spacing_m=number(25 * FT),
            protection_depth_m=number(5 * FT),
            engineer_depth_m=number(20 * FT),
            slope_by_class={"C": number(1.5)},
        ),
        "locate": LocateRules(tolerance_m=number(18 * FT / 12), call="811", notice="", life="", citation=ROW),
        "roots": RootRules(radius_per_diameter=number(12.0), least_m=number(0.0)),
        "bend_limit_deg": number(360.0),
        "stack": (),
        "unlooked": (),
    }
    return Requirements(**{**values, **given})


def works(**given: Any) -> Works:
    values: dict[str, Any] = dict.fromkeys(
        (
            "stations",
            "sections",
            "intervals",
            "crossings",
            "bends",
            "corners",
            "pulls",
            "spoil",
            "quantities",
        ),
        (),
    )
    values["volumes"] = Volumes(
        bank_m3=0, loose_m3=0, bedding_m3=0, displaced_m3=0, backfill_bank_m3=0, haul_off_m3=0
    )
    return Works(**{**values, "developed_m": (), "levelled": False, **given})


def site(*features: Feature, **given: Any) -> Site:
    digging = Digging(bucket_m=0.6, bedding_m=0.1, entered=False, soil="common_earth", laying=EXACT)
    return Site(
        name="Test yard",
        folder=".",
        units="ft",
        coordinates="ground",
        rules="us",
        digging=digging,
        features=features,
        lines=(),
        **given,
    )


def feature(
    feature_id: str, kind: str, shape: BaseGeometry, evidence: Evidence = EXACT, **facts: Any
) -> Feature:
    name = feature_id.capitalize()
    return Feature(
        id=feature_id, kind=kind, name=name, shape=shape, evidence=evidence, facts=facts, source=SOURCE
    )


def well_to(
    distance_m: float,
    least: str = "ft",
    *,
    well: Evidence = EXACT,
    other: Evidence = EXACT,
    required: float = 50.0,
    casing_m: float | None = None,
    **setback: Any,
) -> Finding:
    """Judge a well against a straight edge at a distance; the rule asks ``required`` in the unit ``least``."""
    facts = {} if casing_m is None else {"casing_diameter": casing_m}
    rule = {
        "subject": "well",
        "of": "well",
        "to": "field",
        "least": Length(required, least),
        "from_point": "casing edge",
        "to_edge": "nearest edge",
        "citation": ROW,
        **setback,
    }
    edge = LineString([(distance_m, -50), (distance_m, 50)]).buffer(1, single_sided=True)
    there = feature(
        "field", "absorption_area", edge if edge.bounds[0] >= distance_m - 1e-9 else _right(distance_m), other
    )
    here = feature("well", "well", Point(0, 0), well, **facts)
    layout = Layout(reaches=(), paths=(), kept_off=(), corridor=Point(), certificate="")
    rules = requirements(setbacks=(Setback(**rule),))
    return next(check_setbacks(site(here, there), rules, layout, works()))


def _right(distance_m: float) -> BaseGeometry:
    return LineString([(distance_m, 50), (distance_m, -50)]).buffer(1, single_sided=True)
