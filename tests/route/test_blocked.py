"""No way: what closes it, in words."""

from __future__ import annotations

import json
from collections.abc import Sequence

import pytest
from route_scenes import FOOT, asks, laid, line, setback, site, thing
from shapely import Point, box

from siteplan.document.geojson import blocked_geojson
from siteplan.errors import NoRoute
from siteplan.route.blocked import no_route
from siteplan.route.keep_off import Yard, keep_off, land_of
from siteplan.rules.model import Requirements
from siteplan.site.evidence import Evidence
from siteplan.site.features import Feature
from siteplan.units import Length

HOUSE = thing("house", "building", box(80, 40, 95, 60))
PARCEL = thing("parcel", "parcel", box(0, 0, 100, 100))
WELL = thing("well", "well", Point(10, 50))


def refused(features: Sequence[Feature], rules: Requirements | None = None) -> NoRoute:
    scene, asked = site(features, [line("water", "well", "house")]), rules or asks()
    with pytest.raises(NoRoute) as blocked:
        laid(scene, asked)
    yard = Yard(land=land_of(scene), kept_off=keep_off(scene, asked))
    error = no_route(scene, yard, "well", "house", "Water", setbacks=asked.setbacks)
    assert "\n" not in str(error)
    assert (str(error), error.blockers) == (str(blocked.value), blocked.value.blockers)
    return error


def head(error: NoRoute) -> str:
    """The message without the first way out, which closes it."""
    if not error.ways_out:
        return str(error)
    closing = f"; {error.ways_out[0].words}"
    assert str(error).endswith(closing)
    return str(error).removesuffix(closing)


def test_a_gap_between_two_things_says_how_wide_it_is_and_must_be() -> None:
    tank = thing("tank", "septic_tank", box(40, 0, 44, 48))
    field = thing("field", "absorption_area", box(40, 50.5, 60, 100))
    rules = asks([setback("water", to, Length(10, "ft")) for to in ("tank", "field")])
    error = refused([PARCEL, WELL, HOUSE, tank, field], rules)
    needed_ft = 2 * (10 + 0.3 / FOOT)
    assert head(error) == (
        "Water: Tank and Field close the way between them: "
        f"{2.5 / FOOT:.1f} ft apart, {needed_ft:.1f} ft needed"
    )
    assert error.blockers == ("tank", "field")
    assert error.where.distance(Point(42, 49)) == 0.0


def test_a_gap_at_the_property_line_names_it() -> None:
    """11 ft from the line to the pond on either side; 10 ft to the pond and half a trench to either would be needed."""
    pond = thing("pond", "pond", box(40, 11 * FOOT, 50, 100 - 11 * FOOT))
    error = refused([PARCEL, WELL, HOUSE, pond])
    assert error.blockers == ("parcel", "pond")
    needed_ft = 10 + 0.6 / FOOT
    assert head(error) == (
        f"Water: the property line and Pond close the way between them: 11.0 ft apart, {needed_ft:.1f} ft needed"
    )


def test_one_thing_says_how_near_would_leave_a_way() -> None:
    """A wall round the well with a gap of 2 m: half the gap, 1 m or 3.3 ft, would leave a way."""
    ring = box(0, 40, 20, 60).difference(box(1, 41, 19, 59)).difference(box(15, 49, 25, 51))
    error = refused([PARCEL, WELL, HOUSE, thing("ring", "septic_tank", ring)])
    assert error.blockers == ("ring",)
    assert head(error) == "Water: Ring closes the way: 6.0 ft kept, 3.3 ft would leave a way"


def test_a_closed_ring_must_be_gone_through() -> None:
    ring = box(0, 40, 20, 60).difference(box(5, 45, 15, 55))
    error = refused([PARCEL, WELL, HOUSE, thing("ring", "no_dig", ring)])
    assert head(error) == "Water: Ring closes the way; the trench would have to go through it"


