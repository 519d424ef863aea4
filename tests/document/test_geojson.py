"""plan.geojson and asbuilt.geojson against the text of RFC 7946, and against the plan they come from."""

from __future__ import annotations

import json
from itertools import pairwise
from typing import Any

import pytest
from shapely.geometry import shape

from siteplan.document.asbuilt import asbuilt_geojson
from siteplan.document.geojson import geometry, plan_geojson
from tests.document.sample_plan import sample_plan

DEPTH = {
    "Point": 0,
    "MultiPoint": 1,
    "LineString": 1,
    "MultiLineString": 2,
    "Polygon": 2,
    "MultiPolygon": 3,
}


def _positions(coordinates: Any, depth: int) -> list[Any]:
    if depth == 0:
        return [coordinates]
    return [position for part in coordinates for position in _positions(part, depth - 1)]


def _signed_area(ring: list[list[float]]) -> float:
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise(ring)) / 2


def assert_rfc7946(text: str) -> list[dict[str, Any]]:
    """Hold a text against sections 3 and 4 of RFC 7946."""
    data = json.loads(text, parse_constant=lambda name: pytest.fail(f"{name} is not JSON"))
    assert data["type"] == "FeatureCollection"
    assert "crs" not in data  # section 4
    ids = [each["id"] for each in data["features"]]
    assert len(ids) == len(set(ids))
    for each in data["features"]:
        assert each["type"] == "Feature"
        assert isinstance(each["properties"], dict)
        kind, coordinates = each["geometry"]["type"], each["geometry"]["coordinates"]
        for longitude, latitude in _positions(coordinates, DEPTH[kind]):
            assert -180 <= longitude <= 180  # section 3.1.1: longitude first
            assert -90 <= latitude <= 90
            assert len(str(longitude).split(".")[-1]) <= 9
        for polygon in {"Polygon": [coordinates], "MultiPolygon": coordinates}.get(kind, []):
            for number, ring in enumerate(polygon):
                assert ring[0] == ring[-1]  # section 3.1.6
                assert len(ring) >= 4
                assert (_signed_area(ring) > 0) == (number == 0)
        if kind == "LineString":
            assert len(coordinates) >= 2  # section 3.1.4
    return list(data["features"])


def test_the_winding_of_the_standards_own_example() -> None:
    """RFC 7946, section 3.1.6 and appendix A.3: outer ring counter-clockwise (+1.0), hole clockwise (-0.36)."""
    outer = [[100, 0], [101, 0], [101, 1], [100, 1], [100, 0]]
    hole = [[100.8, 0.8], [100.8, 0.2], [100.2, 0.2], [100.2, 0.8], [100.8, 0.8]]
    for given in ([outer, hole], [outer[::-1], hole[::-1]]):
        written = geometry(shape({"type": "Polygon", "coordinates": given}))["coordinates"]
        assert _signed_area(written[0]) == pytest.approx(1.0)
        assert _signed_area(written[1]) == pytest.approx(-0.36)


def test_plan_geojson_is_rfc7946_and_holds_all_of_the_plan() -> None:
    plan = sample_plan()
    features = assert_rfc7946(plan_geojson(plan))
    themes = [each["properties"]["theme"] for each in features]
    assert themes.count("site") == len(plan.site.features)
    assert themes.count("trench") == len(plan.layout.reaches)
    assert themes.count("line") == len(plan.site.lines)
    assert themes.count("station") == len(plan.works.stations)
    assert themes.count("crossing") == len(plan.works.crossings)
    assert themes.count("finding") == sum(len(finding.points) == 2 for finding in plan.findings)


def test_positions_come_back_to_the_millimetre() -> None:
    plan = sample_plan()
    features = {each["id"]: each for each in json.loads(plan_geojson(plan))["features"]}
    for reach in plan.layout.reaches:
        back = plan.frame.to_ground(shape(features[f"trench-{reach.name}"]["geometry"]))
        assert back.hausdorff_distance(reach.path) < 0.001


def test_asbuilt_before_the_dig_says_planned_everywhere() -> None:
    features = assert_rfc7946(asbuilt_geojson(sample_plan()))
    lines = [each["properties"] for each in features if each["properties"]["theme"] == "line"]
    assert lines
    for line in lines:
        assert set(line["standing"].values()) == {"planned"}
        assert line["covers"]


def test_same_plan_same_bytes() -> None:
    assert plan_geojson(sample_plan()) == plan_geojson(sample_plan())
    assert asbuilt_geojson(sample_plan()) == asbuilt_geojson(sample_plan())
