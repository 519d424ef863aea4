"""Root zones: named where the trench cannot keep off them, and only there."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from shapely import LineString, Point

from siteplan.check.finding import Finding
from siteplan.check.roots import check_roots
from siteplan.plan import plan_folder
from siteplan.route.model import Bored, Layout, Reach
from siteplan.rules.model import RootRules
from siteplan.site.catalogue import data_folder
from tests.check.scenes import feature, number, requirements, site
from tests.plans import example

FT = 0.3048
TREE = feature("pine", "tree", Point(15, 0.5), trunk_diameter=0.25)
ZONE = RootRules(radius_per_diameter=number(12.0), least_m=number(1.0))
"""A zone of 3 m round a trunk half a metre beside the trench."""


def found(*bored: Bored) -> list[Finding]:
    path = LineString([(0, 0), (30, 0)])
    reach = Reach(name="Main", path=path, runs=(), starts_at="well", ends_at="house", bored=bored)
    layout = Layout(reaches=(reach,), paths=(), kept_off=(), corridor=Point(), certificate="")
    return list(check_roots(site(TREE), requirements(roots=ZONE), layout))


def test_a_tree_that_is_bored_past_is_not_short() -> None:
    """Half the bucket is 0.3 m; the trench passes the trunk at 0.5 m where it is opened, at 3.54 m where it is bored."""
    (short,) = found()
    assert short.measured_m == pytest.approx(0.2)
    assert (short.required_m, short.from_m) == (pytest.approx(3.0), pytest.approx(15.0))
    assert found(Bored(feature="pine", from_m=11.5, to_m=18.5)) == []


def test_a_bore_that_is_too_short_leaves_the_tree_short() -> None:
    """Opened to 2 m from the foot of the trunk: the root of 2^2 + 0.5^2, less half the bucket."""
    (short,) = found(Bored(feature="pine", from_m=13.0, to_m=17.5))
    assert short.measured_m == pytest.approx((2**2 + 0.5**2) ** 0.5 - 0.3)
    assert short.from_m == pytest.approx(13.0)
    assert "Bore" in short.settle


def test_a_trench_bored_from_end_to_end_touches_no_root() -> None:
    assert found(Bored(feature="pine", from_m=0.0, to_m=30.0)) == []


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
    plan = plan_folder(site, thorough=False)
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
    plan = example("cedar-bench")
    assert not [finding for finding in plan.findings if finding.topic == "roots"]
