"""Ground too steep for the machine, on surfaces whose slope is known."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
from shapely import Point

from siteplan.plane.ground import GroundSurface
from siteplan.route.steep import steep_ground


def test_a_plane_is_steep_all_over_or_nowhere() -> None:
    """3 in 5, rising to the northeast: 0.36 east and 0.48 north."""
    surface = GroundSurface([(x, y, 0.36 * x + 0.48 * y) for x in range(0, 50, 10) for y in range(0, 40, 10)])
    assert steep_ground(surface, 0.6).is_empty
    assert steep_ground(surface, 0.599).area == pytest.approx(40 * 30)


def test_a_cone_of_one_in_two_is_steep_and_the_ground_round_it_is_not() -> None:
    """Levels in a ring every 3 degrees, 10 m high at the middle: the ring's polygon, a little less than its circle."""
    ring = [(20 * np.cos(turn), 20 * np.sin(turn)) for turn in np.arange(120) * 2 * pi / 120]
    far = [(2 * x, 2 * y, 0.0) for x, y in ring]
    surface = GroundSurface([(0, 0, 10.0), *((x, y, 0.0) for x, y in ring), *far])
    steep = steep_ground(surface, 0.4)
    assert steep.area == pytest.approx(120 / 2 * 20**2 * np.sin(2 * pi / 120))
    assert steep.contains(Point(15, 0))
    assert not steep.intersects(Point(25, 0))
    assert steep_ground(surface, 0.51).is_empty
