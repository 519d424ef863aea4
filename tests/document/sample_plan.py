"""A small but complete plan, made by hand from the dataclasses: an invented yard of 200 ft by 150 ft.

Two trenches (Main with water and power to the house, A with water to the barn), a drive, two buried lines to cross, an overhead
line, a septic system, one finding of every verdict. Nothing here was computed by siteplan.
"""

from __future__ import annotations

from datetime import date
from itertools import combinations
from math import atan2, hypot, pi
from typing import Any

import shapely
from shapely import LineString, Point, box
from shapely.geometry.base import BaseGeometry

from siteplan.check.finding import Finding
from siteplan.document.model import Plan
from siteplan.measure.model import (
    BenchMark,
    Bend,
    Corner,
    Crossing,
    HeldReading,
    Interval,
    LaidLine,
    PriceRow,
    Pull,
    Quantity,
    Section,
    SpoilPile,
    Station,
    Volumes,
    Works,
)
from siteplan.measure.said import Said
from siteplan.plane.frame import Frame
from siteplan.plane.ground import GroundSurface
from siteplan.route.model import Alternative, KeptOff, Layout, LinePath, Reach, Run
from siteplan.route.priced.bill import Item
from siteplan.route.strip import Fit
from siteplan.rules.citation import Citation
from siteplan.rules.model import (
    Cover,
    LayerNote,
    LocateRules,
    Numbered,
    Requirements,
    RootRules,
    Separation,
    Setback,
    TrenchRules,
)
from siteplan.site.evidence import Evidence
from siteplan.site.features import Feature, Line, Source
from siteplan.site.site import Digging, Level, Paper, Site
from siteplan.units import Length, System

FOOT = 0.3048
INCH = FOOT / 12
FROM = Source(file="site.geojson")
TAPED = Evidence(method="taped", private_m=0.5 * FOOT)
RECORD = Evidence(method="record", private_m=3 * FOOT, edge_m=2 * FOOT)
DRIVE = box(30, 17, 34, 46)


def cite(row: str, text: str, **more: Any) -> Citation:
    return Citation(
        **{"row": row, "layer": "us/xx", "text": text, "standing": "verified", "edition": "2024", **more}
    )


def numbered(value: float, row: str, text: str, **more: Any) -> Numbered:
    return Numbered(value=value, citation=cite(row, text, **more))


def thing(
    thing_id: str, kind: str, name: str, shape: BaseGeometry, evidence: Evidence = TAPED, **more: Any
) -> Feature:
    return Feature(id=thing_id, kind=kind, name=name, shape=shape, evidence=evidence, source=FROM, **more)


FEATURES = (
    thing("parcel", "parcel", "Parcel 7", box(0, 0, 61, 46), Evidence(method="surveyed", private_m=0.03)),
    thing("well", "well", "Well", Point(9, 38), facts={"casing_depth": 18.9, "casing_diameter": 6 * INCH}),
    thing("house", "building", "House", box(38, 8, 52, 18), status="proposed"),
    thing("barn", "building", "Barn", box(44, 32, 54, 40)),
    thing("tank", "septic_tank", "Septic tank", box(32.5, 9.4, 35, 10.6)),
    thing("field", "absorption_area", "Absorption area", box(14, 4, 27, 12), RECORD),
    thing("reserve", "reserve_area", "Reserve area", box(14, 13.5, 27, 18), RECORD, status="reserve"),
    thing("sewer", "building_sewer", "Building sewer", LineString([(38, 10), (35, 10)]), RECORD),
    thing("effluent", "effluent_line", "Effluent line", LineString([(32.5, 10), (27, 9)]), RECORD),
    thing("drive", "drive", "Gravel drive", DRIVE),
    thing("tree", "tree", "Pine, 14 in", Point(24, 34), facts={"trunk_diameter": 14 * INCH}),
    thing("propane", "fuel_tank", "Propane tank", box(56, 12, 58, 13.2), facts={"product": "propane"}),
    thing(
        "gas",
        "buried_line",
        "Propane line",
        LineString([(56, 12.6), (52, 12.6)]),
        RECORD,
        facts={"carries": "gas", "private": True, "owner": "owner"},
    ),
    thing(
        "cable",
        "buried_line",
        "Old pump cable",
        LineString([(4, 28), (24, 40)]),
        Evidence(method="owner_says", private_m=15 * FOOT),
        facts={"carries": "electric", "private": True, "owner": "owner"},
    ),
    thing(
        "phone",
        "buried_line",
        "Telephone line",
        LineString([(26, 46), (38, 17)]),
        RECORD,
        facts={
            "carries": "communications",
            "private": False,
            "owner": "telephone company",
            "depth": 24 * INCH,
        },
    ),
    thing(
        "overhead",
        "overhead_line",
        "Overhead power",
        LineString([(0, 37), (20, 46)]),
        facts={"volts": 7200.0, "height": 24 * FOOT, "owner": "electric cooperative"},
    ),
)

