"""The back of the setback review: what does not apply, the frost depth, how positions are known and who measured, the rules."""

from __future__ import annotations

from siteplan.document.codes import Codes, as_listed, listed_rules
from siteplan.document.model import Plan
from siteplan.document.pages import LEAST_PT, SMALL_PT, Flow
from siteplan.document.rule_words import frost_block, replaced, set_aside, silent
from siteplan.document.symbols import is_on_the_ground
from siteplan.document.words import feature_name
from siteplan.rules.model import LayerNote
from siteplan.site.catalogue import methods
from siteplan.units import Printer

_BLANK = "______________________"


def not_applicable(flow: Flow, plan: Plan, codes: Codes) -> None:
    """Place what does not apply, with the reason."""
    by_reason: dict[str, list[str]] = {}
    for one in plan.findings:
        if one.verdict == "not applicable":
            words = f"{one.number}. {one.what} ({codes.rule_and_force(one.citation)})"
            by_reason.setdefault("; ".join(one.because), []).append(words)
    if by_reason:
        flow.heading("Not applicable: the rule speaks of this pair, its conditions are not met", below=30)
        flow.items([f"{reason}: {'; '.join(pairs)}." for reason, pairs in by_reason.items()], size=LEAST_PT)


def rules(flow: Flow, plan: Plan, codes: Codes) -> None:
    """Place the rules by their codes, the unconfirmed ones, the rule set and what was replaced for this site."""
    asked = plan.requirements
    flow.heading("Rules", below=30)
    flow.columns(listed_rules(codes), size=LEAST_PT)
    doubtful = [code for citation, code in codes.rules.items() if not citation.confirmed]
    doubtful += dict.fromkeys(
        f"{citation.text} ({citation.standing})"
        for citation in asked.unconfirmed
        if as_listed(citation) not in codes.rules
    )
    if doubtful:
        flow.text(
            f"Unconfirmed, read at second hand or from memory, look these up: {'; '.join(doubtful)}.",
            size=LEAST_PT,
        )
    flow.heading("Rule set, and what it does not cover", below=30)
    flow.items(
        [_rule_set(note) for note in asked.stack],
        size=LEAST_PT,
    )
    said = "; ".join(replaced(plan)) or "nothing"
    looked = [f"{kind.replace('_', ' ')}: {words}" for kind, words in sorted(plan.site.looked.items())]
    flow.text(f"Replaced for this site, with the reason: {said}.", size=LEAST_PT)
    flow.text(
        (f"Looked for and not found: {'; '.join(looked)}. " if looked else "")
        + "This sheet compares measured distances with the rules in the rows shown; silence is not a pass.",
        size=LEAST_PT,
    )


def _rule_set(note: LayerNote) -> str:
    gaps = "; ".join(note.gaps)
    parts = (
        f"{note.layer}: {note.title}, {note.authority}, edition {note.edition or 'not stated'}.",
        "Not whole: see the first page." if note.thin else gaps and f"Not covered: {gaps}.",
        note.silent and f"Read, and no number for: {silent(note)}.",
        *(f"{words[0].upper()}{words[1:]}." for words in set_aside(note)),
    )
    return " ".join(part for part in parts if part)


def frost(flow: Flow, plan: Plan) -> None:
    """Place how the frost depth was computed, if one was."""
    if words := frost_block(plan):
        flow.heading("Computed frost depth", below=90)
        flow.text(f"{'; '.join(words)}.", size=LEAST_PT)


def evidence(flow: Flow, plan: Plan) -> None:
    """Place how each position is known, who measured, and blanks for what the files do not say."""
    printer, known = Printer(plan.site.units), methods()
    by_method: dict[str, dict[str, list[str]]] = {}
    for feature in filter(is_on_the_ground, plan.site.features):
        known_by = feature.evidence
        edge = f", the edge itself ± {printer.length(known_by.edge_m)}" if known_by.edge_m else ""
        zone = f", the line ± {printer.length(known_by.zone_m)} from it" if known_by.zone_m else ""
        within = f"± {printer.length(known_by.radius_m)}{edge}{zone}"
        by_method.setdefault(known_by.method, {}).setdefault(within, []).append(feature_name(feature))
    flow.heading("How positions are known (radius that holds 95 %)", below=30)
    flow.columns(
        [
            f"{known[method].name if method in known else method}: "
            + "; ".join(f"{', '.join(things)} ({within})" for within, things in by_radius.items())
            + "."
            for method, by_radius in sorted(by_method.items())
        ],
        size=LEAST_PT,
    )
    paper = plan.site.paper
    outings = sorted({one.evidence.outing for one in plan.site.features if one.evidence.outing})
    taped = plan.site.field_notes is not None and len(plan.site.field_notes.measurements)
    measured = paper.measured.isoformat() if paper.measured else _BLANK
    flow.heading("Statement of evidence", below=60)
    said = [
        f"Measured by {paper.measured_by or _BLANK} on {measured} with {paper.instruments or _BLANK}.",
        f"Outings: {', '.join(outings)}." if outings else "",
        f"Tapes and bearings in the files: {taped}." if taped else "",
        f"Monuments and control points found {_BLANK}   Photos {_BLANK}.",
    ]
    flow.text(" ".join(words for words in said if words), size=SMALL_PT)
    flow.text(f"Signature {_BLANK}   Inspector {_BLANK}   Date {_BLANK}", size=SMALL_PT)
