"""Small sites and rules files for the tests of the rules; shapes do not matter there."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from textwrap import dedent
from typing import Any

from shapely import Point

from siteplan.read.facts import parse_fact
from siteplan.rules.compiled import LINE_FACTS
from siteplan.site.catalogue import kinds
from siteplan.site.evidence import Evidence
from siteplan.site.features import Feature, Line, Source
from siteplan.site.site import Digging, Override, Site

TAPED = Evidence(method="taped", private_m=0.15)


def feature(name: str, kind: str, status: str = "existing", **facts: Any) -> Feature:
    """A thing on the ground; facts as a file states them ("62 ft")."""
    sorts = kinds()[kind].facts
    return Feature(
        id=name,
        kind=kind,
        name=name,
        status=status,  # type: ignore[arg-type]
        shape=Point(0, 0),
        evidence=TAPED,
        facts={key: parse_fact(value, sorts[key]) for key, value in facts.items()},
        source=Source(file="site.geojson"),
    )


def line(name: str, carries: str, end: str = "house", product: str = "", **facts: Any) -> Line:
    """A line to lay; facts as a file states them ("240 V")."""
    usual = {"water": "pe-1-ips", "electric": "pvc-1", "communications": "pvc-1"}
    return Line(
        id=name,
        name=name,
        carries=carries,  # type: ignore[arg-type]
        start="well",
        end=end,
        product=product or usual[carries],
        facts={key: parse_fact(value, LINE_FACTS[key]) for key, value in facts.items()},
        source=Source(file="site.toml"),
    )


def site(
    *features: Feature,
    lines: tuple[Line, ...] = (),
    rules: str = "us/mt",
    facts: Mapping[str, Any] | None = None,
    looked: Mapping[str, str] | None = None,
    overrides: tuple[Override, ...] = (),
) -> Site:
    """A site with these things."""
    return Site(
        name="test",
        folder="",
        units="ft",
        coordinates="ground",
        rules=rules,
        overrides=overrides,
        digging=Digging(bucket_m=0.6, bedding_m=0.1, entered=False, soil="common_earth", laying=TAPED),
        features=features,
        lines=lines,
        facts=facts or {},
        looked=looked or {},
    )


def override(row: str, reason: str = "the inspector said so on 2026-11-20", **values: Any) -> Override:
    """A site override as it stands in line 40 of ``site.toml``."""
    return Override(row=row, values=values, reason=reason, source=Source(file="site.toml", line=40))


HEAD = """
[layer]
title = "Test"
authority = "nobody"
edition = "1"
covers = "tests"
"""

SOURCE = 'citation = "Test Code 1"\nstatus = "memory"\n'


def write_layer(folder: Path, name: str, rows: str, head: str = HEAD) -> Path:
    """Write ``rules.toml`` of a layer below a folder; ``SOURCE`` in the rows stands for a citation."""
    path = folder / name / "rules.toml"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(head.lstrip() + dedent(rows).replace("SOURCE\n", SOURCE), encoding="utf-8")
    return path


BASE = "".join(
    f'[[{table}]]\nid = "{ident}"\n{numbers}\nSOURCE\n\n'
    for table, ident, numbers in (
        ("trench", "base-spoil", 'what = "spoil_back"\ndistance = "2 ft"'),
        ("trench", "base-egress", 'what = "egress_depth"\ndistance = "4 ft"'),
        ("trench", "base-spacing", 'what = "egress_spacing"\ndistance = "25 ft"'),
        ("trench", "base-protection", 'what = "protection_depth"\ndistance = "5 ft"'),
        ("trench", "base-engineer", 'what = "engineer_depth"\ndistance = "20 ft"'),
        *(
            (
                "trench",
                f"base-slope-{soil.lower()}",
                f'what = "slope"\nsoil_class = "{soil}"\nslope = {slope}',
            )
            for soil, slope in (("A", 0.75), ("B", 1.0), ("C", 1.5), ("rock", 0.0))
        ),
        ("locate", "base-zone", 'tolerance = "18 in"'),
        ("locate", "base-notice", 'call = "811"\nnotice = "2 days"\nlife = "30 days"'),
        ("roots", "base-roots", 'times_trunk = 12.0\nleast = "3 ft"'),
        ("bend", "base-bend", "limit_deg = 360"),
    )
)
"""The numbers that no plan can do without, for layers that have nothing else above them."""


def setback(ident: str, body: str, kind: str = "septic_tank", start: str = "well") -> str:
    """One setback row as a file has it."""
    return f'[[setback]]\nid = "{ident}"\nfrom = "{start}"\nto = ["{kind}"]\n{body}\nSOURCE\n\n'


def multiplier(ident: str, body: str, kind: str = "septic_tank") -> str:
    """One multiplier as a file has it."""
    return f'[[multiplier]]\nid = "{ident}"\nfrom = "well"\nto = ["{kind}"]\n{body}\nSOURCE\n\n'


def when(fact: str, op: str, value: str) -> str:
    """One condition as a file has it; the value with its quotes."""
    return f'{{ fact = "{fact}", op = "{op}", value = {value} }}'