LINES = (
    Line(
        id="water-house",
        name="Water to house",
        carries="water",
        start="well",
        end="house",
        product="pe-1-ips",
        source=FROM,
    ),
    Line(
        id="pump-power",
        name="Pump power",
        carries="electric",
        start="well",
        end="house",
        product="pvc-1",
        method="nonmetallic_raceway",
        facts={"volts": 240.0},
        source=FROM,
    ),
    Line(
        id="water-barn",
        name="Water to barn",
        carries="water",
        start="water-house",
        end="barn",
        product="pe-1-ips",
        source=FROM,
    ),
)

MAIN = LineString([(9, 38), (20, 27), (38, 15)])
TEE_M = 18.0
TEE = MAIN.interpolate(TEE_M)
BRANCH = LineString([(TEE.x, TEE.y), (28, 31), (44, 36)])
REACHES = (
    Reach(
        name="Main",
        path=MAIN,
        runs=(
            Run(line="water-house", from_m=0, to_m=MAIN.length),
            Run(line="pump-power", from_m=0, to_m=MAIN.length),
        ),
        starts_at="well",
        ends_at="house",
    ),
    Reach(
        name="A",
        path=BRANCH,
        runs=(Run(line="water-barn", from_m=0, to_m=BRANCH.length),),
        parent="Main",
        parent_m=TEE_M,
        starts_at="Main",
        ends_at="barn",
    ),
)

FROST = cite("xx-frost", "Plumbing code 305.4 as amended", note="frost 42 in")
NEC = cite("us-nec-300-5-r1", "NEC Table 300.5", edition="2023", standing="secondary")
PIPE_M = 1.315 * INCH
BEDDING_M = 4 * INCH
WIDTH_M = 24 * INCH
COVERS = {
    ("water", "yard"): 54 * INCH,
    ("water", "dwelling_drive"): 66 * INCH,
    ("electric", "yard"): 18 * INCH,
    ("electric", "dwelling_drive"): 18 * INCH,
}


def cover(line: Line, surface: str) -> Cover:
    least = COVERS[line.carries, surface]
    form = f"max(frost {(least - 12 * INCH) / INCH:.0f} in + 12 in, 12 in) = {least / INCH:.0f} in"
    return Cover(
        line=line.id,
        surface=surface,
        least_m=least,
        form=form if line.carries == "water" else "18 in",
        citation=FROST if line.carries == "water" else NEC,
    )


def section(name: str, surface: str, lines: tuple[Line, ...]) -> Section:
    covers = tuple(cover(line, surface) for line in lines)
    deepest = max(covers, key=lambda one: one.least_m or 0)
    assert deepest.least_m is not None
    offsets = (0.0,) if len(lines) == 1 else (0.18, -0.18)
    return Section(
        name=name,
        surface="yard" if surface == "yard" else "drive",
        width_m=WIDTH_M,
        cut_m=deepest.least_m + PIPE_M + BEDDING_M,
        side_slope=0.0,
        top_width_m=WIDTH_M,
        bedding_m=BEDDING_M,
        lines=tuple(
            LaidLine(
                line=one.line,
                outside_m=PIPE_M,
                offset_m=offset,
                cover_m=max(one.least_m or 0, 24 * INCH),
                required=one,
            )
            for one, offset in zip(covers, offsets, strict=True)
        ),
        governed_by=deepest,
    )


SECTIONS = (
    section("1", "yard", LINES[:2]),
    section("2", "dwelling_drive", LINES[:2]),
    section("3", "yard", LINES[2:]),
    section("4", "dwelling_drive", LINES[2:]),
)
CORNERS = (
    Corner(name=Said("{name} {side}", name="house", side=Said("NW")), x=38, y=18),
    Corner(name=Said("{name} {side}", name="house", side=Said("SW")), x=38, y=8),
    Corner(name=Said("{name} {side}", name="barn", side=Said("NW")), x=44, y=40),
    Corner(name=Said("{name} {side}", name="barn", side=Said("SW")), x=44, y=32),
)


