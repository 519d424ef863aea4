"""Small sites, built by hand in ground metres."""

from __future__ import annotations

from collections.abc import Sequence

from shapely.geometry.base import BaseGeometry

from siteplan.route.layout import lay
from siteplan.route.model import Layout
from siteplan.rules.citation import Citation
from siteplan.rules.model import (
    LocateRules,
    Numbered,
    Requirements,
    RootRules,
    Separation,
    Setback,
    TrenchRules,
)
from siteplan.site.evidence import Evidence
from siteplan.site.features import Fact, Feature, Line, Source
from siteplan.site.site import Digging, Site
from siteplan.units import Length

FOOT = 0.3048
SOURCE = Source(file="scene")
EXACT = Evidence(method="surveyed")


def cite(row: str = "test-row") -> Citation:
    return Citation(row=row, layer="test", text=row, standing="verified")


def thing(
    feature_id: str, kind: str, shape: BaseGeometry, evidence: Evidence = EXACT, **facts: Fact
) -> Feature:
    return Feature(
        id=feature_id,
        kind=kind,
        name=feature_id.capitalize(),
        shape=shape,
        evidence=evidence,
        facts=facts,
        source=SOURCE,
    )


def line(line_id: str, start: str, end: str, carries: str = "water") -> Line:
    return Line(
        id=line_id,
        name=line_id.capitalize(),
        carries=carries,  # type: ignore[arg-type]
        start=start,
        end=end,
        product="pe-1-ips" if carries == "water" else "pvc-1",
        source=SOURCE,
    )


def site(
    features: Sequence[Feature], lines: Sequence[Line], bucket_m: float = 0.6, laying: Evidence = EXACT
) -> Site:
    return Site(
        name="scene",
        folder=".",
        units="ft",
        coordinates="ground",
        rules="test",
        digging=Digging(bucket_m=bucket_m, bedding_m=0.1, entered=False, soil="common_earth", laying=laying),
        features=tuple(features),
        lines=tuple(lines),
    )


def setback(of: str, to: str, least: Length, row: str = "test-setback", applies: bool = True) -> Setback:
    return Setback(
        subject="line",
        of=of,
        to=to,
        least=least,
        from_point="nearest edge",
        to_edge="nearest edge",
        applies=applies,
        citation=cite(row),
    )


def separation(of: str, to: str, may_share: bool, beside_m: float | None = None) -> Separation:
    return Separation(
        of=of, to=to, beside_m=beside_m, crossing_m=None, may_share=may_share, citation=cite("test-apart")
    )


def asks(setbacks: Sequence[Setback] = (), separations: Sequence[Separation] = ()) -> Requirements:
    number = Numbered(value=1.0, citation=cite())
    return Requirements(
        setbacks=tuple(setbacks),
        covers=(),
        separations=tuple(separations),
        trench=TrenchRules(
            spoil_back_m=number,
            egress_depth_m=number,
            egress_spacing_m=number,
            protection_depth_m=number,
            engineer_depth_m=number,
            slope_by_class={},
        ),
        locate=LocateRules(tolerance_m=number, call="", notice="", life="", citation=cite()),
        roots=RootRules(
            radius_per_diameter=Numbered(value=12.0, citation=cite("test-roots")),
            least_m=Numbered(value=6 * FOOT, citation=cite("test-roots-least")),
        ),
        bend_limit_deg=number,
        stack=(),
        unlooked=(),
    )


def laid(scene: Site, rules: Requirements) -> Layout:
    """The layout alone, without proof and alternatives."""
    return lay(scene, rules, thorough=False)
