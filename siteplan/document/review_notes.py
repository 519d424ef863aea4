"""The back of the setback review: who measured, what does not apply, the frost depth, how positions are known, the rules."""

from __future__ import annotations

from siteplan.document.codes import Codes, as_listed, listed_rules
from siteplan.document.model import Plan
from siteplan.document.pages import BLANK, LEAST_PT, SMALL_PT, Flow
from siteplan.document.rule_words import frost_block, replaced, set_aside, silent
from siteplan.document.symbols import is_on_the_ground
from siteplan.document.words import feature_name
from siteplan.rules.model import LayerNote
from siteplan.site.catalogue import methods
from siteplan.units import Printer


def not_applicable(flow: Flow, plan: Plan, codes: Codes) -> None:
    """Place what does not apply, with the reason."""
    by_reason: dict[str, dict[str, list[str]]] = {}
    for one in plan.findings:
        if one.verdict == "not applicable":
            by_rule = by_reason.setdefault("; ".join(one.because), {})
            by_rule.setdefault(codes.rule_and_force(one.citation), []).append(f"{one.number}. {one.what}")
    if by_reason:
        flow.heading("Not applicable: the rule speaks of this pair, its conditions are not met", below=30)
        for reason, by_rule in by_reason.items():
            said = "; ".join(f"{rule}: {', '.join(pairs)}" for rule, pairs in by_rule.items())
            flow.text(f"{reason}: {said}.", size=LEAST_PT)


def rules(flow: Flow, plan: Plan, codes: Codes) -> None:
    """Place the rules by their codes, the unconfirmed ones, the rule set and what was replaced for this site."""
    asked = plan.requirements
    flow.heading("Rules, and where each was read", below=30)
    flow.columns(listed_rules(codes), size=LEAST_PT)
    doubtful = dict.fromkeys(
        f"{citation.text} ({citation.standing})"
        for citation in asked.unconfirmed
        if as_listed(citation) not in codes.rules
    )
    if doubtful:
        flow.text(
            "Look up what is unconfirmed: it was read at second hand or is from memory. Unconfirmed as well:"
            f" {'; '.join(doubtful)}.",
            size=LEAST_PT,
        )
    flow.heading("Rule set, and what it does not cover", below=30)
    for note in asked.stack:
        flow.text(_rule_set(note), size=LEAST_PT)
    said = "; ".join(replaced(plan)) or "nothing"
    looked = [f"{kind.replace('_', ' ')}: {words}" for kind, words in sorted(plan.site.looked.items())]
    flow.text(
        f"Replaced for this site, with the reason: {said}."
        + (f" Looked for and not found: {'; '.join(looked)}." if looked else "")
        + " This sheet compares measured distances with the rules in the rows shown; silence is not a pass.",
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


def positions(flow: Flow, plan: Plan) -> None:
    """Place how each position is known, and how well."""
    printer, known = Printer(plan.site.units), methods()
    by_method: dict[str, dict[str, list[str]]] = {}
    for feature in filter(is_on_the_ground, plan.site.features):
        known_by = feature.evidence
        edge = f", the edge itself ± {printer.length(known_by.edge_m)}" if known_by.edge_m else ""
        zone = f", the line ± {printer.length(known_by.zone_m)} from it" if known_by.zone_m else ""
        within = f"± {printer.length(known_by.radius_m)}{edge}{zone}"
        by_method.setdefault(known_by.method, {}).setdefault(within, []).append(feature_name(feature))
    flow.heading("How positions are known (radius that holds 95 %)", below=30)
    said = [
        f"{known[method].name if method in known else method}: "
        + "; ".join(f"{', '.join(things)} ({within})" for within, things in by_radius.items())
        for method, by_radius in sorted(by_method.items())
    ]
    flow.text(f"{'. '.join(each[:1].upper() + each[1:] for each in said)}.", size=LEAST_PT)


def statement(flow: Flow, plan: Plan) -> None:
    """Place who measured what with what, and blanks for what the files do not say."""
    paper = plan.site.paper
    outings = sorted({one.evidence.outing for one in plan.site.features if one.evidence.outing})
    taped = plan.site.field_notes is not None and len(plan.site.field_notes.measurements)
    measured = paper.measured.isoformat() if paper.measured else BLANK
    flow.heading("Statement of evidence", below=60)
    said = [
        f"Measured by {paper.measured_by or BLANK} on {measured} with {paper.instruments or BLANK}.",
        f"Outings: {', '.join(outings)}." if outings else "",
        f"Tapes and bearings in the files: {taped}." if taped else "",
        f"Monuments and control points found {BLANK}   Photos {BLANK}.",
    ]
    flow.text(" ".join(words for words in said if words), size=SMALL_PT)
    flow.text(f"Signature {BLANK}   Inspector {BLANK}   Date {BLANK}", size=SMALL_PT)