BENCH_MARK = BenchMark(at="painted mark on the casing", elevation_m=1357.9)


def ground_m(x: float, y: float) -> float:
    return 1356.0 + 0.05 * y - 0.02 * x


def ties(x: float, y: float) -> tuple[tuple[str, float], ...]:
    def flatness(pair: tuple[Corner, Corner]) -> float:
        one, other = (atan2(corner.y - y, corner.x - x) for corner in pair)
        return abs((one - other) % pi - pi / 2)

    best = min(combinations(CORNERS, 2), key=flatness)
    return tuple((corner.name, hypot(corner.x - x, corner.y - y)) for corner in best)


def crossing(number: int, reach: Reach, feature_id: str, **more: Any) -> Crossing:
    line = next(one for one in FEATURES if one.id == feature_id)
    spot = reach.path.intersection(line.shape)
    along = reach.path.project(spot)
    return Crossing(
        number=number,
        reach=reach.name,
        distance_m=along,
        x=spot.x,
        y=spot.y,
        feature=feature_id,
        hand_from_m=along - 5 * FOOT,
        hand_to_m=along + 5 * FOOT,
        **more,
    )


CROSSINGS = (
    crossing(
        1,
        REACHES[0],
        "cable",
        angle_deg=76.0,
        their_depth_m=None,
        ours="pump-power",
        over=None,
        clear_m=None,
        required_m=None,
    ),
    crossing(
        2,
        REACHES[1],
        "phone",
        angle_deg=87.0,
        their_depth_m=24 * INCH,
        ours="water-barn",
        over=False,
        clear_m=29 * INCH,
        required_m=12 * INCH,
    ),
)


def on_drive(reach: Reach) -> tuple[float, float]:
    ends = [reach.path.project(Point(xy)) for xy in reach.path.intersection(DRIVE).coords]
    return min(ends), max(ends)


def stations(reach: Reach, step_m: float, levelled: bool) -> list[Station]:
    begins, ends = on_drive(reach)
    yard, drive = ("1", "2") if reach.name == "Main" else ("3", "4")
    long = reach.path.length
    events: dict[float, tuple[str, Any]] = {
        n * step_m: (Said("straight"), "interval") for n in range(1, int(long / step_m) + 1)
    }
    events |= {
        0.0: (Said("casing") if reach.name == "Main" else Said("tee on {reach}", reach="Main"), "start"),
        long: (Said("{name} wall", name="House" if reach.name == "Main" else "Barn"), "end"),
    }
    events[begins] = (Said("{name} begins", name="Gravel drive"), "surface")
    events[ends] = (Said("{name} ends", name="Gravel drive"), "surface")
    bend = next(one for one in BENDS if one.reach == reach.name)
    side = "left" if bend.deflection_deg > 0 else "right"
    turned = Said(f"bend {{name}}, {{deg}} deg {side}", name=bend.name, deg=f"{abs(bend.deflection_deg):.0f}")
    events[bend.distance_m] = (turned, "bend")
    if reach.name == "Main":
        events[TEE_M] = (Said("tee, branch {name}", name="A"), "tee")
    hand = [one for one in CROSSINGS if one.reach == reach.name]
    for one in hand:
        of = Said("crossing {number}", number=str(one.number))
        name = next(feature.name for feature in FEATURES if feature.id == one.feature)
        events[one.hand_from_m] = (Said("hand dig begins ({of})", of=of), "hand_dig")
        crossed = Said("crossing {number}, {name}", number=str(one.number), name=name)
        events[one.distance_m] = (crossed, "crossing")
        events[one.hand_to_m] = (Said("hand dig ends ({of})", of=of), "hand_dig")
    made = []
    for along, (what, kind) in sorted(events.items()):
        spot = reach.path.interpolate(along)
        here = next(one for one in SECTIONS if one.name == (drive if begins <= along < ends else yard))
        grade = ground_m(spot.x, spot.y) if levelled else None
        made.append(
            Station(
                reach=reach.name,
                distance_m=along,
                x=spot.x,
                y=spot.y,
                what=what,
                kind=kind,
                grade_m=grade,
                cut_m=here.cut_m,
                bottom_m=None if grade is None else grade - here.cut_m,
                width_m=here.width_m,
                section=here.name if kind in ("start", "surface") else "",
                hand_dig=any(one.hand_from_m <= along <= one.hand_to_m for one in hand),
                ties=() if kind == "interval" else ties(spot.x, spot.y),
            )
        )
    return made


