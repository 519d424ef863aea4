"""A 200 ft trench past a septic tank, with a bend, a branch, a crossing and a second line: numbers that a hand can check.

Feet east (x) and north (y) of the casing. Main goes from (0, 0) to (150, 0), bends 45 degrees left there and ends at (200, 50).
The tank is 13.3 ft north of the centreline at 0+95 to 1+05. The branch A tees off at 0+60 and goes 80 ft south to the barn. A
gas line crosses at 1+20, 24 in deep. A hydrant stands on the branch at 0+40: its line ends where it tees off.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

from shapely import LineString, Point, box

from siteplan.check import check
from siteplan.document.model import Plan
from siteplan.document.record_model import Record
from siteplan.measure import measure
from siteplan.plane.frame import Frame
from siteplan.read.shots import read_shots
from siteplan.record import record_plan
from siteplan.route.model import LinePath, Run
from siteplan.rules.model import Setback
from siteplan.site.evidence import Evidence
from siteplan.site.record import Measurement
from siteplan.units import Length
from tests.measure.trench_scene import (
    CITED,
    FT,
    IN,
    POWER,
    WATER,
    feature,
    layout,
    line,
    reach,
    requirements,
    separation,
    site,
)

TAPED = Evidence(method="taped", private_m=0.5 * FT)
FRAME = Frame(longitude_deg=-112.0, latitude_deg=46.0, height_m=1200.0)
COLUMNS = (
    "line,what,reach,station,offset,from_1,tape_1,from_2,tape_2,from_3,tape_3,side,"
    "cover,date,time,crew,ticket,material,photo\n"
)


def foot_box(west: float, south: float, east: float, north: float) -> Any:
    return box(west * FT, south * FT, east * FT, north * FT)


def feet(*places: tuple[float, float]) -> list[tuple[float, float]]:
    return [(x * FT, y * FT) for x, y in places]


@cache
def plan(
    *, tank_ft: float = 13.3, required_ft: float = 10.0, known: Evidence = TAPED, **digging: Any
) -> Plan:
    """The scene as a plan; ``required_ft`` is what the rules ask from water to the tank."""
    things = (
        feature("well", "well", Point(0, 0), known),
        feature("house", "building", foot_box(200, 40, 240, 60), known),
        feature("barn", "building", foot_box(40, -110, 90, -80), known),
        feature("hydrant", "hydrant", Point(*feet((60, -40))[0]), known),
        feature("shed", "building", foot_box(60, 60, 70, 70), known),
        feature("tank", "septic_tank", foot_box(95, tank_ft, 105, tank_ft + 6), known),
        feature(
            "gas",
            "buried_line",
            LineString(feet((120, -40), (120, 40))),
            known,
            depth=24 * IN,
            diameter=1 * IN,
        ),
    )
    branch = line("barn", start="water", end="barn")
    yard_line = line("yard", start="barn", end="hydrant")
    yard = replace(
        site(
            *things,
            lines=(WATER, POWER, branch, yard_line),
            laying=Evidence(method="staked", private_m=0.5 * FT),
            **digging,
        ),
        elevation_m=1200.0,
    )
    asked = requirements(
        {"water": 54 * IN, "power": 24 * IN, "barn": 54 * IN, "yard": 54 * IN},
        separations=(
            separation("water", "power", beside_m=12 * IN),
            separation("water", "gas", crossing_m=12 * IN),
            separation("power", "gas", crossing_m=12 * IN),
        ),
    )
    rule = Setback(
        subject="line",
        of="water",
        to="tank",
        least=Length(required_ft, "ft"),
        from_point="nearest edge",
        to_edge="nearest edge",
        citation=CITED,
    )
    asked = replace(asked, setbacks=(rule, replace(rule, of="yard")))
    main = reach(*feet((0, 0), (150, 0), (200, 50)), lines=("water", "power"))
    branch_m = 80 * FT
    side = reach(
        *feet((60, 0), (60, -80)),
        name="A",
        runs=(Run(line="barn", from_m=0.0, to_m=branch_m),),
        parent="Main",
        parent_m=60 * FT,
        starts_at="Main",
        ends_at="barn",
    )
    ends = Point(*feet((200, 50))[0])
    drawn = layout(
        main,
        side,
        paths=(
            LinePath(line="water", legs=(("Main", 0.0, main.length_m),), entry=ends),
            LinePath(line="power", legs=(("Main", 0.0, main.length_m),), entry=ends),
            LinePath(line="barn", legs=(("A", 0.0, branch_m),), entry=Point(*feet((60, -80))[0])),
            LinePath(line="yard", legs=(("A", 40 * FT, 40 * FT),), entry=Point(*feet((60, -40))[0])),
        ),
    )
    works = measure(yard, asked, drawn, None)
    return Plan(
        site=yard,
        frame=FRAME,
        ground=None,
        requirements=asked,
        layout=drawn,
        works=works,
        findings=check(yard, asked, drawn, works),
    )


def record(
    folder: Path, rows: str, earlier: tuple[Measurement, ...] = (), *, columns: str = COLUMNS, **scene: Any
) -> Record:
    """The scene as built, from rows of ``shots.csv``."""
    (folder / "shots.csv").write_text(columns + rows, encoding="utf-8")
    planned = plan(**scene)
    return record_plan(planned, read_shots(folder, planned.site), earlier)
