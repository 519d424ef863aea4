"""Plans a site in stages, the slow ones in a process of their own that is ended when its plan is out of date.

The first look follows the plan before it and comes at once; ``searched`` is the search from nothing; ``proven`` also has the
proof and the other ways, and is the plan that the command line makes.
"""

from __future__ import annotations

import multiprocessing
import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any, Protocol

from siteplan.document.model import Plan
from siteplan.document.record_files import DATA, write_record
from siteplan.document.sheet import LETTER, Paper
from siteplan.document.write import write_documents
from siteplan.errors import SiteplanError
from siteplan.plan import plan_site
from siteplan.read.asbuilt import read_measurements
from siteplan.read.shots import read_shots
from siteplan.record import record_plan
from siteplan.site.site import Site
from siteplan.web.built_answer import record_answer

STAGES = ("first look", "searched", "proven")


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """How documents are wanted: as the options of ``siteplan plan``."""

    paper: Paper = LETTER
    language: str = "en"
    variance: bool = False
    call: datetime | None = None


class OutOfDate(Exception):
    """The plan was not finished: a newer one was asked for."""


class Planner(Protocol):
    """Plans a site as read, and writes its documents."""

    def plan(self, stage: str, site: Site) -> Plan:
        """Plan a site as read; ``stage`` is one of ``STAGES``.

        Raises
        ------
        InputFaults, NoRoute
            As ``plan_site`` does.
        OutOfDate
            A newer plan was asked for meanwhile.
        """
        ...

    def expect(self, site: Site | None) -> None:
        """Be told that a first look at this site will be asked for soon; ``None``: at one that is still being read."""
        ...

    def write(self, site: Site, into: Path, wish: Wish) -> tuple[Path, ...]:
        """Write all documents of the proven plan; the paths written."""
        ...

    def record(self, site: Site, folder: Path, into: Path) -> dict[str, Any]:
        """Hold ``shots.csv`` of a folder against the proven plan and keep the record; how it came out, as JSON."""
        ...


class StagedPlanner:
    """The planner of the served page."""

    def __init__(self) -> None:
        self._beside = Beside()
        self._writing = Beside()
        self._looking = threading.Lock()
        self._proving = threading.Lock()
        self._proven: tuple[Site, Plan] | None = None
        self._last: tuple[Site, Plan] | None = None
        self._wanted: Site | None = None

    def plan(self, stage: str, site: Site) -> Plan:
        """Plan a site as read (see ``Planner``)."""
        if stage == "proven":
            return self._prove(site)
        if stage == "searched":
            self._last = site, self._beside.run(plan_site, site, thorough=False)
            return self._last[1]
        return self._look(site)

    def expect(self, site: Site | None) -> None:
        """Begin a first look (see ``Planner``): whoever asks for it finds it begun, and a look at another site ends."""
        self._wanted = site
        if site is None:
            return

        def look() -> None:
            with suppress(SiteplanError, OutOfDate):
                self._look(site)

        threading.Thread(target=look, daemon=True).start()

    def write(self, site: Site, into: Path, wish: Wish) -> tuple[Path, ...]:
        """Write all documents (see ``Planner``)."""
        written: tuple[Path, ...] = self._writing.run(write_wished, self._prove(site), into, wish)
        return written

    def record(self, site: Site, folder: Path, into: Path) -> dict[str, Any]:
        """Keep the record (see ``Planner``)."""
        told: dict[str, Any] = self._writing.run(keep_record, self._prove(site), folder, into)
        return told

    def _look(self, site: Site) -> Plan:
        """Follow the last plan; once for a site, and given up as soon as another site is to be looked at."""

        def still_wanted() -> None:
            if self._wanted is not site:
                raise OutOfDate

        self._wanted = site
        self._beside.drop()
        with self._looking:
            still_wanted()
            if self._last is None or self._last[0] is not site:
                former = self._last[1] if self._last else None
                self._last = site, plan_site(site, thorough=False, former=former, between=still_wanted)
            return self._last[1]

    def _prove(self, site: Site) -> Plan:
        """Plan as the command line does; once for a site, whoever asks."""
        with self._proving:
            if self._proven is None or self._proven[0] is not site:
                self._proven = self._last = site, self._beside.run(plan_site, site)
            return self._proven[1]


def write_wished(plan: Plan, into: Path, wish: Wish) -> tuple[Path, ...]:
    """Write all documents of a plan."""
    called = replace(plan, call=wish.call)
    return write_documents(called, into, wish.paper, language=wish.language, variance=wish.variance)


def keep_record(plan: Plan, folder: Path, into: Path) -> dict[str, Any]:
    """Hold ``shots.csv`` against a plan and write the record."""
    record = record_plan(plan, read_shots(folder, plan.site), read_measurements(into / DATA))
    write_record(record, into)
    return record_answer(record)


class Beside:
    """One call at a time in a process of its own; a newer call, or ``drop``, ends the one that runs.

    The call and what it returns or raises must survive pickling.
    """

    def __init__(self) -> None:
        self._context: Any = multiprocessing.get_context(_start_method())
        self._newest: Any = None
        self._guard = threading.Lock()

    def run(self, work: Callable[..., Any], *given: Any, **named: Any) -> Any:
        """Return what ``work`` returns, or raise what it raises; ``OutOfDate`` if it was ended."""
        ours, theirs = self._context.Pipe(duplex=False)
        process = self._context.Process(target=_work, args=(theirs, work, given, named), daemon=True)
        with self._guard:
            self._end()
            self._newest = process
        process.start()
        with self._guard:
            if self._newest is not process:
                process.kill()
        theirs.close()
        try:
            failed, outcome = ours.recv()
        except EOFError:
            ended_by_us = self._newest is not process
            raise OutOfDate if ended_by_us else SiteplanError("the planning ended by itself") from None
        finally:
            ours.close()
            process.join()
            with self._guard:
                if self._newest is process:
                    self._newest = None
        if failed:
            raise outcome
        return outcome

    @property
    def idle(self) -> bool:
        """Whether nothing runs."""
        return self._newest is None

    def drop(self) -> None:
        """End what runs."""
        with self._guard:
            self._end()

    def _end(self) -> None:
        ended, self._newest = self._newest, None
        if ended is not None and ended.pid is not None:  # one that is being started is ended by who starts it
            ended.kill()


def _start_method() -> str:
    """Start from a small process that has the modules loaded, where the system can; it loads them from now on."""
    if "forkserver" not in multiprocessing.get_all_start_methods():
        return "spawn"
    from multiprocessing import forkserver

    multiprocessing.get_context("forkserver").set_forkserver_preload(["siteplan.web.planner"])
    forkserver.ensure_running()
    return "forkserver"


def _work(
    answer: Connection, work: Callable[..., Any], given: tuple[Any, ...], named: dict[str, Any]
) -> None:
    try:
        outcome: tuple[bool, Any] = (False, work(*given, **named))
    except Exception as error:
        outcome = (True, error)
    with suppress(BrokenPipeError):
        try:
            answer.send(outcome)
        except (TypeError, AttributeError, ValueError) as error:  # an error that cannot be sent
            answer.send((True, SiteplanError(f"{type(outcome[1]).__name__}: {error}")))