BENDS = (
    Bend(
        name="B1",
        reach="Main",
        distance_m=hypot(11, 11),
        x=20,
        y=27,
        deflection_deg=11.3,
        least_radius_m=32.875 * INCH,
    ),
    Bend(
        name="B2",
        reach="A",
        distance_m=BRANCH.project(Point(28, 31)),
        x=28,
        y=31,
        deflection_deg=-10.7,
        least_radius_m=32.875 * INCH,
    ),
)
PROTECT = numbered(5 * FOOT, "us-osha-protect", "29 CFR 1926.652(a)(1)")
EGRESS = numbered(4 * FOOT, "us-osha-egress", "29 CFR 1926.651(c)(2)")
TOLERANCE = numbered(18 * INCH, "xx-locate", "Excavation notice law 69-4-501")
BEND_LIMIT = numbered(360.0, "us-nec-bends", "NEC 352.26", standing="secondary")


PRICES = (
    PriceRow(
        row="dig-machine",
        what="trench by machine",
        unit="length",
        amount=100 * FOOT,
        low=500.0,
        likely=800.0,
        high=1200.0,
        stated=True,
    ),
    PriceRow(
        row="tee",
        what="tee, and the hole for it",
        unit="count",
        amount=1.0,
        low=60.0,
        likely=120.0,
        high=250.0,
        stated=False,
    ),
)
"""Made up: 560, 920 and 1450 in all."""

ALTERNATIVES = (
    Alternative(
        name="round the drive",
        paths=(LineString([(9, 38), (20, 42), (44, 38)]), LineString([(20, 42), (38, 16)])),
        price=1000.0,
        why="$80 dearer: 12.0 ft more trench.",
    ),
    Alternative(
        name="bored under Gravel drive",
        paths=(LineString([(9, 38), (38, 14)]),),
        price=1500.4,
        why="$580 dearer: a bore under Gravel drive.",
    ),
)


def works(step_m: float, levelled: bool) -> Works:
    return Works(
        stations=tuple(one for reach in REACHES for one in stations(reach, step_m, levelled)),
        sections=SECTIONS,
        intervals=tuple(
            Interval(
                reach=reach.name,
                from_m=on_drive(reach)[0],
                to_m=on_drive(reach)[1],
                what="protection",
                rule=PROTECT,
            )
            for reach in REACHES
        )
        + tuple(
            Interval(reach=reach.name, from_m=0, to_m=reach.path.length, what="egress", rule=EGRESS)
            for reach in REACHES
        )
        + tuple(
            Interval(
                reach=one.reach,
                from_m=one.hand_from_m,
                to_m=one.hand_to_m,
                what=f"hand dig (crossing {one.number})",
                of=Said("crossing {number}", number=str(one.number)),
                rule=TOLERANCE,
            )
            for one in CROSSINGS
        )
        + (
            Interval(
                reach="Main",
                from_m=MAIN.length - 2,
                to_m=MAIN.length,
                what="hand dig (beside Building sewer)",
                of=Said("beside {name}", name="Building sewer"),
                rule=TOLERANCE,
            ),
        ),
        crossings=CROSSINGS,
        bends=BENDS,
        corners=CORNERS,
        bench_mark=BENCH_MARK if levelled else None,
        held=(HeldReading(reach="Main", from_m=2.0, to_m=9.0, level_m=1355.7),) if levelled else (),
        pulls=(
            Pull(
                line="pump-power",
                plan_deg=11.3,
                risers_deg=180,
                sum_deg=191.3,
                limit=BEND_LIMIT,
                length_m=MAIN.length + 3,
            ),
        ),
        volumes=Volumes(
            bank_m3=60.0,
            loose_m3=75.0,
            bedding_m3=4.0,
            displaced_m3=4.1,
            backfill_bank_m3=55.9,
            haul_off_m3=5.1,
            by_reach=(("Main", 36.0), ("A", 24.0)),
        ),
        spoil=(
            SpoilPile(
                reach="Main",
                side="left",
                height_m=1.0,
                width_m=2.9,
                strip_m=4.1,
                why="uphill side, clear of the reserve area",
                fits=(Fit(0.0, MAIN.length, "left"),),
            ),
            SpoilPile(
                reach="A",
                side="right",
                height_m=0.9,
                width_m=2.6,
                strip_m=3.8,
                why="clear of the tree",
                fits=(Fit(0.0, BRANCH.length, "right"),),
            ),
        ),
        quantities=(
            Quantity(
                item="1 in PE pipe, IPS, DR 11",
                unit="length",
                amount=64.0,
                order=91.44,
                note="coils of 100 ft",
            ),
            Quantity(item="sand bedding", unit="volume", amount=4.0, order=4.0),
        ),
        developed_m=(
            ("water-house", MAIN.length + 3),
            ("pump-power", MAIN.length + 3),
            ("water-barn", BRANCH.length + 2),
        ),
        levelled=levelled,
        prices=PRICES,
    )


