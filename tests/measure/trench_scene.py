"""Small sites to measure: one trench, a few things in its way, rules with round numbers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from shapely import LineString, Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from siteplan.route.model import Layout, LinePath, Reach, Run
from siteplan.rules.citation import Citation
from siteplan.rules.model import (
    Cover,
    LocateRules,
    Numbered,
    Requirements,
    RootRules,
    Separation,
    TrenchRules,
)
from siteplan.site.evidence import Evidence
from siteplan.site.features import Fact, Feature, Line, Source
from siteplan.site.site import Digging, Site

FT = 0.3048
IN = FT / 12
PIPE_OD_M = 1.315 * IN
SURVEYED = Evidence(method="surveyed")
HERE = Source(file="site.toml", line=7)
CITED = Citation(row="row", layer="test", text="made up for this test", standing="site")
SURFACE_CLASSES = ("yard", "dwelling_drive", "road", "slab")


def feature(
    feature_id: str, kind: str, shape: BaseGeometry, evidence: Evidence = SURVEYED, **facts: Fact
) -> Feature:
    return Feature(
        id=feature_id,
        kind=kind,
        name=feature_id.capitalize(),
        shape=shape,
        evidence=evidence,
        facts=facts,
        source=Source(file="site.geojson", line=3),
    )


WELL = feature("well", "well", Point(0, 0))
HOUSE = feature("house", "building", box(30, -5, 40, 5))


def line(line_id: str = "water", carries: Any = "water", product: str = "pe-1-ips", **options: Any) -> Line:
    given = {"start": "well", "end": "house", **options}
    return Line(id=line_id, name=f"{line_id} line", carries=carries, product=product, source=HERE, **given)


WATER = line()
POWER = line("power", "electric", "pvc-1")


def site(*features: Feature, lines: tuple[Line, ...] = (WATER,), units: Any = "ft", **digging: Any) -> Site:
    dug = {
        "bucket_m": 24 * IN,
        "bedding_m": 4 * IN,
        "entered": False,
        "soil": "common_earth",
        "laying": SURVEYED,
        "depth_error_m": 0.0,
        **digging,
    }
    return Site(
        name="Test",
        folder="",
        units=units,
        coordinates="ground",
        rules="test",
        digging=Digging(**dug),
        features=features or (WELL, HOUSE),
        lines=lines,
    )


def number(value: float) -> Numbered:
    return Numbered(value=value, citation=CITED)


def requirements(
    covers_m: Mapping[str, float | None] | float | None = 54 * IN,
    *,
    drive_m: float | None = None,
    separations: Iterable[Separation] = (),
    lines: Iterable[str] = ("water", "power", "barn"),
) -> Requirements:
    """Rules with one cover for each line (or all), more under the drive, 18 in of hand digging."""
    by_line = covers_m if isinstance(covers_m, Mapping) else dict.fromkeys(lines, covers_m)
    covers = tuple(
        Cover(
            line=line_id,
            surface=surface,
            least_m=drive_m if surface == "dwelling_drive" and drive_m is not None else cover_m,
            form="as tested",
            citation=CITED,
        )
        for line_id, cover_m in by_line.items()
        for surface in SURFACE_CLASSES
    )
    return Requirements(
        setbacks=(),
        covers=covers,
        separations=tuple(separations),
        trench=TrenchRules(
            spoil_back_m=number(2 * FT),
            egress_depth_m=number(4 * FT),
            egress_spacing_m=number(25 * FT),
            protection_depth_m=number(5 * FT),
            engineer_depth_m=number(20 * FT),
            slope_by_class={"A": number(0.75), "B": number(1.0), "C": number(1.5)},
        ),
        locate=LocateRules(tolerance_m=number(18 * IN), call="", notice="", life="", citation=CITED),
        roots=RootRules(radius_per_diameter=number(12), least_m=number(1)),
        bend_limit_deg=number(360),
        stack=(),
        unlooked=(),
    )


def separation(of: str, to: str, **given: Any) -> Separation:
    values = {"beside_m": None, "crossing_m": None, "may_share": True, **given}
    return Separation(of=of, to=to, citation=CITED, **values)


def reach(
    *places: tuple[float, float],
    name: str = "Main",
    lines: tuple[str, ...] = ("water",),
    runs: tuple[Run, ...] = (),
    **ends: Any,
) -> Reach:
    path = LineString(places)
    given = {"starts_at": "well", "ends_at": "house", **ends}
    whole = tuple(Run(line=each, from_m=0.0, to_m=path.length) for each in lines)
    return Reach(name=name, path=path, runs=runs or whole, **given)


def layout(*reaches: Reach, paths: tuple[LinePath, ...] = (), corridor: Polygon | None = None) -> Layout:
    """Reaches as one plan; unless given, each line goes from end to end of the first reach that holds it."""
    seen = {run.line: each for each in reversed(reaches) for run in each.runs}
    whole = tuple(
        LinePath(line=name, legs=((each.name, 0.0, each.length_m),), entry=Point(each.path.coords[-1]))
        for name, each in seen.items()
    )
    return Layout(
        reaches=reaches,
        paths=paths or whole,
        kept_off=(),
        corridor=corridor or box(-100, -100, 100, 100),
        certificate="",
    )
