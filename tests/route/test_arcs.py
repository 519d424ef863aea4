"""Bends eased into arcs: published curves, corners by hand, and what must hold of any of them."""

from __future__ import annotations

from itertools import pairwise
from math import cos, hypot, pi, radians, sin, sqrt

import numpy as np
import pytest
import shapely
from shapely import LineString, Point, Polygon, box

from siteplan.route.arcs import CHORD_M, eased, external_m, tangent_m

WIDE = box(-1000, -1000, 3000, 3000)
HALF_M = 0.3


def bent(deflection_deg: float, leg: float = 900.0) -> LineString:
    turn = radians(deflection_deg)
    return LineString([(0, 0), (leg, 0), (leg + leg * cos(turn), leg * sin(turn))])


@pytest.mark.parametrize("side", [1, -1])
def test_a_published_curve(side: int) -> None:
    """Surveying Mathematics Made Simple, examples of a simple curve: R 1800, D 43-25-46: L 1364.38, C 1331.94325, T 716.84."""
    deflection_deg = side * (43 + 25 / 60 + 46 / 3600)
    found = eased(bent(deflection_deg), [1800.0], 0.0, WIDE)
    (arc,) = found.arcs
    assert arc.deflection_deg == pytest.approx(deflection_deg)
    assert arc.tangent_m == pytest.approx(716.84, abs=0.005)
    assert arc.length_m == pytest.approx(1364.38, abs=0.005)
    assert arc.start.distance(arc.end) == pytest.approx(1331.94325, abs=5e-3)
    assert found.shape.length == pytest.approx(2 * (900 - arc.tangent_m) + arc.length_m, abs=0.01)


def test_another_curve_from_memory() -> None:
    """A textbook problem of highway engineering, from memory: R 2000 ft, T 400 ft: D 22.62 deg, L 789.58 ft."""
    assert tangent_m(2000, 22.62) == pytest.approx(400.0, abs=0.01)
    (arc,) = eased(bent(22.62), [2000.0], 0.0, WIDE).arcs
    assert arc.length_m == pytest.approx(789.58, abs=0.02)


def test_a_right_angle_by_hand() -> None:
    (arc,) = eased(bent(90, leg=10), [2.0], HALF_M, WIDE).arcs
    assert (arc.bends, arc.tangent_m, arc.length_m) == ((1,), pytest.approx(2.0), pytest.approx(pi))
    assert (arc.start.x, arc.start.y, arc.end.x, arc.end.y) == pytest.approx((8, 0, 10, 2))
    assert (arc.centre.x, arc.centre.y) == pytest.approx((8, 2))
    assert arc.external_m == pytest.approx(2 * (sqrt(2) - 1))


def test_bends_whose_tangents_do_not_go_on_the_leg_between_are_tight() -> None:
    zigzag = LineString([(0, 0), (10, 0), (10, 3), (20, 3), (20, 20)])
    assert eased(zigzag, [1.5, 1.5, 1.5], HALF_M, WIDE).tight == ()
    found = eased(zigzag, [1.6, 1.5, 1.5], HALF_M, WIDE)
    assert found.tight == (1, 2)
    assert [arc.bends for arc in found.arcs] == [(3,)]
    assert found.shape.distance(Point(10, 0)) == 0.0
    assert eased(LineString([(0, 0), (1, 0), (1, 9)]), [1.1], HALF_M, WIDE).tight == (1,)


def test_bends_to_one_side_that_are_too_near_are_swept_as_one() -> None:
    """A corner cut in three of 30 degrees: the first two are a metre apart, and each would need 0.54 m of it."""
    turn = radians(30)
    places = [(0.0, 0.0), (10.0, 0.0)]
    for bend in (1, 2):
        x, y = places[-1]
        leg_m = 0.5 + 0.5 * bend
        places.append((x + leg_m * cos(bend * turn), y + leg_m * sin(bend * turn)))
    line = LineString([*places, (places[-1][0], 12.0)])
    assert len(eased(line, [1.8] * 3, HALF_M, WIDE).arcs) == 3
    found = eased(line, [2.0] * 3, HALF_M, WIDE)
    assert found.tight == ()
    (swept, single) = found.arcs
    assert (swept.bends, single.bends) == ((1, 2), (3,))
    assert (swept.deflection_deg, single.deflection_deg) == pytest.approx((60, 30))
    whole = eased(line, [3.0] * 3, HALF_M, WIDE)
    assert [arc.bends for arc in whole.arcs] == [(1, 2, 3)]
    assert whole.arcs[0].length_m == pytest.approx(3 * pi / 2)
    assert eased(line, [3.0] * 3, 0.01, line.buffer(0.02)).tight == (1, 2, 3)


