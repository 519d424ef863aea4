"""The chain of rows behind one pair of things on a site, or behind the cover of one line, in words."""

from __future__ import annotations

from collections.abc import Iterator
from typing import cast

from siteplan.errors import Fault, InputFaults
from siteplan.rules.faults import nearest, shown
from siteplan.rules.frost import CITATION as FROST
from siteplan.rules.frost import frost_under, frost_words
from siteplan.rules.model import Cover, Requirements, Separation, Setback, Unmeasured
from siteplan.rules.pages import citation_lines
from siteplan.rules.resolve import resolve
from siteplan.rules.rows import SetbackRow
from siteplan.rules.setback_rows import kinds_named
from siteplan.rules.setbacks import ranked
from siteplan.rules.stack import Placed, Stack
from siteplan.site.catalogue import kinds
from siteplan.site.site import Site
from siteplan.units import Printer

COVER = "cover"
"""What stands in place of the second thing where the cover over a line is asked for."""


def explain(stack: Stack, site: Site, subject: str, to: str) -> str:
    """Tell which rows speak of a pair, which governs, and why others do not hold.

    Parameters
    ----------
    stack : Stack
        From ``load_stack``.
    site : Site
        Site with its facts.
    subject, to : str
        Ids, printed names, or kinds of features (then every pair of them is told): a well or a line to lay, and what it is
        measured to. With the word ``cover`` as ``to``, the cover over a line to lay is told.

    Returns
    -------
    str
        Some lines of text to read.

    Raises
    ------
    InputFaults
        The site has no such id, name or kind; the nearest one is offered.
    """
    ones, others = _matching(site, subject), _matching(site, to)
    lines = [line.id for line in site.lines if line.id in ones]
    if to == COVER and lines:
        return "\n\n".join(explain_cover(stack, site, line) for line in lines)
    known = [word for words in _words(site).values() for word in words]
    unknown = [word for word, ids in ((subject, ones), (to, others)) if not ids]
    pairs = [(one, other) for one in ones for other in others if one != other]
    if not pairs:
        expected = "two different things: ids of the site, their names, or kinds that are there"
        raise InputFaults(
            Fault(file="--pair", found=shown(word), expected=expected, mend=nearest(word, known))
            for word in unknown or [f"{subject}:{to}"]
        )
    needs = resolve(stack, site)
    return "\n".join(line for pair in pairs for line in _pair_lines(stack, site, needs, *pair)).rstrip()


def _things(site: Site) -> dict[str, str]:
    """Features and lines to lay by id, with the words that print."""
    features = {feature.id: f"{feature.name} ({feature.status})" for feature in site.features}
    return features | {line.id: line.name for line in site.lines}


def _words(site: Site) -> dict[str, tuple[str, ...]]:
    """Features and lines to lay by id, with all that they may be called by."""
    features = {
        one.id: (one.id, one.name, one.kind, kinds()[one.kind].name if one.kind in kinds() else one.kind)
        for one in site.features
    }
    return features | {line.id: (line.id, line.name) for line in site.lines}


def _matching(site: Site, word: str) -> list[str]:
    """Ids that a word names: a feature, a line to lay, or all that have this name or are of this kind."""
    words = _words(site)
    if word in words:
        return [word]
    plain = _plain(word)
    return [one for one, names in words.items() if plain in map(_plain, names)]


def _plain(word: str) -> str:
    return " ".join(word.replace("_", " ").split()).casefold()


def explain_all(stack: Stack, site: Site) -> str:
    """Tell of every pair with a row that applies which row governs and why, a line or two each.

    Raises ``InputFaults`` as ``resolve`` does.
    """
    needs, print_ = resolve(stack, site), Printer(site.units)
    things = _things(site)
    pairs: dict[tuple[str, str], list[str]] = {}
    for one in needs.setbacks:
        if one.applies:
            pairs.setdefault((one.of, one.to), [])
    for words_only in needs.unmeasured:
        if words_only.applies:
            pairs.setdefault((words_only.of, words_only.to), []).append(
                f"{words_only.words} [{words_only.citation.row}]"
            )
    for apart in needs.separations:
        told = next(_separation_lines(apart, print_))
        pairs.setdefault((apart.of, apart.to), []).append(f"{told} [{apart.citation.row}]")
    lines: list[str] = []
    for (of, to), more in pairs.items():
        found = ranked(one for one in needs.setbacks if (one.of, one.to) == (of, to))
        lines += (
            f"{of}:{to}  {things[of]} to {things[to]}",
            *_short(found),
            *(f"  {words}" for words in more),
        )
    if pairs:
        first = ":".join(next(iter(pairs)))
        lines += ("", f"A pair in full: --pair and its two ids, such as --pair {first}")
    else:
        lines.append(f"No row of {stack.name} applies to a pair on this site.")
    return "\n".join([*lines, *needs.warnings])


