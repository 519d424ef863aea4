"""The rows of the route sheet: every place along a reach where the operator does or reads something."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Literal, NamedTuple

import numpy as np
import shapely

from siteplan.measure.along import SHORT_M, TOUCH_M
from siteplan.measure.crossing import Crossing
from siteplan.measure.model import Bend, Interval, LaidLine, Pull, SpoilPile, Station
from siteplan.measure.profile import Trench
from siteplan.measure.pull_points import on_reach
from siteplan.measure.said import Said
from siteplan.measure.ties import Tapes
from siteplan.route.model import Layout
from siteplan.site.site import Site

EVERY_FT_M = 7.62
EVERY_M = 10.0
"""Spacing of the plain stations [m]: 25 ft, or 10 m on a metric sheet. Trade study, section 4."""

CROWDED_M = 0.3
"""A plain station within a foot of another row says nothing more, and is left out. Common practice, no source."""

OFF_CHORD_M = 0.15
"""Ground farther than this [m] off the straight line between two stations gets one of its own. Common practice, no source."""

Kind = Literal["start", "end", "bend", "tee", "crossing", "surface", "hand_dig", "grade", "interval"]
_RANK: tuple[Kind, ...] = (
    "start",
    "end",
    "bend",
    "tee",
    "crossing",
    "surface",
    "hand_dig",
    "grade",
    "interval",
)
_PILE = {
    "left": Said("pile left from here"),
    "right": Said("pile right from here"),
    "neither": Said("no room for the pile from here"),
}
_TIED = ("start", "end", "bend", "tee", "crossing")


class _Event(NamedTuple):
    distance_m: float
    kind: Kind
    words: Said


def stations(
    site: Site,
    trench: Trench,
    *,
    layout: Layout,
    bends: Iterable[Bend],
    crossings: Iterable[Crossing],
    hand_digs: Iterable[Interval],
    pulls: Iterable[Pull],
    pile: SpoilPile,
    tapes: Tapes,
) -> tuple[Station, ...]:
    """Stations of one reach, in order, no two closer than 1 cm.

    Parameters
    ----------
    bends, crossings, hand_digs, pulls
        Of the whole layout; those of this reach are taken.
    pile : SpoilPile
        Of this reach.
    """
    hand_digs = [each for each in hand_digs if each.reach == trench.name]
    events = [
        *_ends(site, trench),
        *_tees(site, trench, layout),
        *_bends(trench, bends),
        *_crossings(site, trench, crossings),
        *_surfaces(site, trench),
        *_hand_digs(trench, hand_digs),
        *_bores(site, trench),
        *_pull_points(site, trench, layout, pulls),
        *_pile_changes(pile),
    ]
    plain = [
        event
        for event in _plain(site, trench)
        if all(abs(event.distance_m - other.distance_m) > CROWDED_M for other in events)
    ]
    rows = _merged([*events, *plain])
    breaks_m = trench.off_chord([row.distance_m for row in rows], OFF_CHORD_M)
    rows = _merged([*rows, *(_Event(distance_m, "grade", Said("grade break")) for distance_m in breaks_m)])
    along_m = np.array([row.distance_m for row in rows])
    places = shapely.get_coordinates(shapely.line_interpolate_point(trench.reach.path, along_m)).tolist()
    return tuple(
        _station(trench, row, x, y, grade_m, hand_digs, tapes)
        for row, (x, y), grade_m in zip(rows, places, trench.grades_m(along_m).tolist(), strict=True)
    )


def _station(
    trench: Trench,
    row: _Event,
    x: float,
    y: float,
    ground_m: float,
    hand_digs: Iterable[Interval],
    tapes: Tapes,
) -> Station:
    _, section = trench.at(row.distance_m + SHORT_M)  # a change within the same centimetre is in this row
    grade_m = None if np.isnan(ground_m) else ground_m
    return Station(
        reach=trench.name,
        distance_m=row.distance_m,
        x=x,
        y=y,
        what=row.words,
        kind=row.kind,
        grade_m=grade_m,
        cut_m=section.cut_m,
        bottom_m=None if grade_m is None else grade_m - section.cut_m,
        width_m=section.width_m,
        section=section.name,
        hand_dig=any(each.from_m - TOUCH_M <= row.distance_m <= each.to_m + TOUCH_M for each in hand_digs),
        ties=tapes.ties(x, y) if row.kind in _TIED else (),
    )


def _merged(events: Iterable[_Event]) -> list[_Event]:
    """One row for what lies within a centimetre: at the place and of the kind that matters most, all the words."""
    groups: list[list[_Event]] = []
    for event in sorted(events, key=lambda event: (event.distance_m, _RANK.index(event.kind))):
        if groups and event.distance_m - groups[-1][0].distance_m < SHORT_M:
            groups[-1].append(event)
        else:
            groups.append([event])
    return [_one_row(group) for group in groups]


def _one_row(group: list[_Event]) -> _Event:
    ranked = sorted(group, key=lambda event: _RANK.index(event.kind))
    said = [event.words for event in ranked if event.kind not in ("interval", "grade")] or [ranked[0].words]
    return ranked[0]._replace(words=Said.joined(dict.fromkeys(said)))


def _ends(site: Site, trench: Trench) -> Iterator[_Event]:
    reach = trench.reach
    yield _Event(0.0, "start", _end_words(site, trench, reach.starts_at, 0.0))
    yield _Event(reach.length_m, "end", _end_words(site, trench, reach.ends_at, reach.length_m))


def _end_words(site: Site, trench: Trench, at: str, distance_m: float) -> Said:
    if at not in {feature.id for feature in site.features}:
        return Said("tee on {reach}", reach=at) if distance_m == 0 else Said("joins {reach}", reach=at)
    feature = site.feature(at)
    if feature.kind == "building":
        return Said("{name} wall", name=feature.name)
    if feature.kind != "well":
        return Said("{name}", name=feature.name)
    pitless = feature.facts.get("pitless_depth")
    water = [laid for laid in trench.at(distance_m)[1].lines if site.line(laid.line).carries == "water"]
    if pitless is None or not water:
        return Said("casing")
    return _pitless_words(float(pitless), water[0], site.digging.depth_error_m + SHORT_M)


def _pitless_words(pitless_m: float, water: LaidLine, within_m: float) -> Said:
    """Does the line leave the casing at the depth it lies in the trench, as truly as that is dug."""
    if pitless_m < water.cover_m - within_m:
        return Said("casing, pitless higher than the line in the trench")
    if pitless_m > water.cover_m + water.outside_m + within_m:
        return Said("casing, pitless deeper than the line in the trench")
    return Said("casing")


def _tees(site: Site, trench: Trench, layout: Layout) -> Iterator[_Event]:
    taken = []
    ours = {line for stretch, _ in trench.parts for line in stretch.lines}
    for branch in layout.reaches:
        if branch.parent == trench.name and branch.parent_m is not None:
            is_tee = any(site.line(line).start in ours for line in branch.lines_at(0.0))
            words = Said("tee, branch {name}" if is_tee else "branch {name} leaves", name=branch.name)
            taken.append(branch.parent_m)
            yield _Event(branch.parent_m, "tee", words)
    for path in layout.paths:
        name, _, distance_m = path.legs[-1]
        if name == trench.name and sum(abs(to_m - from_m) for _, from_m, to_m in path.legs) < SHORT_M:
            yield _Event(
                distance_m, "tee", Said("tee, {name}", name=site.feature(site.line(path.line).end).name)
            )
    for run in trench.reach.runs:
        for distance_m in (run.from_m, run.to_m):
            inside = SHORT_M < distance_m < trench.reach.length_m - SHORT_M
            if inside and all(abs(distance_m - tee_m) > SHORT_M for tee_m in taken):
                name = site.line(run.line).name
                words = Said("{name} begins" if distance_m == run.from_m else "{name} ends", name=name)
                yield _Event(distance_m, "tee", words)


def _bends(trench: Trench, bends: Iterable[Bend]) -> Iterator[_Event]:
    for bend in bends:
        if bend.reach == trench.name:
            left = bend.deflection_deg > 0
            words = Said(
                "bend {name}, {deg} deg left" if left else "bend {name}, {deg} deg right",
                name=bend.name,
                deg=f"{abs(bend.deflection_deg):.0f}",
            )
            yield _Event(bend.distance_m, "bend", words)


def _crossings(site: Site, trench: Trench, crossings: Iterable[Crossing]) -> Iterator[_Event]:
    for crossing in crossings:
        if crossing.reach == trench.name:
            words = Said(
                "crossing {number}, {name}, seen" if crossing.seen else "crossing {number}, {name}",
                number=str(crossing.number),
                name=site.feature(crossing.feature).name,
            )
            yield _Event(crossing.distance_m, "crossing", words)


def _surfaces(site: Site, trench: Trench) -> Iterator[_Event]:
    names = {feature.id: feature.name for feature in site.features}
    before: str | None = None
    for stretch, _ in trench.parts:
        here = stretch.feature.id if stretch.feature else None
        if here != before:
            words = [Said("{name} ends", name=names[before])] if before else []
            words += [Said("{name} begins", name=names[here])] if here else []
            yield _Event(stretch.from_m, "surface", Said.joined(words))
        before = here


def _hand_digs(trench: Trench, hand_digs: Iterable[Interval]) -> Iterator[_Event]:
    for each in hand_digs:
        yield _Event(each.from_m, "hand_dig", Said("hand dig begins ({of})", of=each.of))
        end_m = min(each.to_m, trench.reach.length_m)
        yield _Event(end_m, "hand_dig", Said("hand dig ends ({of})", of=each.of))


def _bores(site: Site, trench: Trench) -> Iterator[_Event]:
    for bored in trench.reach.bored:
        name = site.feature(bored.feature).name
        yield _Event(bored.from_m, "surface", Said("bore begins, under {name}", name=name))
        yield _Event(bored.to_m, "surface", Said("bore ends, under {name}", name=name))


def _pull_points(site: Site, trench: Trench, layout: Layout, pulls: Iterable[Pull]) -> Iterator[_Event]:
    for pull in pulls:
        if pull.from_m > 0.0:
            name, distance_m = on_reach(layout.path(pull.line), pull.from_m)
            if name == trench.name:
                words = Said("{place}, {line}", place=pull.start, line=site.line(pull.line).name)
                yield _Event(distance_m, "bend", words)


def _pile_changes(pile: SpoilPile) -> Iterator[_Event]:
    side: str = pile.side
    for fit in pile.fits:
        if fit.side != side:
            yield _Event(fit.from_m, "surface", _PILE[fit.side])
        side = fit.side


def _plain(site: Site, trench: Trench) -> Iterator[_Event]:
    every_m = EVERY_FT_M if site.units.startswith("ft") else EVERY_M
    for number in range(1, int(trench.reach.length_m / every_m) + 1):
        yield _Event(number * every_m, "interval", Said("straight"))
