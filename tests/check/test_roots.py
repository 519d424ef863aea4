"""Root zones: named where the trench cannot keep off them, and only there."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from siteplan.plan import plan_folder
from siteplan.site.catalogue import data_folder

FT = 0.3048


def test_a_well_in_a_root_zone_is_no_closed_way(tmp_path: Path) -> None:
    """A pine of 20 in stands 12 ft from the well: its zone of 20 ft holds the casing."""
    site = Path(shutil.copytree(data_folder("example_sites") / "cedar-bench", tmp_path / "site"))
    data = json.loads((site / "site.geojson").read_text(encoding="utf-8"))
    things = {each["id"]: each for each in data["features"]}
    longitude, latitude = things["well"]["geometry"]["coordinates"]
    tree = things["oak-2"]
    tree["properties"]["trunk_diameter"] = "20 in"
    tree["geometry"]["coordinates"] = [longitude, latitude + 12 * FT / 111_170]
    (site / "site.geojson").write_text(json.dumps(data), encoding="utf-8")
    plan = plan_folder(site)
    (finding,) = [finding for finding in plan.findings if finding.topic == "roots"]
    assert finding.to == "oak-2"
    assert finding.verdict == "short"
    assert finding.required_m == pytest.approx(20 * FT)
    assert finding.measured_m == pytest.approx(
        (12 - 1) * FT, abs=0.03
    )  # the trench only leaves the tree behind
    assert finding.citation is not None
    assert finding.citation.force == "advised"
    for other in ("oak-1", "oak-3"):
        zone = float(plan.site.feature(other).facts["trunk_diameter"]) * 12
        assert all(
            reach.path.distance(plan.site.feature(other).shape) >= zone for reach in plan.layout.reaches
        )


def test_trees_that_are_kept_off_say_nothing() -> None:
    plan = plan_folder(data_folder("example_sites") / "cedar-bench")
    assert not [finding for finding in plan.findings if finding.topic == "roots"]
