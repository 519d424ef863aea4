"""Another way that is chosen is written into the files so that it is planned again as it was shown."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from web_client import KEY, PORT, Client, write_wished

from siteplan.document.model import Plan
from siteplan.plan import plan_site
from siteplan.site.catalogue import data_folder
from siteplan.site.site import Site
from siteplan.web.app import make_app
from siteplan.web.planner import Wish


class Searcher:
    """Plans a site as it is given: proven only where a proof is asked for."""

    def plan(self, stage: str, site: Site) -> Plan:
        return plan_site(site, thorough=stage == "proven")

    def expect(self, site: Site | None) -> None:
        """It plans when it is asked."""

    def write(self, site: Site, into: Path, wish: Wish) -> tuple[Path, ...]:
        return write_wished(self.plan("searched", site), into, wish)

    def record(self, site: Site, folder: Path, into: Path) -> dict[str, object]:
        raise NotImplementedError


@pytest.mark.parametrize("example", ["cedar-bench", "birch-landing"])
def test_every_other_way_can_be_taken(tmp_path: Path, example: str) -> None:
    """A bore that is dearer than opening stays one; a trench along the edge of the roots stays beside them."""
    folder = tmp_path / example
    shutil.copytree(data_folder("example_sites") / example, folder)
    client = Client(make_app(folder, Searcher(), port=PORT, key=KEY))
    client.get(f"/?key={KEY}")
    told = client.post("/api/plan", json={"stage": "proven"}).json()
    assert len(told["ways"]) >= 2
    for way in told["ways"]:
        taken = client.post("/api/plan/way", json={"number": way["number"]}).json()
        assert "faults" not in taken, way["name"]
        again, shown = (float(price.lstrip("$").replace(",", "")) for price in (taken["price"], way["price"]))
        assert again == pytest.approx(shown, rel=0.01), way["name"]
        never_opened = next((to for at, to in taken["control"] if at == ["digging", "bored_under"]), None)
        assert (never_opened == ["oak-1"]) == way["name"].startswith("bored under the roots"), way["name"]