def test_an_arc_that_stays_in_the_trench_as_dug_moves_nothing() -> None:
    """It cuts its corner by E = 0.29 m, less than half the trench; the ground ends right at the corner."""
    line = LineString([(0, 0), (10, 0), (10, 10)])
    free = box(-5, -5, 15, 15).difference(Polygon([(-6, 0), (10, 0), (10, 16), (-6, 16)]))
    assert external_m(0.7, 90) < HALF_M
    found = eased(line, [0.7], HALF_M, free)
    assert found.tight == ()
    assert (found.arcs[0].start.x, found.arcs[0].start.y) == pytest.approx((9.3, 0))


def test_the_corner_is_moved_out_till_the_arc_just_touches() -> None:
    """A sharper arc would cut 0.83 m into what is kept off: it comes to lie at the trench's edge, tight to the corner."""
    line = LineString([(0, 0), (10, 0), (10, 10)])
    kept = Polygon([(-6, 0), (10, 0), (10, 16), (-6, 16)])
    free = box(-5, -5, 15, 15).difference(kept)
    found = eased(line, [2.0], HALF_M, free)
    assert found.tight == ()
    (arc,) = found.arcs
    assert abs(arc.deflection_deg) > 90
    trench = line.buffer(HALF_M, join_style="mitre")
    arc_line = LineString(
        [place for place in found.shape.coords if Point(place).distance(arc.centre) < 2 + 1e-6]
    )
    inside = arc_line.intersection(kept)
    assert inside.difference(trench.buffer(1e-5)).length < 1e-6
    farther_in = LineString(np.array(arc_line.coords) + np.array([-0.02, 0.02])).intersection(kept)
    assert farther_in.difference(trench).length > 0.01
    legs = LineString([(0, 0), arc.start, arc.end, (10, 10)])
    assert legs.interpolate(0.1).distance(Point(0.1, 0)) < 0.1
    none = free.intersection(line.buffer(0.01, join_style="mitre"))
    assert eased(line, [2.0], HALF_M, none).tight == (1,)


@pytest.mark.parametrize("seed", range(20))
def test_what_holds_of_every_eased_line(seed: int) -> None:
    """Tangent to both legs, the radius kept, one continuous line without a corner where nothing is tight."""
    random = np.random.default_rng(seed)
    turns = np.cumsum(random.uniform(-1.9, 1.9, 6))
    steps = random.uniform(4, 12, 6)
    places = np.cumsum(np.column_stack([steps * np.cos(turns), steps * np.sin(turns)]), axis=0)
    line = LineString(places)
    radii = random.uniform(0.3, 2.0, 4).tolist()
    found = eased(line, radii, HALF_M, WIDE)
    assert sorted([bend for arc in found.arcs for bend in arc.bends] + list(found.tight)) == [1, 2, 3, 4]
    for arc in found.arcs:
        assert arc.radius_m == max(radii[bend - 1] for bend in arc.bends)
        if len(arc.bends) > 1:
            continue
        corner = Point(places[arc.bends[0]])
        for tangent in (arc.start, arc.end):
            assert tangent.distance(arc.centre) == pytest.approx(arc.radius_m)
            assert tangent.distance(line) < 1e-9
            assert tangent.distance(corner) == pytest.approx(arc.tangent_m)
            across = (tangent.x - arc.centre.x, tangent.y - arc.centre.y)
            along = (tangent.x - corner.x, tangent.y - corner.y)
            assert across[0] * along[0] + across[1] * along[1] == pytest.approx(0, abs=1e-6)
    if found.tight:
        return
    drawn = shapely.get_coordinates(found.shape)
    legs = np.diff(drawn, axis=0)
    turned = [abs(np.arctan2(a[0] * b[1] - a[1] * b[0], a @ b)) for a, b in pairwise(legs)]
    assert max(turned) <= 2 * sqrt(8 * CHORD_M / min(radii))
    assert found.shape.length < line.length
    assert hypot(*(drawn[0] - places[0])) == hypot(*(drawn[-1] - places[-1])) == 0.0


def test_a_straight_line_and_a_wrong_count() -> None:
    straight = LineString([(0, 0), (5, 0), (9, 0)])
    assert eased(straight, [1.0], HALF_M, WIDE).arcs == ()
    assert eased(LineString([(0, 0), (5, 0)]), [], HALF_M, WIDE).shape.length == 5
    with pytest.raises(ValueError, match="one radius for each bend"):
        eased(straight, [], HALF_M, WIDE)
