"""The title column beside the map: cautions, summary, verdicts, profiles, crossings, stations, and who decides.

What can be done on the map is in ``map_tools``. Everything here is HTML; every text of the plan goes through ``escaped``.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from siteplan.check.finding import WORST_FIRST, Finding
from siteplan.document.cautions import DECIDES, cautions
from siteplan.document.hazards import hand_dig_in_words
from siteplan.document.map_cards import rule_text
from siteplan.document.map_legend import MOST_BESIDE, legend
from siteplan.document.map_parts import button, items, more, number_cell, section, table, terms
from siteplan.document.map_profile import profile_note, scrolled
from siteplan.document.map_shapes import finding_ref
from siteplan.document.map_tools import links, switches, tools
from siteplan.document.model import Plan
from siteplan.document.page import escaped
from siteplan.document.price_list import (
    NOT_IN_IT,
    alternative_words,
    rates_words,
    sharing_words,
    sums_words,
    tolerance_words,
)
from siteplan.document.rule_words import (
    frost_block,
    in_words_only,
    nobody_looked,
    not_whole,
    page_mark,
    replaced,
    set_aside,
    silent,
    warnings,
)
from siteplan.document.summary import error_text, margin_text, measured_text
from siteplan.document.tables import amount
from siteplan.document.words import named, reach_title
from siteplan.measure.prices import total
from siteplan.units import Printer, money

_CHECK_BAR = '<p id="check-bar"><span></span> Check bar: 2 in (50.8 mm). If it is not, go by the bar scale on the map.</p>'
_FIRST_CAUTIONS = ("locate", "hand_dig", "private", "overhead", "entry")


def panel(plan: Plan) -> str:
    """Compose the column."""
    listed = legend(plan)
    many = ' class="many"' if listed.count("<li>") > MOST_BESIDE else ""
    parts = (
        links(),
        _title(plan),
        _cautions(plan),
        switches(plan),
        listed,
        tools(plan),
        _summary(plan),
        _alternatives(plan),
        _rules_in_doubt(plan),
        _verdicts(plan),
        _profiles(plan),
        _crossings(plan),
        _stations(plan),
        _tolerances(plan),
        _decided(plan),
    )
    return f'<main id="sheet"{many}>{"".join(parts)}{_CHECK_BAR}</main>'


def _title(plan: Plan) -> str:
    paper = plan.site.paper
    prepared = paper.prepared.isoformat() if paper.prepared else ""
    return (
        f'<header><h1>{escaped(plan.site.name)}</h1><p class="subtitle">Trench and setbacks, from well to buildings</p>'
        + terms(
            [
                ("Address", paper.address),
                ("Parcel", paper.parcel_number),
                ("Owner", paper.owner),
                ("Contractor", paper.contractor),
                ("Permit", paper.permit),
                ("Prepared", prepared),
                ("Rules", "; ".join(words for words in (plan.site.rules, page_mark(plan)) if words)),
            ]
        )
        + f'<p class="decides">{escaped(DECIDES)}</p></header>'
    )


def _cautions(plan: Plan) -> str:
    texts = {
        each.id: f"<strong>{escaped(each.head)}.</strong> {escaped(each.text)}" for each in cautions(plan)
    }
    rest = [text for name, text in texts.items() if name not in (*_FIRST_CAUTIONS, "decides")]
    return section(
        "Before anyone digs",
        items(texts[name] for name in _FIRST_CAUTIONS),
        more("More cautions", items(rest)),
        name="cautions",
    )


def _summary(plan: Plan) -> str:
    printer, works = Printer(plan.site.units), plan.works
    cuts = [station.cut_m for station in works.stations]
    by_reach = [
        f"{reach_title(plan, reach)}: {printer.length(reach.length_m)}" for reach in plan.layout.reaches
    ]
    counts = Counter(finding.verdict for finding in plan.findings)
    dirt = (
        f"{printer.volume(works.volumes.bank_m3)} in the bank, {printer.volume(works.volumes.loose_m3)} loose;"
        f" haul off {printer.volume(works.volumes.haul_off_m3)} loose"
    )
    least, most = printer.length(min(cuts)), printer.length(max(cuts))
    cut = least if least == most else f"{least} to {most}"
    return section(
        "Summary",
        terms(
            [
                ("Trench", f"{printer.length(plan.layout.length_m)} in all"),
                *(("", text) for text in by_reach),
                ("Cut", cut if works.levelled else f"{cut}, from ground surface only"),
                ("Dirt", dirt),
                ("Crossings", str(len(works.crossings))),
                ("Verdicts", ", ".join(f"{counts[each]} {each}" for each in WORST_FIRST if counts[each])),
                ("Price", sums_words(plan)),
                ("Sharing", sharing_words(plan)),
                ("Route", plan.layout.certificate),
            ]
        ),
        _price_list(plan),
        name="summary",
    )


def _price_list(plan: Plan) -> str:
    """Rows of the price list with their sums, the rates that are the site's own marked."""
    printer, currency, prices = Printer(plan.site.units), plan.site.rates.currency, plan.works.prices
    if not prices:
        return ""

    def row(what: str, how_many: str, sums: tuple[float, float, float]) -> str:
        low, likely, high = (money(each, currency) for each in sums)
        return (
            f"<tr><td>{escaped(what)}</td>{number_cell('Amount', how_many)}{number_cell('Likely', likely)}"
            f"{number_cell('Low to high', f'{low} to {high}')}</tr>"
        )

    rows = [
        row(
            f"{each.what}, own rate" if each.stated else each.what,
            amount(each, each.amount, printer),
            (each.low, each.likely, each.high),
        )
        for each in prices
    ]
    sums = table(("For", "Amount", "Likely", "Low to high"), [*rows, row("all of these", "", total(prices))])
    notes = "; ".join((NOT_IN_IT, rates_words(plan)))
    return more("Price list", sums, f"<p>{escaped(notes[0].upper() + notes[1:])}.</p>")


