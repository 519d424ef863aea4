"""What is typed while drawing, asked of the page's application; places are checked with geodesics (GeographicLib, pyproj)."""

from __future__ import annotations

from typing import Any

import pytest
from pyproj import Geod
from web_client import Client

GEOD = Geod(ellps="WGS84")
HERE = [-112.0714, 46.5947]
SITE_SCALE = 1 + 4450 * 0.3048 / 6_371_000
"""The example lies at 4450 ft: a tape there is longer than the ellipsoid below it."""


def asked(client: Client, name: str, body: dict[str, Any]) -> Any:
    answer = client.post(f"/api/draft/{name}", json=body)
    return answer.json() | {"status": answer.status_code}


@pytest.mark.parametrize(
    ("typed", "before", "azimuth_deg"),
    [
        ({"direction": "N 26 10 E"}, None, 26 + 10 / 60),
        ({"direction": "206.5"}, None, 206.5 - 360),
        ({"direction": "90", "sense": "right"}, [-112.0714, 46.5946], 90.0),
        ({"direction": "45", "sense": "left"}, [-112.0714, 46.5946], -45.0),
        ({"direction": "", "towards": [-112.0700, 46.5947]}, None, 90.0),
    ],
)
def test_a_typed_side_is_placed(
    client: Client, typed: dict[str, Any], before: list[float] | None, azimuth_deg: float
) -> None:
    told = asked(client, "step", {"from": HERE, "before": before, "length": "42 ft 6 in", **typed})
    assert told["status"] == 200
    way_deg, _, long_m = GEOD.inv(*HERE, *told["place"])
    assert long_m * SITE_SCALE == pytest.approx(42.5 * 0.3048, abs=5e-4)
    assert way_deg == pytest.approx(azimuth_deg, abs=0.005)


@pytest.mark.parametrize(
    ("name", "body", "words"),
    [
        ("step", {"from": HERE, "length": "42", "direction": "N"}, 'Length: found "42", which has no unit'),
        ("step", {"from": HERE, "length": "4 ft", "direction": "uphill"}, "Direction: found the bearing"),
        ("step", {"from": HERE, "length": "4 ft"}, "Direction: type it, or point where the side goes"),
        ("step", {"from": HERE, "length": "4 ft", "direction": "9", "sense": "left"}, "no side before"),
        ("step", {"from": [1], "length": "4 ft", "direction": "N"}, "From: expected longitude and latitude"),
        ("step", {"from": [True, 2], "length": "4 ft", "direction": "N"}, "From: expected"),
        ("step", {"from": HERE, "length": "0 ft", "direction": "N"}, "Length: expected more than nothing"),
        ("rectangle", {"at": HERE, "width": "36 ft", "depth": "", "direction": "N"}, "Depth: found nothing"),
        ("move", {"geometry": {"type": "Point"}, "length": "3 ft", "direction": "N"}, "expected"),
        ("move", {"geometry": "well", "length": "3 ft", "direction": "N"}, "expected"),
        ("move", {"geometry": {"type": "Point", "coordinates": [500, 2]}}, "within 85 degrees"),
        ("turn", {"geometry": {"type": "Point", "coordinates": HERE}, "degrees": "half"}, "Degrees: found"),
        ("resize", {"geometry": {"type": "Point", "coordinates": HERE}}, "four square corners"),
        ("carry", {"geometries": [], "to": HERE}, "a list of shapes"),
    ],
)
def test_what_cannot_be_read_is_said(client: Client, name: str, body: dict[str, Any], words: str) -> None:
    told = asked(client, name, body)
    assert told["status"] in (400, 422)
    assert words in told["faults"][0] and len(told["faults"]) == 1


def test_a_rectangle_is_laid_sized_turned_and_carried(client: Client) -> None:
    typed = {"width": "11.1 m", "depth": "24 ft", "direction": "N 30 E", "side": "right", "held": "corner"}
    laid = asked(client, "rectangle", {"at": HERE, **typed})["geometry"]
    ring = laid["coordinates"][0]
    assert ring[0] == HERE == ring[4]
    sides = [GEOD.inv(*ring[n], *ring[n + 1]) for n in range(4)]
    assert [side[2] * SITE_SCALE for side in sides[:2]] == pytest.approx([11.1, 7.3152], abs=5e-4)
    assert [side[0] for side in sides[:2]] == pytest.approx([30, 120], abs=0.005)
    larger = asked(client, "resize", {"geometry": laid, "width": "40 ft", "depth": "24 ft"})["geometry"]
    assert GEOD.inv(*HERE, *larger["coordinates"][0][1])[2] * SITE_SCALE == pytest.approx(12.192, abs=5e-4)
    round_ = asked(client, "turn", {"geometry": laid, "degrees": "15", "sense": "left"})["geometry"]
    assert GEOD.inv(*round_["coordinates"][0][0], *round_["coordinates"][0][1])[0] == pytest.approx(
        15, abs=0.005
    )
    there = asked(client, "carry", {"geometries": [laid], "to": [-100.0, 40.0]})["geometries"][0]
    assert there["coordinates"][0][0] == there["coordinates"][0][4]
    assert GEOD.inv(*there["coordinates"][0][0], *there["coordinates"][0][1])[2] * SITE_SCALE == (
        pytest.approx(11.1, abs=1e-3)
    )
