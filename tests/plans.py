"""Plans that many tests look at: each site is planned once in a process."""

from __future__ import annotations

import pickle
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

from siteplan.document.model import Plan
from siteplan.plan import plan_folder, plan_site
from siteplan.read import read_site
from siteplan.route.layout import lay
from siteplan.route.model import Layout
from siteplan.site.catalogue import data_folder
from siteplan.site.site import Site

_PLANS: dict[bytes, Plan] = {}
_LAID: dict[bytes, Layout] = {}


def quick_lay(site: Site, *words: Any, **named: Any) -> Layout:
    """In place of ``lay``: without the proof and the alternatives, and once for the same questions."""
    named = {**named, "thorough": False}
    key = pickle.dumps((replace(site, folder=""), words, named))
    if key not in _LAID:
        _LAID[key] = lay(site, *words, **named)
    return _LAID[key]


def forget() -> None:
    """Let all be planned anew: for tests that two runs agree."""
    _PLANS.clear()
    _LAID.clear()


def quick_site(site: Site) -> Plan:
    """Plan a site as read, without a proof and without other ways; the same one in another folder is not planned again."""
    key = pickle.dumps(replace(site, folder=""))
    if key not in _PLANS:
        _PLANS[key] = plan_site(site, thorough=False)
    plan = _PLANS[key]
    return replace(plan, site=replace(plan.site, folder=site.folder))


def quick_plan(folder: Path) -> Plan:
    return quick_site(read_site(folder))


def example(name: str) -> Plan:
    """The plan of a folder of ``example_sites``."""
    return quick_plan(data_folder("example_sites") / name)


@cache
def proven_example(name: str) -> Plan:
    """The plan of the command line: with the proof, and with other ways."""
    return plan_folder(data_folder("example_sites") / name)