DRAINFIELD = cite(
    "xx-well-drainfield", "Private well code 36.21 (4)(b)", note="to the nearest edge, reserve included"
)
SETBACKS = (
    Setback(
        subject="well",
        of="well",
        to="reserve",
        least=Length(100, "ft"),
        from_point="casing edge",
        to_edge="nearest edge",
        citation=DRAINFIELD,
    ),
    Setback(
        subject="well",
        of="well",
        to="field",
        least=Length(75, "ft"),
        from_point="casing edge",
        to_edge="nearest edge",
        citation=DRAINFIELD,
    ),
    Setback(
        subject="well",
        of="well",
        to="parcel",
        least=Length(26, "ft"),
        from_point="casing centre",
        to_edge="property line",
        citation=cite("xx-well-line", "County sanitary code 4.2", standing="memory"),
    ),
    Setback(
        subject="well",
        of="well",
        to="propane",
        least=Length(100, "ft"),
        from_point="casing edge",
        to_edge="nearest edge",
        missing=("fuel_tank.buried",),
        either=(("buried: 100 ft", Length(100, "ft")), ("above ground: the row does not apply", None)),
        citation=cite("xx-well-fuel", "Private well code 36.21 (7)"),
    ),
)


def found(
    number: int,
    verdict: Any,
    subject: str,
    to: str,
    what: str,
    *,
    required: float | None = None,
    required_text: str = "",
    error: float | None = None,
    topic: Any = "setback",
    measured: float | None = None,
    **more: Any,
) -> Finding:
    points: tuple[tuple[float, float], ...] = ()
    if topic == "setback" and to:
        shapes = {one.id: one.shape for one in FEATURES}
        ends = [shapes.get(end) or (MAIN if end != "water-barn" else BRANCH) for end in (subject, to)]
        ends = [end.boundary if end.geom_type == "Polygon" and end.area > 2000 else end for end in ends]
        shortest = shapely.shortest_line(*ends)
        points = tuple((float(x), float(y)) for x, y in shortest.coords)
        measured = shortest.length
    margin = (
        None
        if measured is None or required is None
        else (measured - required) * (-1 if topic == "bend" else 1)
    )
    return Finding(
        number=number,
        topic=topic,
        what=what,
        subject=subject,
        to=to,
        verdict=verdict,
        required_m=required,
        required_text=required_text,
        measured_m=measured,
        error_m=error,
        margin_m=margin,
        points=points,
        **more,
    )


