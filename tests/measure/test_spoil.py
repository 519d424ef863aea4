"""Where the pile has room, and where it has none: a strip between two ponds, worked by hand."""

from __future__ import annotations

import pytest
from shapely import box
from trench_scene import FT, HOUSE, WELL, feature, layout, reach, requirements, site

from siteplan.measure import measure
from siteplan.route.model import Bored
from siteplan.route.strip import Fit

STRAIGHT = reach((0, 0), (30, 0))
WET_LEFT = feature("left", "no_dig", box(10, 1, 18, 40))
WET_RIGHT = feature("right", "no_dig", box(-5, -40, 14, -1))


def test_no_room_is_where_both_sides_are_shut() -> None:
    """Right is shut to 14 m, left from 10 m to 18 m: left, then neither from 10 to 14, then right."""
    works = measure(site(WELL, HOUSE, WET_LEFT, WET_RIGHT), requirements(), layout(STRAIGHT), None)
    (pile,) = works.spoil
    assert pile.fits == (Fit(0.0, 10.0, "left"), Fit(10.0, 14.0, "neither"), Fit(14.0, 30.0, "right"))
    assert pile.side == "right"
    (cramped,) = [each for each in works.intervals if each.what == "no room for the pile on either side"]
    assert (cramped.reach, cramped.from_m, cramped.to_m, cramped.rule) == ("Main", 10.0, 14.0, None)
    said = {station.what: station.distance_m for station in works.stations}
    assert said["no room for the pile from here"] == 10.0
    assert said["pile right from here"] == 14.0
    assert said["casing; pile left from here"] == 0.0
    (priced,) = [row for row in works.prices if row.row == "no-room"]
    assert priced.amount == pytest.approx(4.0)
    assert (priced.low, priced.likely, priced.high) == pytest.approx(
        (4 / FT * 3, 4 / FT * 8, 4 / FT * 15)
    )  # $3, 8, 15 a foot in layers/rates.toml


def test_nothing_lies_beside_a_bore() -> None:
    """The stretch without room is bored: no dirt comes out of it, so none must be hauled."""
    bored = reach((0, 0), (30, 0), bored=(Bored(feature="left", from_m=9.5, to_m=18.5),))
    works = measure(site(WELL, HOUSE, WET_LEFT, WET_RIGHT), requirements(), layout(bored), None)
    (pile,) = works.spoil
    assert pile.fits == (Fit(0.0, 9.5, "left"), Fit(18.5, 30.0, "right"))
    assert not [each for each in works.intervals if each.what.startswith("no room")]
    assert "no-room" not in {row.row for row in works.prices}


def test_a_wide_machine_needs_the_other_side_too() -> None:
    """Open to 2 m on the right: the pile lies left either way; a machine of 6 m finds no room beside it."""
    wet = feature("wet", "no_dig", box(-5, -40, 40, -2))
    for width_m, side in ((0.0, "left"), (2.0, "left"), (6.0, "neither")):
        at = site(WELL, HOUSE, wet, machine_width_m=width_m)
        (pile,) = measure(at, requirements(), layout(STRAIGHT), None).spoil
        assert {fit.side for fit in pile.fits} == {side}
