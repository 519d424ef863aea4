"""Every verdict run again on what was built, with the error of the shots; what was not measured keeps the verdict of the plan."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from siteplan.check import in_order
from siteplan.check.bends import check_bends
from siteplan.check.finding import WORST_FIRST, Finding, Verdict
from siteplan.check.lines import check_cover, check_crossings, check_separations
from siteplan.check.roots import check_roots
from siteplan.check.setbacks import check_setbacks
from siteplan.check.verdicts import judge
from siteplan.measure.built_works import BuiltWorks, Piece
from siteplan.measure.model import Works
from siteplan.measure.record_model import Built, BuiltLine, BuiltPoint
from siteplan.route.model import Layout
from siteplan.rules.model import Requirements
from siteplan.site.site import Site
from siteplan.units import Printer

TAPED = "taped in the open trench"

_MANY = ("cover", "bend")
"""Topics with several findings about one thing."""

Key = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Touched:
    """Ids of lines of which the place, the cover or the bends were measured, and pairs of lines measured beside each other."""

    placed: set[str]
    taped: set[str]
    conduits: set[str]
    pairs: set[tuple[str, str]]


def check_built(
    site: Site,
    requirements: Requirements,
    layout: Layout,
    works: Works,
    built: Built,
    pieces: BuiltWorks,
    planned: Iterable[Finding],
) -> tuple[Finding, ...]:
    """Check what was built.

    Setbacks, separations, crossings, cover, roots and the bends of conduits are run again for each line that was measured;
    the worst piece of a line speaks for it. The well and the arcs of the bends keep the verdict of the plan.

    Parameters
    ----------
    site, requirements, layout, works
        As planned, in ground metres.
    planned : iterable of Finding
        Of the plan.

    Returns
    -------
    tuple of Finding
        Numbered from 1, worst verdict first.
    """
    planned = list(planned)
    placed = {line.line for line in built.lines if line.stretches and line.position != "planned"}
    taped = {line.line for line in built.lines if line.cover != "planned"}
    own = {line.id for line in site.lines}
    pairs = {
        (each.of, each.to): beside
        for each in requirements.separations
        if each.beside_m is not None and each.to in own and (beside := pieces.beside(each.of, each.to))
    }
    again: list[Finding] = []
    for line in built.lines:
        asked = _of_line(requirements, line.line, own)
        if line.line in placed | taped:
            again += _places(line, pieces, asked, placed)
        if line.line in taped:
            again += _covers(line, pieces, asked)
    for pair, beside in pairs.items():
        of_pair = tuple(each for each in requirements.separations if (each.of, each.to) == pair)
        asked = replace(requirements, separations=of_pair)
        for each in check_separations(site, asked, layout, beside.works):
            again.append(_between(each, beside.error_m, site))
    pulled = pieces.pulls()
    turned = replace(works, pulls=pulled, eased=())
    for each in check_bends(site, requirements, replace(layout, reaches=()), turned):
        again.append(replace(each, method=each.method.replace("planned", "as built", 1)))
    touched = _Touched(placed, taped, {pull.line for pull in pulled}, set(pairs))
    kept = [each for each in planned if not _is_run_again(each, touched, own, built)]
    return in_order(_worst(kept, again))


def cover_verdict(point: BuiltPoint) -> Verdict | None:
    """Judge the cover taped at one point; ``None`` where none was taped or the rules state no number."""
    cover_m, required_m = point.measurement.cover_m, point.required_cover_m
    if cover_m is None or required_m is None:
        return None
    return judge(cover_m - required_m, point.measurement.cover_error_m)


def key(finding: Finding) -> Key:
    """What a finding is about, whatever its verdict: the same before and after the dig."""
    row = finding.citation.row if finding.citation else ""
    if finding.topic == "crossing":
        return (finding.topic, finding.what.split(":", maxsplit=1)[0], finding.to)
    if finding.topic == "roots":
        return (finding.topic, finding.to)
    return (finding.topic, finding.subject, finding.to, row, finding.what)


def _of_line(requirements: Requirements, line: str, own: set[str]) -> Requirements:
    """What the rules ask of one line beside things that are there already."""
    return replace(
        requirements,
        setbacks=tuple(each for each in requirements.setbacks if each.subject != "well" and each.of == line),
        unmeasured=tuple(
            each for each in requirements.unmeasured if each.subject != "well" and each.of == line
        ),
        separations=tuple(
            each for each in requirements.separations if each.of == line and each.to not in own
        ),
    )


def _places(line: BuiltLine, pieces: BuiltWorks, asked: Requirements, placed: set[str]) -> Iterator[Finding]:
    for piece in pieces.places(line):
        found = list(check_crossings(piece.site, asked, piece.works))
        if line.line in placed:
            found += check_setbacks(piece.site, asked, piece.layout, piece.works)
            found += check_separations(piece.site, asked, piece.layout, piece.works)
        if piece.measured:
            found += (_with_error(each) for each in check_roots(piece.site, asked, piece.layout))
        yield from (_on_plan(each, piece) for each in found)


def _between(finding: Finding, error_m: float, site: Site) -> Finding:
    """Two new lines beside each other, judged with the error of their shots."""
    judged = _with_error(replace(finding, error_m=error_m, method=TAPED))
    if judged.verdict != "too close to call" or judged.margin_m is None:
        return judged
    good = Printer(site.units).short(abs(judged.margin_m))
    return replace(
        judged,
        settle=f"Tape the clear distance between the two in the open trench: good to {good} or better.",
    )


def _taped_again(finding: Finding, site: Site) -> Finding:
    """A cover that was taped, and what settles it if it is too close to call."""
    taped = replace(finding, method=TAPED)
    if taped.verdict != "too close to call" or taped.margin_m is None:
        return taped
    good = Printer(site.units).short(abs(taped.margin_m))
    settle = f"Tape the cover there again, to a straight edge across the trench: good to {good} or better."
    return replace(taped, settle=settle, prospect=None)


def _with_error(finding: Finding) -> Finding:
    """Judge a measured distance with its error, where the check of a plan asks for all of it."""
    assert finding.margin_m is not None
    assert finding.error_m is not None
    force = finding.citation.force if finding.citation else "required"
    return replace(finding, verdict=judge(finding.margin_m, finding.error_m, force))


def _covers(line: BuiltLine, pieces: BuiltWorks, asked: Requirements) -> Iterator[Finding]:
    """Cover findings along a line; stretches that follow each other with one verdict are one, at its least margin."""
    found: list[Finding] = []
    for piece in pieces.covers(line):
        for each in check_cover(piece.site, asked, piece.layout, piece.works):
            here = _on_plan(_taped_again(each, piece.site) if piece.measured else each, piece)
            before = found[-1] if found else None
            if before is not None and _goes_on(before, here):
                worst = min((before, here), key=lambda one: (one.margin_m is not None, one.margin_m or 0.0))
                found[-1] = replace(worst, from_m=before.from_m, to_m=here.to_m)
            else:
                found.append(here)
    for each in found:
        low, high = sorted((each.from_m or 0.0, each.to_m or 0.0))
        yield replace(each, from_m=low, to_m=high)


def _goes_on(before: Finding, after: Finding) -> bool:
    def same(one: Finding) -> tuple[object, ...]:
        return (one.what, one.reach, one.verdict, one.method, one.required_m, one.error_m)

    return same(before) == same(after)


def _on_plan(finding: Finding, piece: Piece) -> Finding:
    """Stations as the route sheet counts them."""
    if finding.from_m is None or finding.to_m is None:
        return finding
    return replace(finding, from_m=piece.station_m(finding.from_m), to_m=piece.station_m(finding.to_m))


def _is_run_again(finding: Finding, touched: _Touched, own: set[str], built: Built) -> bool:
    """Does what was measured say anew what a finding of the plan said."""
    there = [each for line in built.lines for each in line.stretches if each.reach == finding.reach]
    beside = (
        (finding.subject, finding.to) in touched.pairs
        if finding.to in own
        else finding.subject in touched.placed
    )
    run_again = {
        "cover": finding.subject in touched.taped,
        "crossing": finding.subject in touched.placed | touched.taped,
        "setback": finding.subject in touched.placed,
        "separation": beside,
        "bend": finding.unit == "deg" and finding.subject in touched.conduits,
        "roots": bool(there) and all(each.position == "measured" for each in there),
    }
    return run_again.get(finding.topic, False)


def _worst(kept: Iterable[Finding], again: Iterable[Finding]) -> Iterator[Finding]:
    """The worst of all findings about one thing that was run again; covers stay as they lie along the line, pulls as they are."""
    again, kept = list(again), list(kept)
    about = {key(each) for each in again if each.topic not in _MANY}
    found: dict[Key, Finding] = {}
    for each in [*kept, *again]:
        if key(each) not in about:
            yield each
        elif key(each) not in found or _badness(each) < _badness(found[key(each)]):
            found[key(each)] = each
    yield from found.values()


def _badness(finding: Finding) -> tuple[int, float]:
    margin = float("inf") if finding.margin_m is None else finding.margin_m
    return WORST_FIRST.index(finding.verdict), margin