FINDINGS = (
    found(
        1,
        "short",
        "well",
        "reserve",
        "well to reserve area",
        required=100 * FOOT,
        required_text="100 ft",
        error=0.98,
        method="taped / from a record drawing, edge 2 ft",
        because=("casing 62 ft: standard distance applies",),
        citation=DRAINFIELD,
    ),
    found(
        2,
        "needs approval",
        "water-house",
        "sewer",
        "water to house, beside building sewer",
        required=10 * FOOT,
        required_text="10 ft",
        error=0.6,
        method="staked / from a record drawing",
        citation=cite("xx-line-sewer", "Plumbing code 603.2", force="by_approval", standing="secondary"),
    ),
    found(
        3,
        "too close to call",
        "well",
        "parcel",
        "well to property line",
        required=26 * FOOT,
        required_text="26 ft",
        error=0.3,
        method="taped / surveyed",
        settle="Tape the casing centre to the north property line between found monuments; good to 0.2 ft.",
        citation=SETBACKS[2].citation,
    ),
    found(
        4,
        "not checked",
        "well",
        "propane",
        "well to propane tank",
        required=100 * FOOT,
        required_text="100 ft",
        error=0.2,
        method="taped / taped",
        because=(
            "not stated: is the fuel tank buried",
            "if buried: 100 ft, clear",
            "if above ground: the row does not apply",
        ),
        citation=SETBACKS[3].citation,
    ),
    found(
        5,
        "clear",
        "well",
        "field",
        "well to absorption area",
        required=75 * FOOT,
        required_text="75 ft",
        error=0.98,
        method="taped / from a record drawing, edge 2 ft",
        because=("casing 62 ft: standard distance applies",),
        citation=DRAINFIELD,
    ),
    found(
        6,
        "clear",
        "water-house",
        "reserve",
        "water to house to reserve area",
        required=10 * FOOT,
        required_text="10 ft",
        error=0.4,
        method="staked / from a record drawing, edge 2 ft",
        citation=cite("us-line-field", "Plumbing code 603.3", force="advised"),
    ),
    found(
        7,
        "clear",
        "water-house",
        "",
        "cover of water to house, drive",
        topic="cover",
        required=66 * INCH,
        required_text="66 in",
        measured=66 * INCH,
        error=0.05,
        reach="Main",
        from_m=on_drive(REACHES[0])[0],
        to_m=on_drive(REACHES[0])[1],
        method="planned",
        because=("max(frost 54 in + 12 in, 12 in) = 66 in",),
        citation=FROST,
    ),
    found(
        8,
        "clear",
        "water-house",
        "",
        "cover of water to house, yard",
        topic="cover",
        required=54 * INCH,
        required_text="54 in",
        measured=54 * INCH,
        error=0.05,
        reach="Main",
        from_m=0.0,
        to_m=on_drive(REACHES[0])[0],
        method="planned",
        because=("max(frost 42 in + 12 in, 12 in) = 54 in",),
        citation=FROST,
    ),
    found(
        9,
        "not checked",
        "pump-power",
        "cable",
        "crossing 1, old pump cable",
        topic="crossing",
        reach="Main",
        from_m=CROSSINGS[0].distance_m,
        to_m=CROSSINGS[0].distance_m,
        because=("its depth is unknown until a test hole shows it",),
        citation=cite("us-cross", "Common practice, no source", standing="memory", edition=""),
    ),
    found(
        10,
        "clear",
        "water-barn",
        "phone",
        "crossing 2, telephone line",
        topic="crossing",
        required=12 * INCH,
        required_text="12 in",
        measured=29 * INCH,
        error=0.1,
        reach="A",
        from_m=CROSSINGS[1].distance_m,
        to_m=CROSSINGS[1].distance_m,
        method="record depth",
        citation=cite("us-cga-2-12", "Supply line separation 2.12"),
    ),
    found(
        11,
        "clear",
        "pump-power",
        "",
        "bends of pump power between pull points",
        topic="bend",
        required=360.0,
        required_text="360 deg",
        measured=191.3,
        unit="deg",
        reach="Main",
        from_m=0.0,
        to_m=MAIN.length,
        citation=BEND_LIMIT.citation,
    ),
    found(
        12,
        "not checked",
        "well",
        "",
        "well to other wells: nobody says to have looked",
        topic="unlooked",
        citation=cite("xx-well-well", "Private well code 36.21 (9)"),
    ),
    found(
        13,
        "not applicable",
        "well",
        "drive",
        "well to road",
        required_text="25 ft",
        topic="setback",
        because=("the drive is not a public road",),
        citation=cite("xx-well-road", "Private well code 36.21 (11)"),
    ),
)