def _short(found: list[Setback]) -> Iterator[str]:
    """The row that governs a pair, and any that prohibits."""
    for place, one in enumerate(found):
        if place and not one.prohibit:
            continue
        citation = one.citation
        marks = [
            *([citation.force.replace("_", " ")] if citation.force != "required" else []),
            *([] if citation.confirmed else [f"unconfirmed ({citation.standing})"]),
        ]
        yield f"  {_least(one)}: {'; '.join([citation.text, *marks])} [{citation.row}]"
        if one.because or one.multiplied:
            yield f"    because {'; '.join((*one.multiplied, *one.because))}"
        if one.missing:
            yield f"    not stated: {', '.join(one.missing)}; the larger number is kept"


def _least(one: Setback) -> str:
    return "never in, under or through it" if one.prohibit and not one.least.value else str(one.least)


def _pair_lines(stack: Stack, site: Site, needs: Requirements, subject: str, to: str) -> Iterator[str]:
    pair = [one for one in needs.setbacks if (one.of, one.to) == (subject, to)]
    words_only = [one for one in needs.unmeasured if (one.of, one.to) == (subject, to)]
    aside = list(_set_aside(stack, site, subject, to))
    apart = needs.separation(subject, to)
    things = _things(site)
    yield from (f"{things[subject]} to {things[to]}, under {stack.name}", "")
    standing = ranked(pair)
    for place, one in enumerate(standing):
        yield from (*_setback_lines(one, _standing(one, place, standing)), "")
    for unmeasured in words_only:
        if unmeasured.applies:
            yield from (*_unmeasured_lines(unmeasured, "holds too, and no plan can be tested for it"), "")
    for one in pair:
        if not one.applies:
            yield from (*_setback_lines(one, "does not apply"), "")
    for unmeasured in words_only:
        if not unmeasured.applies:
            yield from (*_unmeasured_lines(unmeasured, "does not apply"), "")
    for placed, by in aside:
        yield f"{placed.row.asks}: set aside, {by} preempts what {placed.layer} says of setbacks"
        yield from (*citation_lines(placed.cite()), "")
    if apart is not None:
        yield from (*_separation_lines(apart, Printer(site.units)), "")
    if not pair and not words_only and not aside and apart is None:
        yield from (*_silence(stack, site, to), "")


def _set_aside(stack: Stack, site: Site, subject: str, to: str) -> Iterator[tuple[Placed[SetbackRow], str]]:
    """Rows that would speak of a pair if no layer above preempted them."""
    kind = next((feature.kind for feature in site.features if feature.id == to), "")
    line = next((line for line in site.lines if line.id == subject), None)
    names = ["well"] if line is None else [f"line:{line.carries}"]
    if line is not None and line.carries == "water":
        names.append("suction_line")
    for placed, by in stack.set_aside:
        row = placed.row
        if isinstance(row, SetbackRow) and row.from_ in names and kind in kinds_named(row.to):
            yield cast("Placed[SetbackRow]", placed), by


def _standing(one: Setback, place: int, ranking: list[Setback]) -> str:
    """Which part a setback plays among those of its pair, and why."""
    if one.prohibit:
        return "holds whatever the distance"
    if place:
        return "holds too, asks for no more"
    others = len(ranking) - 1
    return "governs" if not others else f"governs: the largest of {others + 1} that hold"


