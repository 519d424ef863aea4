"""A long site with much on it, measured from a layout made by hand: 2,000 ft of trench, 12 crossings, 40 hazards, long names."""

from __future__ import annotations

from dataclasses import replace
from math import sin
from typing import Any

from sample_plan import FEATURES, LINES, sample_plan, thing
from shapely import LineString, Point, box

from siteplan.document.model import Plan
from siteplan.measure import measure
from siteplan.plane.ground import GroundSurface
from siteplan.route.model import LinePath, Reach, Run
from siteplan.site.evidence import Evidence
from siteplan.units import System

FT = 0.3048
LONG_M = 2000 * FT
HAZARDS, CROSSINGS = 40, 12
LONG_NAME = "Cooperative of the upper valley and its neighbours, number {}, as marked by them"
TRACED = Evidence(method="record", private_m=3 * FT, edge_m=2 * FT)


def ground_m(x: float, y: float) -> float:
    """Rolling, with a flat of 300 ft in its middle."""
    return 1300.0 + (0.0 if 250 < x < 341 else 2.5 * sin((x - 295) / 40))


def _crossed(n: int) -> Any:
    x = 20.0 + n * (LONG_M - 60) / (CROSSINGS - 1)
    carries = ("gas", "communications", "electric", "water")[n % 4]
    facts = {"carries": carries, "private": bool(n % 2), "owner": LONG_NAME.format(n)}
    if n % 3:
        facts["depth"] = (20 + n) * FT / 12
    return thing(
        f"line{n}",
        "buried_line",
        LONG_NAME.format(n),
        LineString([(x - 5, -40), (x + 5, 70)]),
        TRACED,
        facts=facts,
    )


def _hazard(n: int) -> Any:
    x = 12.0 + n * (LONG_M - 24) / HAZARDS
    kind = ("septic_tank", "fuel_tank", "absorption_area", "cistern", "overhead_line")[n % 5]
    if kind == "overhead_line":
        shape, facts = LineString([(x, -60), (x + 8, 80)]), {"volts": 7200.0, "owner": LONG_NAME.format(n)}
        return thing(f"hazard{n}", kind, f"Overhead line {n}", shape, TRACED, facts=facts)
    shape = box(x, 25 + n % 7, x + 4, 28 + n % 7)
    return thing(f"hazard{n}", kind, f"{LONG_NAME.format(n)}, its {kind.replace('_', ' ')}", shape, TRACED)


def big_plan(units: System = "ft", *, levelled: bool = True) -> Plan:
    """Measure a trench of 2,000 ft with a bend every 50 m."""
    plan = sample_plan(units=units)
    spots = [(0.0, 0.0)] + [(at, 6.0 * (-1) ** n) for n, at in enumerate(range(50, 600, 50))]
    loose = LineString([*spots, (LONG_M, 0.0)])
    path = LineString([(x * LONG_M / loose.length, y) for x, y in loose.coords])
    well, house = (next(one for one in FEATURES if one.id == name) for name in ("well", "house"))
    end = path.coords[-1]
    features = (
        replace(well, shape=Point(0, 0)),
        replace(house, shape=box(end[0], end[1] - 5, end[0] + 12, end[1] + 6), status="existing"),
        thing("barn", "building", "Barn of the upper meadow with a long name", box(180, -30, 200, -18)),
        thing("shed", "building", "Shed", box(400, -32, 412, -24)),
        thing("drive", "drive", LONG_NAME.format("of the drive"), box(100, -60, 106, 80)),
        *(_crossed(n) for n in range(CROSSINGS)),
        *(_hazard(n) for n in range(HAZARDS)),
    )
    lines = LINES[:2]
    runs = tuple(Run(line=line.id, from_m=0.0, to_m=path.length) for line in lines)
    reach = Reach(name="Main", path=path, runs=runs, starts_at="well", ends_at="house")
    paths = tuple(
        LinePath(line=line.id, legs=(("Main", 0.0, path.length),), entry=Point(end)) for line in lines
    )
    layout = replace(plan.layout, reaches=(reach,), paths=paths, kept_off=(), corridor=box(-50, -80, 700, 90))
    site = replace(plan.site, features=features, lines=lines, name=LONG_NAME.format("one, a very long farm"))
    ground = None
    if levelled:
        ground = GroundSurface(
            [[x, y, ground_m(x, y)] for x in range(-60, 720, 10) for y in range(-100, 120, 10)]
        )
    works = measure(site, plan.requirements, layout, ground)
    return replace(plan, site=site, layout=layout, works=works, ground=ground, findings=())
