"""A stretch that is bored: no dirt from it, a pit at either end, no hand digging in it, a sleeve of its own length."""

from __future__ import annotations

import pytest
from shapely import LineString, Point, box
from trench_scene import (
    FT,
    HOUSE,
    IN,
    PIPE_OD_M,
    POWER,
    WATER,
    WELL,
    feature,
    layout,
    reach,
    requirements,
    site,
)

from siteplan.measure import measure
from siteplan.measure.earthwork import end_pit_m3
from siteplan.measure.model import Works
from siteplan.route.model import Bored
from siteplan.site.features import Feature

DRIVE = feature("drive", "drive", box(10, -20, 14, 20))
CABLE = feature("cable", "buried_line", LineString([(12, -20), (12, 20)]))
TREE = feature("tree", "tree", Point(20, 1), trunk_diameter=0.3)
CUT_M = 54 * IN + PIPE_OD_M + 4 * IN
UNDER_DRIVE = Bored(feature="drive", from_m=10.0, to_m=14.0)


def works(
    *features: Feature,
    bored: tuple[Bored, ...],
    lines: tuple[str, ...] = ("water",),
    drive_m: float | None = None,
) -> Works:
    at = site(WELL, HOUSE, *features, lines=(WATER, POWER))
    return measure(
        at, requirements(drive_m=drive_m), layout(reach((0, 0), (30, 0), lines=lines, bored=bored)), None
    )


def rows(found: Works) -> dict[str, float]:
    return {row.item: row.amount for row in found.quantities}


def test_the_dirt_is_that_of_the_opened_parts_and_two_pits() -> None:
    whole, bored = works(DRIVE, bored=()), works(DRIVE, bored=(UNDER_DRIVE,))
    section_m2 = 24 * IN * CUT_M
    assert dict(whole.volumes.by_reach)["Main"] == pytest.approx(30 * section_m2)
    assert dict(bored.volumes.by_reach)["Main"] == pytest.approx(26 * section_m2)
    extras = dict(bored.volumes.extras)
    pits_m3 = extras["two pits of the bore under Drive"]
    assert pits_m3 == pytest.approx(2 * end_pit_m3(bored.section("2")))
    assert pits_m3 == pytest.approx(
        2 * (3 * 4 - 2 * 4) * FT**2 * CUT_M
    )  # 3 ft by 4 ft, less the trench of 2 ft in it
    assert bored.volumes.bank_m3 == pytest.approx(whole.volumes.bank_m3 - 4 * section_m2 + pits_m3)


def test_stations_and_the_interval_say_where() -> None:
    found = works(DRIVE, bored=(UNDER_DRIVE,))
    said = {station.distance_m: station.what for station in found.stations}
    assert said[10.0] == "Drive begins; bore begins, under Drive"
    assert said[14.0] == "Drive ends; bore ends, under Drive"
    assert ("bored under Drive", 10.0, 14.0) in [
        (each.what, each.from_m, each.to_m) for each in found.intervals
    ]
    deep = [(each.from_m, each.to_m) for each in found.intervals if each.what == "egress"]
    assert deep == [(0.0, 10.0), (14.0, 30.0)]


def test_the_pits_are_as_deep_as_the_bore() -> None:
    """The yard is dug 59.3 in deep, under the drive the pipe lies at 66 in: only the pits pass 5 ft."""
    found = works(DRIVE, bored=(UNDER_DRIVE,), drive_m=66 * IN)
    deep = [(each.what, each.from_m, each.to_m) for each in found.intervals if each.what.startswith("prot")]
    assert deep == [
        ("protection (bore pit)", pytest.approx(10 - 4 * FT), 10.0),
        ("protection (bore pit)", 14.0, pytest.approx(14 + 4 * FT)),
        ("protection (bell-hole)", 0.0, pytest.approx(2.5 * FT)),
    ]
    pits_m3 = dict(found.volumes.extras)["two pits of the bore under Drive"]
    assert pits_m3 == pytest.approx(2 * (3 * 4 - 2 * 4) * FT**2 * (CUT_M + 12 * IN))


def test_no_hand_digging_in_a_bore() -> None:
    """The zone of the cable is 18 in each side, and a foot more for half the trench does not reach out of the bore."""
    dug, bored = works(DRIVE, CABLE, bored=()), works(DRIVE, CABLE, bored=(UNDER_DRIVE,))
    by_hand = [each for each in dug.intervals if each.what.startswith("hand dig")]
    assert [(each.from_m, each.to_m) for each in by_hand] == [
        (pytest.approx(12 - 18 * IN), pytest.approx(12 + 18 * IN))
    ]
    assert [each for each in bored.intervals if each.what.startswith("hand dig")] == []
    assert rows(dug)["Hand dig"] == pytest.approx(36 * IN)
    assert rows(bored)["Hand dig"] == 0
    (crossing,) = bored.crossings
    assert (crossing.hand_from_m, crossing.hand_to_m) == (12.0, 12.0)


def test_a_bore_that_ends_in_the_zone_leaves_the_rest_of_it() -> None:
    found = works(DRIVE, CABLE, bored=(Bored(feature="drive", from_m=10.0, to_m=12.0),))
    by_hand = [(each.from_m, each.to_m) for each in found.intervals if each.what.startswith("hand dig")]
    assert by_hand == [(12.0, pytest.approx(12 + 18 * IN))]
    (interval,) = [each for each in found.intervals if each.what.startswith("hand dig")]
    assert interval.what == "hand dig (crossing 1)"


def test_take_off_of_a_bore() -> None:
    found = rows(works(DRIVE, bored=(UNDER_DRIVE,)))
    assert found["Bore, under Drive"] == pytest.approx(4)
    assert found["Trench, yard"] == pytest.approx(26)
    assert "Trench, drive" not in found
    assert "Restore, drive" not in found
    assert found["Warning tape"] == pytest.approx(26)
    assert found["Sleeve under Drive"] == pytest.approx(4 + 4 * FT)


def test_a_bore_in_the_yard_has_its_sleeve_too_and_a_conduit_none() -> None:
    """Under roots: no pavement, and still the pipe is drawn through; the conduit is its own sleeve."""
    bored = (Bored(feature="tree", from_m=18.0, to_m=22.0),)
    sleeves = [
        row
        for row in works(TREE, bored=bored, lines=("water", "power")).quantities
        if row.item.startswith("Sleeve")
    ]
    assert [(row.item, row.amount) for row in sleeves] == [("Sleeve under Tree", pytest.approx(4 + 4 * FT))]
    assert "drawn into the bore" in sleeves[0].note


def test_a_trench_bored_from_end_to_end() -> None:
    found = works(DRIVE, bored=(Bored(feature="drive", from_m=0.0, to_m=30.0),))
    assert dict(found.volumes.by_reach) == {"Main": 0}
    assert found.spoil[0].fits == ()
    assert rows(found)["Bore, under Drive"] == pytest.approx(30)
