"""What the operator tapes: every printed tie and every station of the example, against geodesics of GeographicLib.

Nothing of siteplan's own plane is used here: longitudes and latitudes of ``stations.csv`` and of the input file, Karney's
geodesic on WGS 84 (package geographiclib), raised to the height of the site by (R + h) / R with R the mean radius of curvature.
"""

from __future__ import annotations

import csv
import io
import json
from itertools import pairwise
from math import radians, sin, sqrt
from typing import Any

import pytest
from geographiclib.geodesic import Geodesic

from siteplan.document.tables import stations_csv
from siteplan.site.catalogue import data_folder
from tests.plans import example

FOLDER = data_folder("example_sites") / "cedar-bench"
FT = 0.3048
HEIGHT_M = 4450 * FT
LATITUDE = 46.5947

WGS84: Any = Geodesic.WGS84
E2 = WGS84.f * (2 - WGS84.f)
RADIUS_M = WGS84.a * sqrt(1 - E2) / (1 - E2 * sin(radians(LATITUDE)) ** 2)


def taped_ft(one: tuple[float, float], other: tuple[float, float]) -> float:
    metres = WGS84.Inverse(one[1], one[0], other[1], other[0])["s12"]
    return float(metres) * (RADIUS_M + HEIGHT_M) / RADIUS_M / FT


@pytest.fixture(scope="module")
def rows() -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(stations_csv(example("cedar-bench")))))


@pytest.fixture(scope="module")
def places() -> dict[str, tuple[float, float]]:
    """Corners by the names of the sheets, from the input file alone: least and greatest longitude and latitude."""
    data = json.loads((FOLDER / "site.geojson").read_text(encoding="utf-8"))
    shapes = {each["id"]: each["geometry"]["coordinates"] for each in data["features"]}
    barn = [tuple(place) for place in shapes["barn"][0][:-1]]
    return {
        "Well casing": tuple(shapes["well"]),
        "Barn SW": min(barn, key=lambda place: place[0] + place[1]),
        "Barn SE": max(barn, key=lambda place: place[0] - place[1]),
        "Barn NW": min(barn, key=lambda place: place[0] - place[1]),
        "Barn NE": max(barn, key=lambda place: place[0] + place[1]),
    }


def at(row: dict[str, str]) -> tuple[float, float]:
    return float(row["longitude"]), float(row["latitude"])


def test_every_tie_is_what_a_tape_reads(
    rows: list[dict[str, str]], places: dict[str, tuple[float, float]]
) -> None:
    checked = 0
    for row in rows:
        for tie in ("tie_a", "tie_b"):
            if row[tie] in places:
                assert float(row[f"{tie}_ft"]) == pytest.approx(
                    taped_ft(at(row), places[row[tie]]), abs=0.055
                )
                checked += 1
    assert checked >= 8


def test_every_station_is_what_a_tape_laid_along_the_trench_reads(rows: list[dict[str, str]]) -> None:
    for reach in ("Main", "A"):
        run = 0.0
        along = [row for row in rows if row["reach"] == reach]
        for one, other in pairwise(along):
            run += taped_ft(at(one), at(other))
            assert float(other["distance_ft"]) == pytest.approx(run, abs=0.06)


def test_the_setback_of_the_review_is_what_a_tape_reads(places: dict[str, tuple[float, float]]) -> None:
    """Casing edge (half of 6 in) to the nearest corner of the absorption area."""
    data = json.loads((FOLDER / "site.geojson").read_text(encoding="utf-8"))
    (field,) = (each for each in data["features"] if each["id"] == "field")
    corners = [tuple(place) for place in field["geometry"]["coordinates"][0]]
    taped = min(taped_ft(places["Well casing"], corner) for corner in corners) - 0.25
    (finding,) = (each for each in example("cedar-bench").findings if each.verdict == "too close to call")
    assert finding.measured_m is not None
    assert finding.measured_m / FT == pytest.approx(taped, abs=0.01)
