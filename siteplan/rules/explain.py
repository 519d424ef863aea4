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
from siteplan.units import Printer


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
    ones, others = _matching(site, subject), _matching(site, to)
    known = [*_things(site), *(feature.kind for feature in site.features)]
    unknown = [word for word, ids in ((subject, ones), (to, others)) if not ids]
    pairs = [(one, other) for one in ones for other in others if one != other]
    if not pairs:
        expected = "two different things: ids of the site, or kinds that are there"
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


def _matching(site: Site, word: str) -> list[str]:
    """Ids that a word names: a feature, a line to lay, or all features of a kind."""
    return [word] if word in _things(site) else [feature.id for feature in site.of_kind(word)]


def _pair_lines(stack: Stack, site: Site, needs: Requirements, subject: str, to: str) -> Iterator[str]:
    pair = [one for one in needs.setbacks if (one.of, one.to) == (subject, to)]
    apart = needs.separation(subject, to)
    things = _things(site)
    yield from (f"{things[subject]} to {things[to]}, under {stack.name}", "")
    for place, one in enumerate(ranked(pair)):
        yield from (*_setback_lines(one, "holds too, asks for no more" if place else "governs"), "")
    for one in pair:
        if not one.applies:
            yield from (*_setback_lines(one, "does not apply"), "")
    if apart is not None:
        yield from (*_separation_lines(apart, Printer(site.units)), "")
    if not pair and apart is None:
        yield from (*_silence(stack, site, to), "")


def _setback_lines(setback: Setback, standing: str) -> Iterator[str]:
    yield f"{setback.least} from the {setback.from_point} to the {setback.to_edge}: {standing}"
    if setback.because:
        yield f"  because {'; '.join(setback.because)}"
    if setback.missing:
        yield f"  not stated: {', '.join(setback.missing)}; the larger number is kept. It would be:"
        for words, answer in setback.either:
            yield f"    {words}: {answer if answer is not None else 'the row does not apply'}"
    yield from citation_lines(setback.citation)


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