def _alternatives(plan: Plan) -> str:
    others = alternative_words(plan)
    if not others:
        return ""
    return section("Other ways", terms(others), name="alternatives")


def _tolerances(plan: Plan) -> str:
    held = tolerance_words(plan)
    if not held:
        return ""
    return section("How wrong the drawing may be", items(escaped(each) for each in held), name="tolerances")


def _rules_in_doubt(plan: Plan) -> str:
    doubts = [*warnings(plan), *not_whole(plan)]
    if not doubts:
        return ""
    return section("These rules", items(f"<b>{escaped(words)}</b>" for words in doubts), name="doubts")


def _verdicts(plan: Plan) -> str:
    heads = ("No.", "Verdict", "Required", "Measured", "Margin")

    def rows(found: Iterable[Finding]) -> str:
        return table(heads, (_finding_row(plan, each) for each in found))

    asked = [each for each in plan.findings if each.topic != "unlooked"]
    unsettled = [each for each in asked if each.verdict not in ("clear", "not applicable")]
    left = [each for each in plan.findings if each.topic == "unlooked"]
    clear = [each for each in asked if each.verdict == "clear"]
    rest = [each for each in asked if each.verdict == "not applicable"]
    return section(
        "Setbacks and verdicts, worst first",
        "<p>Choose a number to see the measured line and the rule. Distances are level, at"
        f" {plan.requirements.confidence:.0%} confidence.</p>",
        *(
            (
                rows(unsettled),
                more(f"{len(left)} not checked, {nobody_looked(plan)}", rows(left)),
                rows(clear),
            )
            if left
            else (rows(unsettled + clear),)
        ),
        more(f"{len(rest)} not applicable", rows(rest)) if rest else "",
        name="verdicts",
    )