def test_two_rings_close_it_together() -> None:
    inner = box(2, 42, 18, 58).difference(box(5, 45, 15, 55))
    outer = box(0, 30, 40, 70).difference(box(1, 31, 39, 69))
    error = refused([PARCEL, WELL, HOUSE, thing("inner", "no_dig", inner), thing("outer", "no_dig", outer)])
    assert error.blockers == ("inner", "outer")
    assert head(error) == "Water: Inner and Outer close the way, each on its own"


def test_three_rings_name_the_parcel() -> None:
    rings = [
        thing(f"ring-{i}", "no_dig", Point(40, 50).buffer(r).difference(Point(40, 50).buffer(r - 1)))
        for i, r in enumerate((20, 15, 10))
    ]
    error = refused([PARCEL, thing("well", "well", Point(40, 50)), HOUSE, *rings])
    assert error.blockers == ("parcel",)
    assert "more than two things close it" in str(error)


def test_a_well_in_what_is_kept_off_is_told() -> None:
    pond = thing("pond", "pond", Point(13.5, 50).buffer(1.0))
    error = refused([PARCEL, WELL, HOUSE, pond])
    assert error.blockers == ("pond",)
    assert head(error) == f"Water: Well is {2.5 / FOOT:.1f} ft from Pond, {10 + 0.3 / FOOT:.1f} ft needed"


def test_a_well_in_a_root_zone_is_no_closed_way() -> None:
    """The trench cannot keep off the roots where it begins: it leaves the tree behind, 0.8 of the way it begins at."""
    oak = thing("oak", "tree", Point(13, 50), trunk_diameter=1.5 * FOOT)
    scene = site([PARCEL, WELL, HOUSE, oak], [line("water", "well", "house")])
    layout = laid(scene, asks())
    (reach,) = layout.reaches
    assert 0.8 * 3 - 1e-6 <= reach.path.distance(oak.shape) <= 3 + 1e-6


def test_a_house_with_all_walls_shut_is_told() -> None:
    paving = box(79, 39, 96, 61).difference(HOUSE.shape)
    error = refused([PARCEL, WELL, HOUSE, thing("paving", "slab", paving)])
    assert error.blockers == ("paving",)
    assert "Paving closes the way" in str(error)


@pytest.mark.parametrize(("out", "name"), [("well", "Well"), ("house", "House")])
def test_what_lies_outside_the_property_line_is_told(out: str, name: str) -> None:
    moved = {
        "well": thing("well", "well", Point(-5, 50)),
        "house": thing("house", "building", box(120, 0, 130, 9)),
    }
    features = [moved[f.id] if f.id == out else f for f in (WELL, HOUSE)]
    error = refused([PARCEL, *features])
    assert error.blockers == ("parcel",)
    assert str(error) == f"Water: {name} does not lie within the property line"


def test_a_poorly_known_position_can_close_the_way() -> None:
    """The gap of 3 m is wide enough for taped things and too narrow for a field that the owner only speaks of."""
    shapes = {"a": box(40, 0, 44, 48), "b": box(40, 54, 44, 100)}
    known = [thing(name, "septic_tank", shape) for name, shape in shapes.items()]
    said = Evidence(method="owner_says", private_m=15 * FOOT)
    told = [thing(name, "septic_tank", shape, said) for name, shape in shapes.items()]
    assert laid(site([PARCEL, WELL, HOUSE, *known], [line("water", "well", "house")]), asks()).reaches
    assert refused([PARCEL, WELL, HOUSE, *told]).blockers == ("a", "b")


def test_the_drawing_of_it_holds_the_ways_out() -> None:
    slab = thing("slab", "slab", box(40, -20, 43, 120))
    error = refused([PARCEL, WELL, HOUSE, slab])
    drawn = json.loads(blocked_geojson(error))
    (way,) = drawn["features"][0]["properties"]["ways_out"]
    assert way == {
        "kind": "bore",
        "feature": "slab",
        "row": "",
        "amount_m": pytest.approx(3.6, abs=0.06),
        "price": pytest.approx(error.ways_out[0].price, abs=1e-3),
        "words": error.ways_out[0].words,
    }
    assert drawn["note"].endswith("under Slab would leave a way")
