"""The setback review: what the inspector reads. What is not settled comes first, with a key map; then what is clear.

Rules and ways to measure stand in the tables by a short code and are spelled out once: R3 in the list of rules, T under
the table. All is set as close as can be read: one page if it fits, and the key map as large as the pages allow.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from shapely import MultiPoint

from siteplan.check.finding import WORST_FIRST, Finding
from siteplan.document.codes import Codes
from siteplan.document.drawing import LEGEND_ROW_PT, PlanDrawing, draw_legend, legend_rows, looks_of
from siteplan.document.model import Plan
from siteplan.document.pages import BLANK, LEAST_PT, SMALL_PT, Book, Flow, count_pages, make_book, title_block
from siteplan.document.review_notes import frost, not_applicable, positions, rules, statement
from siteplan.document.review_rows import SAID_PT, review_table
from siteplan.document.review_wellhead import wellhead
from siteplan.document.rule_words import not_whole, unlooked, warnings
from siteplan.document.sheet import LETTER, Box, Paper, fit, scales
from siteplan.document.symbols import Look
from siteplan.document.well_rings import beyond, draw_beyond, draw_rings, rings_required
from siteplan.measure.plot import circle

_MAP_PT = (320.0, 285.0, 250.0, 220.0, 190.0, 165.0)
_PLAIN = " Distances are between nearest edges unless another is named."


def setback_review(plan: Plan, paper: Paper = LETTER) -> bytes:
    """Print the setback review.

    Parameters
    ----------
    plan : Plan
    paper : Paper
        Upright.

    Returns
    -------
    bytes
        A PDF: rows that are not clear, what nobody looked for, key map with the same numbers, clear rows, wellhead and
        statement to sign; then what does not apply and the rules. The same plan gives the same bytes.
    """
    codes = Codes(plan)
    asked = [one for one in plan.findings if one.topic != "unlooked" and one.verdict != "not applicable"]
    unsettled = [one for one in asked if one.verdict != "clear"]
    clear = [one for one in asked if one.verdict == "clear"]

    on_sheets: tuple[int, ...] = ()

    def draw(book: Book, map_pt: float, *, with_map: bool = True) -> None:
        nonlocal on_sheets
        flow = Flow(book, "worst first")
        _heading(flow, book, plan)
        _rules_in_doubt(flow, plan)
        _summary(flow, plan)
        _table(flow, plan, codes, "Not clear", unsettled)
        _unlooked(flow, plan, codes)
        _map(flow, book, plan, unsettled, clear, map_pt, with_map=with_map)
        map_on = book.sheet
        heading = "CLEAR: the margin is at least the error; the well first, then the lines"
        in_table = [one for one in clear if one.topic != "wellhead"]
        if in_table or not unsettled:
            _table(flow, plan, codes, heading, _well_first(plan, in_table))
        wellhead(flow, plan, codes)
        statement(flow, plan)
        signed_on = book.sheet
        not_applicable(flow, plan, codes)
        frost(flow, plan)
        positions(flow, plan)
        rules(flow, plan, codes)
        on_sheets = book.sheet, map_on, signed_on

    def sheets(map_pt: float) -> tuple[int, ...]:
        count_pages(plan, paper, lambda book: draw(book, map_pt, with_map=False))
        return on_sheets

    map_pt = min(_MAP_PT, key=sheets)
    return make_book(plan, "SETBACK REVIEW", paper, lambda book: draw(book, map_pt))


def _heading(flow: Flow, book: Book, plan: Plan) -> None:
    """Place the title block; the name of the site stands above it on every page."""
    stated = plan.site.paper
    day = stated.prepared.isoformat() if stated.prepared else BLANK
    drawn = f"{day} by {stated.prepared_by or BLANK}"
    title_block(flow, book, (("Licence", stated.licence), ("Drawn", drawn)), without=("Site", "Prepared"))


def _well_first(plan: Plan, findings: Sequence[Finding]) -> list[Finding]:
    """Put the findings of the lines to lay after the others, worst first among themselves."""
    lines = {line.id for line in plan.site.lines}
    return sorted(findings, key=lambda one: one.subject in lines)


def _rules_in_doubt(flow: Flow, plan: Plan) -> None:
    for words in warnings(plan):
        flow.text(words, size=SMALL_PT, bold=True)
    for words in not_whole(plan):
        flow.text(words, size=LEAST_PT, bold=True)


def _summary(flow: Flow, plan: Plan) -> None:
    counts = Counter(finding.verdict for finding in plan.findings)
    said = ", ".join(f"{counts[verdict]} {verdict}" for verdict in WORST_FIRST if counts[verdict])
    percent = f"{plan.requirements.confidence * 100:.0f} %"
    count = len(plan.findings)
    findings = f"{count} finding" if count == 1 else f"{count} findings"
    flow.text(f"{findings}{': ' * bool(said)}{said}. ± is the one-sided error at {percent}.", size=SAID_PT)


def _table(flow: Flow, plan: Plan, codes: Codes, heading: str, findings: Sequence[Finding]) -> None:
    flow.heading(heading, below=60)
    if not findings:
        flow.text("None of the rows that were compared.")
        return
    clear = findings[0].verdict == "clear"
    flow.table(review_table(plan, codes, findings, flow.width))
    if words := codes.in_words(findings):
        flow.text(f"{words}.{_PLAIN if clear else ''}", size=LEAST_PT)


def _unlooked(flow: Flow, plan: Plan, codes: Codes) -> None:
    by_rule: dict[str, list[str]] = {}
    for finding, name in unlooked(plan):
        by_rule.setdefault(codes.rule_and_force(finding.citation), []).append(f"{finding.number}. {name}")
    if by_rule:
        listed = "; ".join(f"{', '.join(names)} ({rule})" for rule, names in by_rule.items())
        flow.text(
            f"Nobody looked, NOT CHECKED: {listed}. To settle: look here and on the neighbours' land;"
            " draw it, or write down who looked and how far.",
            size=SAID_PT,
            bold=True,
        )
    if not rings_required(plan):
        return
    ring = rings_required(plan)[0]
    if said := plan.site.paper.beyond_lot:
        flow.text(f"Beyond the lot, within {ring.words} of the well: {said}.", size=LEAST_PT)
    elif not beyond(plan, ring).is_empty:
        words = f"Hatched on the key map, beyond the lot within the circle of {ring.words}: nobody looked."
        flow.text(words, size=SAID_PT, bold=True)


def _map(
    flow: Flow,
    book: Book,
    plan: Plan,
    unsettled: Sequence[Finding],
    clear: Sequence[Finding],
    height: float,
    *,
    with_map: bool,
) -> None:
    """Draw the rows that are not clear and all setbacks of the well, end to end."""
    of_well = [finding for finding in clear if finding.subject == plan.site.well.id]
    drawn = [*unsettled, *of_well]
    rings = rings_required(plan)
    shapes = [plan.site.well.shape, *(MultiPoint(finding.points) for finding in drawn if finding.points)]
    if len(shapes) == 1:
        shapes += [reach.path for reach in plan.layout.reaches]
    ringed = [*shapes, *(circle(plan.site.well.shape, ring.radius_m) for ring in rings[:1])]
    used: list[Look] = []

    def draw(box: Box) -> None:
        close, wide = (fit(each, box, scales(plan.site.units), margin_pt=12) for each in (shapes, ringed))
        drawing = PlanDrawing(book.pen, plan, wide if wide.scale == close.scale else close)
        for ring in rings[:1]:
            draw_beyond(drawing, ring)
        drawing.measured(drawn)
        drawing.surroundings()
        draw_rings(drawing, rings)
        drawing.hand_dig(plan.layout.reaches)
        drawing.trenches(plan.layout.reaches)
        drawing.crossings(plan.layout.reaches)
        drawing.finish()
        used.extend(drawing.used.values())

    legend = len(legend_rows(looks_of(plan), flow.width)) * LEGEND_ROW_PT + 10
    flow.heading(
        "Key map: boxed numbers are rows, ringed ones crossings; circles round the well",
        below=_MAP_PT[-1] + legend,
    )
    height = max(_MAP_PT[-1], min(height, flow.room - legend))
    if not with_map:
        flow.space(height + legend + 10)
        return
    flow.block(height, draw)
    rows = legend_rows(used, flow.width)
    flow.block(legend - 10, lambda box: draw_legend(book.pen, box, rows))