def _setback_lines(setback: Setback, standing: str) -> Iterator[str]:
    yield f"{_least(setback)} from the {setback.from_point} to the {setback.to_edge}: {standing}"
    yield from (f"  {words}" for words in setback.multiplied)
    if setback.approvable is not None:
        yield f"  down to {setback.approvable} by approval: {setback.approval}"
    if setback.because:
        yield f"  because {'; '.join(setback.because)}"
    if setback.missing:
        yield f"  not stated: {', '.join(setback.missing)}; the larger number is kept. It would be:"
        for words, answer in setback.either:
            yield f"    {words}: {answer if answer is not None else 'the row does not apply'}"
    if setback.open_top:
        yield "    or more: the rule has no ceiling"
    for citation in (setback.citation, *setback.also):
        yield from citation_lines(citation)


def _unmeasured_lines(unmeasured: Unmeasured, standing: str) -> Iterator[str]:
    yield f"{unmeasured.words}: {standing}"
    if unmeasured.because:
        yield f"  because {'; '.join(unmeasured.because)}"
    if unmeasured.missing:
        yield f"  not stated: {', '.join(unmeasured.missing)}"
    yield from citation_lines(unmeasured.citation)


def explain_cover(stack: Stack, site: Site, line: str, surface: str = "") -> str:
    """Tell which rows ask for the cover over a line to lay, which governs, and how a computed frost depth came about.

    Parameters
    ----------
    line : str
        Id of a line to lay.
    surface : str
        Class of the surface (yard, dwelling_drive, road, slab); every class if left out.
    """
    return "\n".join(_cover_lines(stack, site, line, surface)).rstrip()


def _cover_lines(stack: Stack, site: Site, line: str, only: str) -> Iterator[str]:
    """The cover of one line under each class of surface; classes with the same answer together."""
    needs, print_ = resolve(stack, site), Printer(site.units)
    alike: dict[tuple[object, ...], list[Cover]] = {}
    for cover in needs.covers:
        if cover.line == line and only in ("", cover.surface):
            key = (cover.form, cover.least_m, cover.most_m, cover.citation, cover.also)
            alike.setdefault(key, []).append(cover)
    yield from (f"cover over {site.line(line).name}, under {stack.name}", "")
    for covers in alike.values():
        cover = covers[0]
        surfaces = ", ".join(one.surface.replace("_", " ") for one in covers)
        least = "no number: ask" if cover.least_m is None else f"at least {print_.length(cover.least_m)}"
        most = "" if cover.most_m is None else f", at most {print_.length(cover.most_m)}"
        yield f"{surfaces}: {least}{most}"
        yield f"  because {cover.form}"
        yield from citation_lines(cover.citation)
        if cover.also:
            yield "  holds too, or stands behind it:"
        for citation in cover.also:
            yield from citation_lines(citation)
        if site.frost is not None and FROST in (cover.citation, *cover.also):
            yield from (f"  {words}" for words in frost_words(frost_under(site.frost, cover.surface), print_))
        yield ""
    own = site.line(line).cover_m
    if own is not None:
        yield f"the site's own cover for this line is {print_.length(own)}; the deeper of the two counts"


def _separation_lines(separation: Separation, print_: Printer) -> Iterator[str]:
    numbers = [
        f"{words} {print_.length(value)}"
        for words, value in (
            ("beside", separation.beside_m),
            ("clear where they cross", separation.crossing_m),
            ("shelf", separation.shelf_m),
        )
        if value is not None
    ]
    share = "one trench is allowed" if separation.may_share else "no common trench"
    yield ", ".join([*numbers, share])
    if separation.over is not None:
        yield f"  {separation.of} passes {'over' if separation.over else 'under'} {separation.to}"
    for citation in (separation.citation, *separation.also):
        yield from citation_lines(citation)


def _silence(stack: Stack, site: Site, to: str) -> Iterator[str]:
    kind = next((feature.kind for feature in site.features if feature.id == to), "")
    silent = [layer for layer in stack.layers if kind in layer.head.silent]
    for layer in silent:
        yield f"{layer.head.title} was read for this and gives no number."
    if not silent:
        yield "No row of these rules speaks of this pair. What the layers do not hold:"
        yield from (f"  {layer.name}: {gap}" for layer in stack.layers for gap in layer.head.gaps)
