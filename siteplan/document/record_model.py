"""The as-built record: everything that its files and sheets print."""

from __future__ import annotations

from dataclasses import dataclass

from siteplan.check.finding import Finding
from siteplan.document.model import Plan
from siteplan.measure.record_model import Built


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One verdict that is not what the plan said: the finding of the plan (``None``: it had none), and of what was built."""

    before: Finding | None
    after: Finding


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """A site as built.

    Attributes
    ----------
    plan : Plan
        As planned; its findings are those before the dig.
    built : Built
        Points, lines, visits.
    findings : tuple of Finding
        Of what was built, worst first, numbered.
    changes : tuple of Change
        Verdicts that differ from the plan's, worst first.
    """

    plan: Plan
    built: Built
    findings: tuple[Finding, ...]
    changes: tuple[Change, ...]
