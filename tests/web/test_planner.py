"""The slow stages run in a process of their own: they answer, fail and are ended without holding up the page."""

from __future__ import annotations

import pickle
import threading
import time
from pathlib import Path

import pytest
from shapely import box

from siteplan.check.finding import Finding
from siteplan.document.write import DOCUMENTS
from siteplan.errors import Fault, InputFaults, NoRoute, WayOut
from siteplan.read import read_site
from siteplan.site.catalogue import data_folder
from siteplan.site.site import Site
from siteplan.web.planner import Beside, OutOfDate, StagedPlanner, Wish
from tests.plans import proven_example


def sleep_and(seconds: float, answer: int) -> int:
    time.sleep(seconds)
    return answer


def fail_with(error: Exception) -> None:
    raise error


FAULTS = InputFaults([Fault(file="a.csv", line=n, found="x", expected="y") for n in (1, 2)])
CLOSED = NoRoute(
    "no way",
    blockers=("pond",),
    where=box(0, 0, 1, 2),
    ways_out=(WayOut(kind="bore", feature="pond", amount_m=9.0, words="go under it"),),
)


@pytest.mark.parametrize("error", [FAULTS, CLOSED, ValueError("odd")], ids=["faults", "no route", "other"])
def test_what_is_raised_there_is_raised_here(error: Exception) -> None:
    with pytest.raises(type(error)) as caught:
        Beside().run(fail_with, error)
    assert caught.value.__dict__ == error.__dict__
    assert str(caught.value) == str(error)


def test_errors_survive_pickling() -> None:
    assert pickle.loads(pickle.dumps(FAULTS)).faults == FAULTS.faults
    closed = pickle.loads(pickle.dumps(CLOSED))
    assert (closed.blockers, closed.ways_out) == (CLOSED.blockers, CLOSED.ways_out)
    assert closed.where.equals(CLOSED.where)


def test_a_newer_call_ends_the_one_that_runs() -> None:
    beside, ended = Beside(), []

    def first() -> None:
        try:
            beside.run(sleep_and, 60.0, 1)
        except OutOfDate:
            ended.append(time.monotonic())

    waiting = threading.Thread(target=first)
    waiting.start()
    while beside.idle:
        time.sleep(0.01)
    assert beside.run(sleep_and, 0.0, 2) == 2
    waiting.join(20)
    assert len(ended) == 1
    beside.drop()


def findings(found: tuple[Finding, ...]) -> list[tuple[str, str, str, str]]:
    return [(each.verdict, each.what, each.required_text, each.reach) for each in found]


@pytest.fixture(scope="module")
def planner() -> StagedPlanner:
    return StagedPlanner()


@pytest.fixture(scope="module")
def site() -> Site:
    return read_site(data_folder("example_sites") / "birch-landing")


def test_the_last_stage_is_the_plan_of_the_command_line(planner: StagedPlanner, site: Site) -> None:
    first = planner.plan("first look", site)
    proven = planner.plan("proven", site)
    by_command = proven_example("birch-landing")
    assert findings(proven.findings) == findings(by_command.findings)
    assert proven.layout.certificate == by_command.layout.certificate
    assert first.layout.certificate != proven.layout.certificate


def test_documents_are_those_of_the_command_line(planner: StagedPlanner, site: Site, tmp_path: Path) -> None:
    written = planner.write(site, tmp_path / "out", Wish())
    assert {path.name for path in written} == set(DOCUMENTS)
