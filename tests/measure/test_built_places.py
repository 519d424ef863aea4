"""Places of the record: which measurement stands for which place of the tie list, and what is left as planned."""

from __future__ import annotations

from pathlib import Path

import pytest

from siteplan.measure.built_places import BuiltPlace, built_places
from tests.record_scene import record

FT = 0.3048


def places(folder: Path, *rows: str) -> tuple[BuiltPlace, ...]:
    built = record(folder, "".join(f"{row},,,,,,,,,,,,,\n" for row in rows))
    plan = built.plan
    return built_places(plan.site, plan.layout, plan.works, built.built)


def test_a_thing_with_a_name_of_its_own_leaves_the_tee_beside_it_planned(tmp_path: Path) -> None:
    found = places(tmp_path, "water,curb stop,Main,0+61,1 ft left")
    (stop,) = (place for place in found if place.what == "curb stop")
    (tee,) = (place for place in found if place.what == "tee, branch A")
    assert stop.placed
    assert stop.listed is None
    assert (stop.x, stop.y) == pytest.approx((61 * FT, 1 * FT), abs=0.01)
    assert tee.point is None
    assert not tee.placed
    assert (tee.x, tee.y) == pytest.approx((60 * FT, 0.0), abs=0.01)


def test_a_point_without_a_name_stands_for_the_place_it_lies_at(tmp_path: Path) -> None:
    found = places(tmp_path, "water,,Main,0+61,1 ft left")
    (tee,) = (place for place in found if place.listed and place.listed.what == "tee, branch A")
    assert tee.placed
    assert tee.y == pytest.approx(1 * FT, abs=0.01)


def test_a_bend_is_known_by_its_name_however_far_it_went(tmp_path: Path) -> None:
    found = places(tmp_path, "water,bend B1,Main,1+45,6 ft left")
    (bend,) = (place for place in found if place.listed and place.listed.what.startswith("bend B1"))
    assert bend.placed
    assert (bend.x, bend.y) == pytest.approx((145 * FT, 6 * FT), abs=0.01)


def test_places_are_numbered_up_station_and_every_one_of_the_list_is_there(tmp_path: Path) -> None:
    found = places(tmp_path, "water,,Main,0+30,", "water,splice,Main,0+90,0.5 ft right")
    assert [place.number for place in found] == list(range(1, len(found) + 1))
    main = [place.station_m for place in found if place.reach == "Main"]
    assert main == sorted(main)
    assert [place.reach for place in found] == sorted((place.reach for place in found), reverse=True)
    listed = [place.listed.number for place in found if place.listed]
    assert sorted(listed) == list(range(1, len(listed) + 1))
    assert [place.what for place in found if place.listed is None] == ["point on the line", "splice"]