def sample_plan(*, units: System = "ft", levelled: bool = True) -> Plan:
    """Return the sample plan; ``units="m"`` puts a station every 10 m instead of every 25 ft."""
    levels = tuple(
        Level(x=x, y=y, elevation_m=ground_m(x, y), source=Source(file="levels.csv"))
        for x in (0, 61)
        for y in (0, 46)
    )
    site = Site(
        name="Cedar Bench",
        folder="cedar-bench",
        units=units,
        coordinates="ground",
        elevation_m=1356.0,
        rules="us/xx",
        paper=Paper(
            address="17 Cedar Bench Lane (invented)",
            parcel_number="CB-07",
            owner="R. Alder",
            contractor="Two Creeks Well Service (invented)",
            phone="555-0137",
            directions="From the county road take Cedar Bench Lane 0.3 mile north; gate on the left.",
            prepared=date(2026, 11, 20),
        ),
        digging=Digging(
            bucket_m=WIDTH_M,
            bedding_m=BEDDING_M,
            entered=False,
            soil="common_earth",
            machine="tracked excavator, 24 in bucket",
            machine_width_m=8 * FOOT,
            laying=Evidence(method="staked", private_m=0.5 * FOOT),
        ),
        features=FEATURES,
        lines=LINES,
        levels=levels if levelled else (),
        looked={"cesspool": "none, owner and county record"},
    )
    requirements = Requirements(
        setbacks=SETBACKS,
        covers=tuple(cover(line, surface) for line in LINES for surface in ("yard", "dwelling_drive")),
        separations=(
            Separation(
                of="water-house",
                to="pump-power",
                beside_m=12 * INCH,
                crossing_m=None,
                may_share=True,
                citation=cite("us-share", "Lines that share a trench"),
            ),
        ),
        trench=TrenchRules(
            spoil_back_m=numbered(2 * FOOT, "us-osha-spoil", "29 CFR 1926.651(j)(2)"),
            egress_depth_m=EGRESS,
            egress_spacing_m=numbered(25 * FOOT, "us-osha-egress", "29 CFR 1926.651(c)(2)"),
            protection_depth_m=PROTECT,
            engineer_depth_m=numbered(
                20 * FOOT, "us-osha-engineer", "29 CFR 1926.652(b)", standing="secondary"
            ),
            slope_by_class={"C": numbered(1.5, "us-osha-slope-c", "29 CFR 1926 subpart P App B")},
        ),
        locate=LocateRules(
            tolerance_m=TOLERANCE,
            call="811",
            notice="2 full business days, the day of the call not counted",
            life="30 days from the call",
            citation=cite("xx-locate", "Excavation notice law 69-4-501", standing="secondary"),
        ),
        roots=RootRules(
            radius_per_diameter=numbered(12.0, "us-roots", "1 ft per inch of trunk"),
            least_m=numbered(3 * FOOT, "us-roots", "1 ft per inch of trunk"),
        ),
        bend_limit_deg=BEND_LIMIT,
        stack=(
            LayerNote(
                layer="us",
                title="Model codes and federal rules",
                authority="several",
                edition="2024",
                gaps=("state plumbing amendments",),
            ),
            LayerNote(
                layer="us/xx", title="An invented state", authority="its well board", edition="2024-07-01"
            ),
        ),
        unlooked=(("other_well", cite("xx-well-well", "Private well code 36.21 (9)")),),
        overridden=(
            cite(
                "xx-line-tank",
                "Plumbing code 603.4",
                layer="site",
                standing="site",
                note="tank watertight, county letter of 2026-05-02: 5 ft",
            ),
        ),
        unconfirmed=(NEC, BEND_LIMIT.citation, SETBACKS[2].citation),
    )
    layout = Layout(
        reaches=REACHES,
        paths=(
            LinePath(line="water-house", legs=(("Main", 0.0, MAIN.length),), entry=Point(38, 15)),
            LinePath(line="pump-power", legs=(("Main", 0.0, MAIN.length),), entry=Point(38, 15)),
            LinePath(
                line="water-barn", legs=(("Main", 0.0, TEE_M), ("A", 0.0, BRANCH.length)), entry=Point(44, 36)
            ),
        ),
        kept_off=(
            KeptOff(
                feature="reserve",
                area=box(14, 13.5, 27, 18).buffer(4.3),
                distance_m=4.3,
                required_m=10 * FOOT,
                error_m=0.95,
                half_width_m=0.3,
                row="us-line-field",
                lines=("water-house",),
            ),
        ),
        corridor=box(0, 0, 61, 46),
        shared=(("water-house", "pump-power", "one trench: 12 in apart"),),
        certificate="No layout of trenches can be more than 2 % shorter.",
        bill=(
            Item(row="dig-machine", of="", amount=100 * FOOT, price=800.0),
            Item(row="tee", of="", amount=1.0, price=120.0),
        ),
        least_price=900.0,
        apart_price=1400.0,
        alternatives=ALTERNATIVES,
    )
    return Plan(
        site=site,
        frame=Frame(longitude_deg=-112.0714, latitude_deg=46.5943, height_m=1356.0),
        ground=GroundSurface([[one.x, one.y, one.elevation_m] for one in levels]) if levelled else None,
        requirements=requirements,
        layout=layout,
        works=works(25 * FOOT if units != "m" else 10.0, levelled),
        findings=FINDINGS,
    )
