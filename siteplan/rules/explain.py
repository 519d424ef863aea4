"""The chain of rows behind one pair of things on a site, in words."""

from __future__ import annotations

from collections.abc import Iterator

from siteplan.errors import Fault, InputFaults
from siteplan.rules.faults import nearest, shown
from siteplan.rules.model import Requirements, Separation, Setback
from siteplan.rules.pages import citation_lines
from siteplan.rules.resolve import resolve
from siteplan.rules.setbacks import ranked
from siteplan.rules.stack import Stack
from siteplan.site.site import Site


def explain(stack: Stack, site: Site, subject: str, to: str) -> str:
    """Tell which rows speak of a pair, which governs, and why others do not hold.

    Parameters
    ----------
    stack : Stack
        From ``load_stack``.
    site : Site
        Site with its facts.
    subject, to : str
        Ids, or kinds of features (then every pair of them is told): a well or a line to lay, and what it is measured to.

    Returns
    -------
    str
        Some lines of text to read.

    Raises
    ------
    InputFaults
        The site has no such id or kind; the nearest one is offered.
    """
    pairs = [
        (one, other) for one in _matching(site, subject) for other in _matching(site, to) if one != other
    ]
    needs = resolve(stack, site)
    return "\n".join(
        line for one, other in pairs for line in _pair_lines(stack, site, needs, one, other)
    ).rstrip()


def _matching(site: Site, word: str) -> list[str]:
    """Ids that a word names: a feature, a line to lay, or all features of a kind."""
    ids = [*(feature.id for feature in site.features), *(line.id for line in site.lines)]
    if word in ids:
        return [word]
    of_kind = [feature.id for feature in site.of_kind(word)]
    if not of_kind:
        known = [*ids, *(feature.kind for feature in site.features)]
        expected = "an id of the site, or a kind that is there"
        raise InputFaults(
            [Fault(file="site", found=shown(word), expected=expected, mend=nearest(word, known))]
        )
    return of_kind


def _pair_lines(stack: Stack, site: Site, needs: Requirements, subject: str, to: str) -> Iterator[str]:
    pair = [one for one in needs.setbacks if (one.of, one.to) == (subject, to)]
    apart = needs.separation(subject, to)
    yield from (f"{_name(site, subject)} to {_name(site, to)}, under {stack.name}", "")
    for place, one in enumerate(ranked(pair)):
        yield from (*_setback_lines(one, "holds too, asks for no more" if place else "governs"), "")
    for one in pair:
        if not one.applies:
            yield from (*_setback_lines(one, "does not apply"), "")
    if apart is not None:
        yield from (*_separation_lines(apart), "")
    if not pair and apart is None:
        yield from (*_silence(stack, site, to), "")


def _name(site: Site, name: str) -> str:
    things = {line.id: line.name for line in site.lines} | {
        f.id: f"{f.name} ({f.status})" for f in site.features
    }
    return things[name]


def _setback_lines(setback: Setback, standing: str) -> Iterator[str]:
    yield f"{setback.least} from the {setback.from_point} to the {setback.to_edge}: {standing}"
    if setback.because:
        yield f"  because {'; '.join(setback.because)}"
    if setback.missing:
        yield f"  not stated: {', '.join(setback.missing)}; the larger number is kept. It would be:"
        for words, answer in setback.either:
            yield f"    {words}: {answer if answer is not None else 'the row does not apply'}"
    yield from citation_lines(setback.citation)


def _separation_lines(separation: Separation) -> Iterator[str]:
    numbers = [
        f"{words} {value:.3g} m"
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
        yield f"{layer.head.title} was read in full and gives no number for this."
    if not silent:
        yield "No row of these rules speaks of this pair. What the layers do not hold:"
        yield from (f"  {layer.name}: {gap}" for layer in stack.layers for gap in layer.head.gaps)
