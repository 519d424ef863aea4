"""What a solved tape net says about the measurements: the misfit of each, and what wants another look."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import combinations
from math import cos, degrees, hypot, radians, sin
from typing import TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.plane.adjust import LEAST_CHECKED, Adjusted, best_turn
from siteplan.plane.corners import LEAST_CROSSING_DEG
from siteplan.plane.ground import GroundSurface
from siteplan.plane.net_start import Row, crossing_deg
from siteplan.site.evidence import Z95_TWO_SIDED
from siteplan.site.features import Feature, Source
from siteplan.site.field_notes import Measurement
from siteplan.site.net import Misfit, NetPoint, NetWarning
from siteplan.units import Printer

MOST_SIGMAS = 3.0
"""A standardised misfit past this is not explained by the stated errors (1 in 370 by chance)."""

STEEP = 0.1
"""Slope from which a tape wants to be held level or reduced, rise over tape: past it 50 ft are 3 in too long (own choice)."""

BENT_M = 0.3
"""An outline that the tapes bend by more [m] is spoken of (own choice)."""

_SAME_CHECK = 0.99
_SOLVED_AGAIN = 2.0
_MOST_NAMED = 3
_SIDES = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")


Again: TypeAlias = Callable[[frozenset[int]], tuple[Adjusted, NDArray[np.float64]] | None]
"""Solve without some observations: what comes out, and the misfits of all at its places over their sigmas."""


def misfits_of(
    rows: Sequence[Row], of_row: Sequence[tuple[int, str]], adjusted: Adjusted, again: Again
) -> tuple[Misfit, ...]:
    """Misfit of each measured number, in the order of the file.

    ``without`` is found by solving once more without the measurement where the misfit is past 2 sigmas, else to first order, as
    misfit over redundancy. Where one check serves several measurements, their standardised misfits are the same: any of them
    would explain the disagreement. They name each other.
    """
    words = [_words(rows[row][0], part) for row, part in of_row]
    sigmas = adjusted.standardised()
    made = []
    for number, (row, part) in enumerate(of_row):
        measurement = rows[row][0]
        scale = degrees(1.0) if part == "bearing" else 1.0
        misfit, sigma = float(adjusted.misfits[number]), float(adjusted.sigmas[number])
        share = float(adjusted.redundancy[number])
        checked = share > LEAST_CHECKED
        standardised = float(sigmas[number])
        without = misfit / share if checked else None
        if abs(standardised) > _SOLVED_AGAIN and (rest := again(frozenset((number,)))) is not None:
            without = float(rest[1][number]) * sigma
        made.append(
            Misfit(
                what=words[number],
                point=measurement.point,
                unit="deg" if part == "bearing" else "m",
                measured=_measured(measurement, part),
                misfit=misfit * scale,
                error=Z95_TWO_SIDED * sigma * scale,
                standardised=standardised,
                without=None if without is None else without * scale,
                alike=tuple(words[other] for other in _same_check(adjusted, number, len(of_row))),
                method=measurement.method,
                outing=measurement.outing,
                note=measurement.note,
                source=measurement.source,
            )
        )
    return tuple(made)


def warnings_of(
    points: Sequence[NetPoint],
    rows: Sequence[Row],
    misfits: Sequence[Misfit],
    coordinates: Sequence[tuple[Feature, Sequence[int]]],
    adjusted: Adjusted,
    again: Again,
    vertices: Mapping[str, Sequence[int]],
    ground: GroundSurface | None,
    print_: Printer,
) -> tuple[NetWarning, ...]:
    """Return what wants another look: misfits past their errors, worst first; then the rest by file and line.

    Parameters
    ----------
    coordinates : sequence of (Feature, sequence of int)
        Each thing with coordinates, and the numbers of their observations in ``adjusted``.
    vertices : mapping of str to sequence of int
        By id of a thing: the point at each of its coordinates.
    """
    others = [
        *_twice(rows, print_),
        *_weak(points, rows, print_),
        *_on_slopes(points, rows, ground, print_),
        *_bent(points, rows, coordinates, vertices, print_),
    ]
    return (
        *_unexplained(misfits, coordinates, adjusted, again, print_),
        *sorted(others, key=lambda each: (each.source.file, each.source.line or 0)),
    )


def _unexplained(
    misfits: Sequence[Misfit],
    coordinates: Sequence[tuple[Feature, Sequence[int]]],
    adjusted: Adjusted,
    again: Again,
    print_: Printer,
) -> list[NetWarning]:
    """What the errors do not explain: the worst is left out, and the rest solved and looked at again.

    One measurement that is far out pulls others with it; so those that fit once it is left out are not blamed.
    """
    thing_of = {number: feature for feature, own in coordinates for number in own}
    total = len(adjusted.misfits)
    judged = [*range(len(misfits)), *thing_of]
    stay, found = list(range(total)), adjusted
    warnings: list[NetWarning] = []
    while True:
        sigmas, at = np.zeros(total), np.zeros(total)
        sigmas[stay], at[stay] = np.abs(found.standardised()), np.abs(found.misfits)
        worst = max(judged, key=lambda n: (round(float(sigmas[n]), 4), float(at[n]), -n))
        if sigmas[worst] <= MOST_SIGMAS:
            return warnings
        measured = worst < len(misfits)
        still = sum(number < len(misfits) for number in stay)
        alike = _same_check(found, stay.index(worst), still) if measured else []
        pair = {worst} if measured else _both(worst, thing_of[worst], coordinates)
        left = [number for number in stay if number not in pair]
        rest = again(frozenset(range(total)) - frozenset(left))
        if rest is None:
            return warnings
        off = rest[1] * adjusted.sigmas
        if measured:
            known = [misfits[stay[number]].what for number in alike]
            scale = degrees(1.0) if misfits[worst].unit == "deg" else 1.0
            text = _far_out(misfits[worst], float(off[worst]) * scale, known, print_)
            warnings.append(NetWarning(text=text, source=misfits[worst].source))
        else:
            off_m = float(np.hypot(*off[sorted(pair)]))
            warnings.append(_moved(thing_of[worst], off_m, print_))
        stay, found = left, rest[0]


def _both(number: int, thing: Feature, coordinates: Sequence[tuple[Feature, Sequence[int]]]) -> set[int]:
    """Return the observations of x and y of the corner that one of them is of."""
    own = next(list(numbers) for feature, numbers in coordinates if feature is thing)
    first = own.index(number) // 2 * 2
    return set(own[first : first + 2])


def _far_out(misfit: Misfit, off: float, alike: Sequence[str], print_: Printer) -> str:
    text = (
        f"{misfit.what}: {amount(misfit, misfit.measured, print_)} measured, {amount(misfit, abs(off), print_)} "
        f"{'more' if off > 0 else 'less'} than the others give without it; its error of "
        f"{amount(misfit, misfit.error, print_)} does not explain that: measure it again"
    )
    if alike:
        text += f" ({' or '.join(alike[:_MOST_NAMED])} would explain it as well; one more measurement tells which)"
    return text


def amount(misfit: Misfit, value: float, print_: Printer) -> str:
    """Print a number of a measurement in its unit: a length, or degrees."""
    return f"{value:.1f} deg" if misfit.unit == "deg" else print_.length(value)


def _twice(rows: Sequence[Row], print_: Printer) -> Iterator[NetWarning]:
    """One tape written down twice: as a check, if the two differ by no more than they may; else one of them is wrong."""
    first: dict[frozenset[int], Measurement] = {}
    for row, points in rows:
        if row.distance_m is None:
            continue
        before = first.setdefault(frozenset((points["start"], points["point"])), row)
        if before is row or before.distance_m is None:
            continue
        off_m = abs(row.distance_m - before.distance_m)
        here, there = print_.length(row.distance_m), print_.length(before.distance_m)
        if off_m == 0 and row.outing == before.outing:
            text = f"{row.what} stands on line {before.source.line} as well, with {there}: it counts as two measurements"
        elif off_m > hypot(row.error_m, before.error_m):
            text = f"{row.what}: {here} here and {there} on line {before.source.line}: both are kept, measure again"
        else:
            continue
        yield NetWarning(text=text, source=row.source)


def _weak(points: Sequence[NetPoint], rows: Sequence[Row], print_: Printer) -> Iterator[NetWarning]:
    """Points that are measured by tapes which cross too flat."""
    at = [(point.x, point.y) for point in points]
    lines: dict[int, list[tuple[float, float]]] = {}
    source: dict[int, Source] = {}
    for row, own in rows:
        point, start = own["point"], own["start"]
        source.setdefault(point, row.source)
        x, y = at[point][0] - at[start][0], at[point][1] - at[start][1]
        ways = [(x, y)] if row.distance_m is not None else []
        if row.bearing_deg is not None:
            ways.append((y, -x))
        if row.turn is not None or row.along_m is not None:
            ways += [(x, y), (y, -x)]
        for end in (point, start):
            lines.setdefault(end, []).extend(way for way in ways if hypot(*way) > 0)
    for point, row_source in source.items():
        own_ways = lines.get(point, [])
        if len(own_ways) < 2:
            continue
        best = max(crossing_deg(a, b) for a, b in combinations(own_ways, 2))
        if best < LEAST_CROSSING_DEG:
            ellipse = points[point].ellipse
            turn = radians(ellipse.bearing_deg)
            ahead = _SIDES[round(degrees(np.arctan2(sin(turn), cos(turn))) / 45) % 8]
            behind = _SIDES[(_SIDES.index(ahead) + 4) % 8]
            text = (
                f"{points[point].name}: its tapes cross at {best:.0f} deg at best, so it may be out by "
                f"{print_.length(ellipse.major_m)}; tape it once more, from the {ahead} or {behind}"
            )
            yield NetWarning(text=text, source=row_source)


def _on_slopes(
    points: Sequence[NetPoint], rows: Sequence[Row], ground: GroundSurface | None, print_: Printer
) -> Iterator[NetWarning]:
    """Tapes over a slope of which the notes say nothing: laid on the ground they read too long."""
    if ground is None:
        return
    heights = ground.elevations([(point.x, point.y) for point in points])
    for row, own in rows:
        rise_m = abs(float(heights[own["point"]] - heights[own["start"]]))
        if row.distance_m is not None and not row.reduced and rise_m > STEEP * row.distance_m:
            text = (
                f"{row.what}: the ground rises {print_.length(rise_m)} along this tape of {print_.length(row.distance_m)}; "
                f"if it was not held level, fill in rise"
            )
            yield NetWarning(text=text, source=row.source)


def _bent(
    points: Sequence[NetPoint],
    rows: Sequence[Row],
    coordinates: Sequence[tuple[Feature, Sequence[int]]],
    vertices: Mapping[str, Sequence[int]],
    print_: Printer,
) -> Iterator[NetWarning]:
    """Things whose corners are known so badly that tapes from them bend their outline, while nobody taped their walls."""
    for feature, _ in coordinates:
        own = vertices[feature.id]
        walls = sum(
            {points_["point"], points_["start"]} <= set(own) for row, points_ in rows if row.distance_m
        )
        if feature.shape.geom_type == "Point" or walls >= len(set(own)) - 1:
            continue
        drawn = shapely.get_coordinates(feature.shape)
        found = np.array([(points[number].x, points[number].y) for number in own])
        drawn, found = drawn - drawn.mean(axis=0), found - found.mean(axis=0)
        bent_m = float(np.hypot(*(drawn @ best_turn(drawn, found) - found).T).max())
        if bent_m > BENT_M:
            text = (
                f"{feature.name} comes out up to {print_.length(bent_m)} off the outline here, as its corners are known to "
                f"{print_.length(feature.evidence.private_m)} only: tape its walls, or say how well it is known"
            )
            yield NetWarning(text=text, source=feature.source)


def _moved(thing: Feature, off_m: float, print_: Printer) -> NetWarning:
    text = (
        f"{thing.name}: this file has a corner of it {print_.length(off_m)} from where the tapes put it; its error of "
        f"{print_.length(thing.evidence.private_m)} does not explain that. Is another corner meant, or its error larger?"
        if thing.shape.geom_type != "Point"
        else f"{thing.name}: this file has it {print_.length(off_m)} from where the tapes put it; its error of "
        f"{print_.length(thing.evidence.private_m)} does not explain that"
    )
    return NetWarning(text=text, source=thing.source)


def _same_check(adjusted: Adjusted, number: int, count: int) -> list[int]:
    """Other measurements whose misfits go with that of one, so that none can be told from the other."""
    share = adjusted.redundancy[:count]
    if share[number] <= LEAST_CHECKED:
        return []
    together = np.abs(adjusted.leftover[number, :count])
    alike = together > _SAME_CHECK * np.sqrt(share[number] * np.maximum(share, LEAST_CHECKED))
    return [int(other) for other in np.flatnonzero(alike) if other != number]


def _words(row: Measurement, part: str) -> str:
    if part in ("along", "offset"):
        return f"{row.point} {part} from {row.start} to {row.towards}"
    if part == "square":
        return f"{row.point} square at {row.start}"
    return f"{row.what}, bearing" if part == "bearing" else row.what


def _measured(row: Measurement, part: str) -> float:
    said = {
        "distance": row.distance_m,
        "bearing": row.bearing_deg,
        "along": row.along_m,
        "offset": row.offset_m,
    }.get(part, 0.0)
    return said or 0.0