def _finding_row(plan: Plan, finding: Finding) -> str:
    printer, citation = Printer(plan.site.units), finding.citation
    error = error_text(finding, printer)
    required = "in words" if in_words_only(finding) else finding.required_text
    measured = measured_text(finding, printer) + (f" ± {error}" if error else "")
    said = f"{finding.number}, {finding.verdict}: {finding.what}"
    rule = f'<span class="rule">{escaped(rule_text(citation))}</span>' if citation else ""
    return (
        f'<tr class="{finding.verdict.replace(" ", "-")}">'
        f"<td>{button(finding_ref(finding), str(finding.number), 'circle', said)}</td>"
        f'<td><b class="verdict">{escaped(finding.verdict)}</b> {escaped(finding.what)}{rule}</td>'
        f"{number_cell('Required', required)}{number_cell('Measured', measured)}"
        f"{number_cell('Margin', margin_text(finding, printer))}</tr>"
    )


def _profiles(plan: Plan) -> str:
    drawings = (
        f"<h3>{escaped(reach_title(plan, reach))}</h3>"
        f"{scrolled(plan, reach)}"
        f"<p>{escaped(profile_note(plan, reach))}</p>"
        for reach in plan.layout.reaches
    )
    lines = {
        "ground": "ground",
        "asked": "cover required",
        "water": "top of water line",
        "electric": "top of conduit",
        "bottom": "trench bottom",
    }
    key = " ".join(
        f'<span><span class="k {name}"></span>{escaped(words)}</span>' for name, words in lines.items()
    )
    return section("Cover and cut", f'<p class="profile-key">{key}</p>', *drawings, name="profiles")


def _crossings(plan: Plan) -> str:
    if not plan.works.crossings:
        return ""
    printer = Printer(plan.site.units)
    rows = (
        f"<tr><td>{button(f'crossing-{each.number}', str(each.number), 'square')}</td>"
        f"<td>{escaped(each.reach)} {escaped(printer.station(each.distance_m))}</td>"
        f"<td>{escaped(named(plan, each.feature))}</td>"
        f"<td>{escaped(hand_dig_in_words(each, printer) or '–')}</td></tr>"
        for each in plan.works.crossings
    )
    return section("Crossings", table(("No.", "Station", "Crosses", "Hand dig"), rows), name="crossings")


def _stations(plan: Plan) -> str:
    printer = Printer(plan.site.units)
    rows = (
        f"<tr><td>{button(f'station-{number}', f'{each.reach} {printer.station(each.distance_m)}')}</td>"
        f"<td>{escaped(each.what)}{' <b>HAND DIG</b>' if each.hand_dig else ''}</td>"
        f"<td>{escaped(printer.length(each.cut_m))}</td></tr>"
        for number, each in enumerate(plan.works.stations, 1)
    )
    all_of_them = table(("Station", "What", "Cut"), rows)
    return section("Stations", more(f"All {len(plan.works.stations)} stations", all_of_them), name="stations")


def _decided(plan: Plan) -> str:
    rules = plan.requirements
    in_force = [f"{each.layer}: {each.title} ({each.authority}), {each.edition}" for each in rules.stack]
    gaps = [f"{each.layer}: {gap}" for each in rules.stack if not each.thin for gap in each.gaps]
    no_number = [f"{each.layer}: {silent(each)}" for each in rules.stack if each.silent]
    for_nothing = [f"{each.layer}: {words}" for each in rules.stack for words in set_aside(each)]
    looked = [f"{kind.replace('_', ' ')}: {words}" for kind, words in sorted(plan.site.looked.items())]
    listed = (
        ("Rules in force", in_force),
        ("Not covered by these rules", gaps),
        ("Read, and no number for", no_number),
        ("Rows that count for nothing here", for_nothing),
        ("Replaced for this site, and why", replaced(plan)),
        ("Looked for and not found", looked),
        ("Computed frost depth", frost_block(plan)),
    )
    parts = [f"<h3>{escaped(head)}</h3>{items(map(escaped, texts))}" for head, texts in listed if texts]
    return section(
        "Rules and who decides", *parts, f'<p class="decides">{escaped(DECIDES)}</p>', name="rules"
    )
