"""The findings of a plan as the page shows them: the verdict, the rule behind it, and the facts that it waits for."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from siteplan.check.finding import Finding
from siteplan.check.setbacks import fact_words
from siteplan.document.map_cards import rule_text
from siteplan.document.model import Plan
from siteplan.document.summary import error_text, margin_text, measured_text, where_text
from siteplan.rules import load_stack
from siteplan.rules.compiled import LINE_FACTS, SITE_FACTS
from siteplan.rules.model import Setback, Unmeasured
from siteplan.site.catalogue import kinds
from siteplan.units import Printer

_Key = tuple[str, str, str]
_OF_A_CROSSED_LINE = {
    "depth": "depth to its top, as its owner states it (only a test hole shows it)",
    "diameter": "how thick it is, where we pass under it",
}


def finding_answers(plan: Plan) -> list[dict[str, Any]]:
    """Findings as JSON values, worst first."""
    rules: list[Setback | Unmeasured] = [*plan.requirements.setbacks, *plan.requirements.unmeasured]
    rows = {(rule.of, rule.to, rule.citation.row): rule for rule in rules}
    print_ = Printer(plan.site.units)
    return [_answer(plan, finding, rows, print_) for finding in plan.findings]


def _answer(
    plan: Plan, finding: Finding, rows: Mapping[_Key, Setback | Unmeasured], print_: Printer
) -> dict[str, Any]:
    citation = finding.citation
    rule = rows.get((finding.subject, finding.to, citation.row)) if citation else None
    chance = finding.chance if finding.verdict == "too close to call" else None
    return {
        "number": finding.number,
        "topic": finding.topic,
        "verdict": finding.verdict,
        "what": finding.what,
        "where": where_text(finding, print_).strip(" ()"),
        "subject": finding.subject,
        "to": finding.to,
        "reach": finding.reach,
        "from_m": finding.from_m,
        "to_m": finding.to_m,
        "required": finding.required_text,
        "measured": measured_text(finding, print_),
        "error": error_text(finding, print_),
        "margin": margin_text(finding, print_),
        "method": finding.method,
        "because": list(finding.because),
        "settle": finding.settle,
        "chance": "" if chance is None else f"{100 * chance:.0f} % that it truly is as much as required",
        "asked": _asked(rule) if isinstance(rule, Setback) else "",
        "missing": list(_missing(plan, finding, rule)) if finding.verdict == "not checked" else [],
        "rule": citation
        and {
            "text": rule_text(citation),
            "row": citation.row,
            "layer": citation.layer,
            "url": citation.url,
            "confirmed": citation.confirmed,
            "note": citation.note,
        },
    }


def _asked(rule: Setback) -> str:
    """What the rule asks, in words."""
    if not rule.applies:
        return ""
    if rule.prohibit and rule.least.value == 0:
        return "never in, under or through it"
    verb = "should be" if rule.citation.force == "advised" else "at least"
    return f"{verb} {rule.least}, from the {rule.from_point} to the {rule.to_edge}"


def _missing(plan: Plan, finding: Finding, rule: Setback | Unmeasured | None) -> Iterator[dict[str, Any]]:
    """Facts that decide and that nobody stated, each with the thing that may state it."""
    site = plan.site
    if finding.topic == "crossing" and finding.measured_m is None:
        crossed = site.feature(finding.to)
        for key, words in _OF_A_CROSSED_LINE.items():
            sort = kinds()[crossed.kind].facts.get(key)
            if sort and key not in crossed.facts:
                kept = {"of": "thing", "id": crossed.id, "key": key, "name": crossed.name}
                yield {**kept, "words": words, "sort": sort}
    if rule is None:
        return
    wells = [well.id for well in site.of_kind("well")]
    owners = {
        "well": rule.of if rule.subject == "well" else wells[0] if len(wells) == 1 else "",
        "hazard": rule.to,
        "line": rule.of if rule.subject == "line" else "",
        "site": "",
    }
    for fact in rule.missing:
        whose, _, name = fact.partition(".")
        owner = owners.get(whose)
        if owner is None or (whose != "site" and not owner):
            continue
        if whose == "site":
            sort, called = {**SITE_FACTS, **load_stack(site.rules).site_facts}.get(name), site.name
        elif whose == "line":
            sort, called = LINE_FACTS.get(name), site.line(owner).name
        else:
            thing = site.feature(owner)
            sort, called = kinds()[thing.kind].facts.get(name), thing.name
        if sort:
            kept = {"of": whose if whose in ("site", "line") else "thing", "id": owner, "key": name}
            yield {**kept, "name": called, "words": fact_words(fact), "sort": sort}
