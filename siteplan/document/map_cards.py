"""What the map says when something on it is clicked: one card for each, in printed words and units.

A card is a title and rows of term and text, all as given: the page writes them with ``textContent``, never as HTML.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from siteplan.check.finding import Finding
from siteplan.document.cautions import unconfirmed
from siteplan.document.hazards import depth_in_words, other_holes
from siteplan.document.map_shapes import bore_ref, finding_ref, hand_digs
from siteplan.document.model import Plan
from siteplan.document.price_list import alternative_words
from siteplan.document.summary import error_text, margin_text, measured_text
from siteplan.document.words import feature_name, lines_in, named, sweep_in_words
from siteplan.measure.crossing import Crossing
from siteplan.measure.model import Section, Station
from siteplan.measure.spoil import NO_ROOM
from siteplan.route.model import Bored, Reach
from siteplan.rules.citation import Citation
from siteplan.site.catalogue import kinds, methods
from siteplan.site.evidence import Evidence
from siteplan.site.features import Fact, Feature
from siteplan.units import Printer

Card = dict[str, Any]
Rows = list[tuple[str, str]]

DEPTHS = {
    "egress": "a ladder or other way out is needed",
    "protection": "NO ENTRY without a protective system",
    "engineer": "protective system designed by an engineer",
}
"""What a depth of the trench rules asks for, by the word that the measured stretch carries."""


def cards(plan: Plan) -> dict[str, Card]:
    """All cards by the name that shapes, labels and rows refer to."""
    made = {finding_ref(finding): finding_card(plan, finding) for finding in plan.findings}
    for number, thing in enumerate(plan.site.features, 1):
        made[f"thing-{number}"] = _thing_card(plan, thing)
    for number, station in enumerate(plan.works.stations, 1):
        made[f"station-{number}"] = _station_card(plan, station)
    for number, stretch in enumerate(plan.works.stretches(plan.layout.reaches), 1):
        made[f"stretch-{number}"] = _stretch_card(plan, *stretch)
    for crossing in plan.works.crossings:
        made[f"crossing-{crossing.number}"] = _crossing_card(plan, crossing)
    for number, each in enumerate(hand_digs(plan), 1):
        rows = [("From", _span(plan, each.from_m, each.to_m)), ("Why", each.what)]
        if each.rule:
            rows.append(("Rule", rule_text(each.rule.citation)))
        made[f"hand-{number}"] = _card(f"Hand dig, {each.reach}", rows)
    for reach in plan.layout.reaches:
        for bored in reach.bored:
            made[bore_ref(reach, bored)] = _bore_card(plan, reach, bored)
    for number, (name, words) in enumerate(alternative_words(plan), 1):
        made[f"other-{number}"] = _card(name, [("Other way", words)])
    made |= dict(_kept_cards(plan))
    return made


def rule_text(citation: Citation) -> str:
    """Citation with its edition and its force, and the word unconfirmed where nobody verified it."""
    edition = f", {citation.edition}" if citation.edition else ""
    force = {"required": "", "advised": " (advised)", "by_approval": " (by approval)"}[citation.force]
    return f"{citation.text}{edition}{force}{unconfirmed(citation)}"


def finding_card(plan: Plan, finding: Finding) -> Card:
    """Verdict, required, measured, error, margin, chance, method and rule of a finding, and what would settle it."""
    printer, citation = Printer(plan.site.units), finding.citation
    error = error_text(finding, printer)
    rows = [
        ("Verdict", finding.verdict),
        ("Required", finding.required_text),
        ("Measured", measured_text(finding, printer)),
        ("Error", error and f"± {error} at {finding.confidence:.0%}"),
        ("Margin", margin_text(finding, printer)),
        ("How measured", finding.method),
    ]
    if finding.reach and finding.from_m is not None and finding.to_m is not None:
        rows.append(("Where", f"{finding.reach} {_span(plan, finding.from_m, finding.to_m)}"))
    if finding.verdict == "too close to call" and finding.chance is not None:
        rows.append(("Chance", f"{finding.chance:.0%} that it truly is as much as required"))
    rows += [("To settle it", finding.settle), ("Because", "; ".join(finding.because))]
    if citation:
        rows += [("Rule", rule_text(citation)), ("Rule says", citation.note)]
    return _card(f"{finding.number}. {finding.what}", rows, citation)


def _card(title: str, rows: Rows, citation: Citation | None = None) -> Card:
    card: Card = {"title": title, "rows": [row for row in rows if row[1]]}
    if citation and citation.url.startswith(("https://", "http://")):
        card["url"] = citation.url
    return card


def _span(plan: Plan, from_m: float, to_m: float) -> str:
    printer = Printer(plan.site.units)
    ends = [printer.station(from_m), printer.station(to_m)]
    return ends[0] if ends[0] == ends[1] else " to ".join(ends)


def _section_rows(plan: Plan, section: Section) -> Iterator[tuple[str, str]]:
    printer = Printer(plan.site.units)
    yield "Cut", f"{printer.length(section.cut_m)}, bedding {printer.short(section.bedding_m)} with it"
    width = printer.short(section.width_m)
    if section.top_width_m > section.width_m:
        width += f" at the bottom, {printer.length(section.top_width_m)} at the ground"
    yield "Width", width
    yield "Section", f"{section.name}, under {section.surface}"
    for laid in section.lines:
        yield (
            named(plan, laid.line),
            f"cover {printer.short(laid.cover_m)}; asked {laid.required.form}; {rule_text(laid.required.citation)}",
        )
    yield "Sets the cut", named(plan, section.governed_by.line)


def _depth_text(plan: Plan, reach: str, from_m: float, to_m: float) -> str:
    asked = dict.fromkeys(
        f"{DEPTHS[each.what.split()[0]]} ({each.rule.citation.text})"
        for each in plan.works.intervals
        if each.rule and each.what.split()[0] in DEPTHS and each.reach == reach
        if _overlap(each.from_m, each.to_m, from_m, to_m)
    )
    return "; ".join(asked)


def _no_room_text(plan: Plan, reach: str, from_m: float, to_m: float) -> str:
    stretches = [
        _span(plan, each.from_m, each.to_m)
        for each in plan.works.intervals
        if each.what == NO_ROOM and each.reach == reach and _overlap(each.from_m, each.to_m, from_m, to_m)
    ]
    return f"{NO_ROOM}: {', '.join(stretches)}" if stretches else ""


def _overlap(from_m: float, to_m: float, other_from_m: float, other_to_m: float) -> bool:
    """Do two stretches share ground, or does one that is a point lie on the other."""
    begin, end = max(from_m, other_from_m), min(to_m, other_to_m)
    return begin < end or begin == end == other_from_m == other_to_m


def _stretch_card(plan: Plan, reach: str, from_m: float, to_m: float, section: Section) -> Card:
    rows = [
        ("Station", _span(plan, from_m, to_m)),
        ("Lines in it", lines_in(plan, plan.layout.reach(reach))),
        ("Depth", _depth_text(plan, reach, from_m, to_m)),
        ("Spoil", _no_room_text(plan, reach, from_m, to_m)),
        *_section_rows(plan, section),
    ]
    return _card(f"Trench {reach}", rows)


def _bore_card(plan: Plan, reach: Reach, bored: Bored) -> Card:
    rows = [
        ("Station", _span(plan, bored.from_m, bored.to_m)),
        ("Under", named(plan, bored.feature)),
        ("Length", f"{Printer(plan.site.units).length(bored.to_m - bored.from_m)}, edge to edge"),
        ("How", "bored from a pit at either end; the ground between is not opened"),
    ]
    return _card(f"Bore, {reach.name}", rows)


def _station_card(plan: Plan, station: Station) -> Card:
    printer, grade, bottom = Printer(plan.site.units), station.grade_m, station.bottom_m
    rows = [
        ("Station", printer.station(station.distance_m)),
        ("What", station.what),
        ("Sweep", _sweep(plan, station)),
        ("Hand dig", "yes: no machine until the line is seen" if station.hand_dig else ""),
        ("Depth", _depth_text(plan, station.reach, station.distance_m, station.distance_m)),
        *_section_rows(plan, plan.works.section(station.section)),
        ("Ground", "no level here: cut from ground surface only" if grade is None else printer.length(grade)),
        ("Bottom", "" if bottom is None else printer.length(bottom)),
        ("Ties", "; ".join(f"{corner} {printer.length(tape)}" for corner, tape in station.ties)),
    ]
    return _card(f"{station.reach} {printer.station(station.distance_m)}", rows)


def _sweep(plan: Plan, station: Station) -> str:
    here = (station.reach, station.distance_m)
    bends = (bend for bend in plan.works.bends if (bend.reach, bend.distance_m) == here)
    return "; ".join(sweep_in_words(bend, Printer(plan.site.units)) for bend in bends)


def _crossing_card(plan: Plan, crossing: Crossing) -> Card:
    printer = Printer(plan.site.units)
    unknown = "unknown until a test hole shows it"
    clear = crossing.clear_m
    way = {
        True: "ours passes over",
        False: "ours passes under",
        None: "over or under: decided at the test hole",
    }
    rows = [
        ("Station", f"{crossing.reach} {printer.station(crossing.distance_m)}"),
        ("Crosses", named(plan, crossing.feature)),
        ("Angle", f"{crossing.angle_deg:.0f} deg"),
        ("Their depth", depth_in_words(crossing, printer) or unknown),
        *(("Test hole", words) for words in other_holes(crossing, printer)),
        ("Our line", f"{named(plan, crossing.ours)}; {way[crossing.over]}"),
        ("Clear", unknown if clear is None else printer.short(clear)),
        (
            "Asked",
            "the rules are silent" if crossing.required_m is None else printer.short(crossing.required_m),
        ),
    ]
    if crossing.hand_to_m > crossing.hand_from_m:
        zone = plan.requirements.locate.tolerance_m.citation
        rows.append(
            ("HAND DIG", f"{_span(plan, crossing.hand_from_m, crossing.hand_to_m)}; {rule_text(zone)}")
        )
    return _card(f"Crossing {crossing.number}", rows)


def _kept_cards(plan: Plan) -> Iterator[tuple[str, Card]]:
    printer = Printer(plan.site.units)
    rules = {setback.citation.row: setback.citation for setback in plan.requirements.setbacks}
    roots = plan.requirements.roots
    rules |= {each.citation.row: each.citation for each in (roots.radius_per_diameter, roots.least_m)}
    for number, kept in enumerate(plan.layout.kept_off, 1):
        parts = (
            f"{printer.length(kept.required_m)} asked, {printer.length(kept.error_m)} for the error of the positions,"
            f" {printer.length(kept.half_width_m)} half the trench"
        )
        citation = rules.get(kept.row)
        rows = [
            ("Kept", f"{printer.length(kept.distance_m)} from the centreline"),
            ("Made of", parts),
            ("For", ", ".join(named(plan, line) for line in kept.lines)),
            ("Rule", rule_text(citation) if citation else kept.row or "common practice, no source"),
        ]
        yield f"kept-{number}", _card(f"Kept off: {named(plan, kept.feature)}", rows, citation)


def _thing_card(plan: Plan, thing: Feature) -> Card:
    kind = kinds()[thing.kind]
    rows = [
        ("Kind", kind.name),
        ("Status", thing.status),
        ("How known", _known(plan, thing.evidence)),
        *(
            (
                name.replace("_", " ").capitalize(),
                _fact(value, kind.facts.get(name, ""), Printer(plan.site.units)),
            )
            for name, value in sorted(thing.facts.items())
        ),
    ]
    return _card(feature_name(thing), rows)


def _known(plan: Plan, evidence: Evidence) -> str:
    printer = Printer(plan.site.units)
    text = f"{methods()[evidence.method].name}, within {printer.length(evidence.radius_m)} (95 %)"
    if evidence.zone_m:
        text += f", and its line within {printer.length(evidence.zone_m)} of that"
    if evidence.edge_m:
        text += f", its outline ± {printer.length(evidence.edge_m)}"
    return text + (f", outing {evidence.outing}" if evidence.outing else "")


def _fact(value: Fact, sort: str, printer: Printer) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return value
    if sort == "length":
        return printer.short(value) if abs(value) < 1.5 else printer.length(value)
    if sort == "volume":
        return printer.liquid(value)
    unit = {"potential": "V", "current": "A"}.get(sort, "")
    return f"{value:g} {unit}".rstrip()
