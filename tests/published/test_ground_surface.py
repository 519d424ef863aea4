"""A published triangle, through the ground surface."""

from __future__ import annotations

import pytest

from siteplan.plane.ground import GroundSurface

# PROJ repository, tinshift.gie with tinshift_simplified (EPSG:2393+5717 to 2393+5941): one triangle, with the height at
# each corner before and after, and a point of height 10.0 that the shift takes to 10.2886.
CORNERS = [
    (3188607.0, 6688748.0, 23.123, 23.4133),
    (3184981.0, 6725255.0, 8.044, 8.34499),
    (3220912.0, 6699508.0, 1.724, 2.0101),
]


def test_height_shift_inside_one_triangle() -> None:
    shift = GroundSurface([(x, y, after - before) for x, y, before, after in CORNERS])
    found = shift.elevation(3210000.0, 6700000.0)
    assert found is not None
    assert 10.0 + found == pytest.approx(10.2886, abs=1e-4)


def test_corners_keep_their_height() -> None:
    surface = GroundSurface([corner[:3] for corner in CORNERS])
    for x, y, height, _ in CORNERS:
        assert surface.elevation(x, y) == pytest.approx(height, abs=1e-9)
