"""What a solved tape net says about the measurements: the misfit of each, and what wants another look."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations
from math import cos, degrees, hypot, radians, sin

import numpy as np

from siteplan.plane.adjust import Adjusted
from siteplan.plane.net_start import Row, crossing_deg
from siteplan.site.evidence import Z95_TWO_SIDED
from siteplan.site.features import Feature, Source
from siteplan.site.field_notes import Measurement
from siteplan.site.net import Misfit, NetPoint, NetWarning
from siteplan.units import Printer

MOST_SIGMAS = 3.0
"""A standardised misfit past this is not explained by the stated errors (1 in 370 by chance)."""

LEAST_CROSSING_DEG = 30.0
"""Flatter, and the fix is at least twice worse than the tapes. Trade study, own calculation."""

_LEAST_CHECKED = 1e-4
_SAME_CHECK = 0.99
_MOST_NAMED = 3
_SIDES = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")


def misfits_of(
    rows: Sequence[Row], of_row: Sequence[tuple[int, str]], adjusted: Adjusted
) -> tuple[Misfit, ...]:
    """Misfit of each measured number, in the order of the file.

    Where one check serves several measurements, their standardised misfits are the same: any of them would explain the
    disagreement. They name each other.
    """
    words = [_words(rows[row][0], part) for row, part in of_row]
    made = []
    for number, (row, part) in enumerate(of_row):
        measurement = rows[row][0]
        scale = degrees(1.0) if part == "bearing" else 1.0
        misfit, sigma = float(adjusted.misfits[number]), float(adjusted.sigmas[number])
        share = float(adjusted.redundancy[number])
        checked = share > _LEAST_CHECKED
        made.append(
            Misfit(
                what=words[number],
                point=measurement.point,
                unit="deg" if part == "bearing" else "m",
                measured=_measured(measurement, part),
                misfit=misfit * scale,
                error=Z95_TWO_SIDED * sigma * scale,
                standardised=misfit / (sigma * share**0.5) if checked else 0.0,
                without=misfit / share * scale if checked else None,
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
    print_: Printer,
) -> tuple[NetWarning, ...]:
    """Return what wants another look: misfits past their errors, worst first; then the rest by file and line.

    Parameters
    ----------
    coordinates : sequence of (Feature, sequence of int)
        Each thing with coordinates, and the numbers of their observations in ``adjusted``.
    """
    rest = [
        *_twice(rows, print_),
        *_weak(points, rows, print_),
        *_moved(coordinates, adjusted, print_),
    ]
    return (
        *_unexplained(misfits, print_),
        *sorted(rest, key=lambda each: (each.source.file, each.source.line or 0)),
    )


def _unexplained(misfits: Sequence[Misfit], print_: Printer) -> Iterator[NetWarning]:
    """Misfits that their errors do not explain, worst first; of those that one check serves the largest stands for all."""
    spoken = set[str]()
    for each in sorted(misfits, key=lambda one: (-round(abs(one.standardised), 6), -abs(one.misfit))):
        if abs(each.standardised) <= MOST_SIGMAS or each.what in spoken:
            continue
        spoken |= {each.what, *each.alike}
        others = each.alike[:_MOST_NAMED]
        text = (
            f"{each.what}: {amount(each, each.measured, print_)} measured, {amount(each, abs(each.without or 0.0), print_)} "
            f"{'more' if (each.without or 0.0) > 0 else 'less'} than the others give without it; "
            f"its error of {amount(each, each.error, print_)} does not explain that. Measure it again"
        )
        if others:
            text += f"; {' or '.join(others)} would explain it as well, one more measurement tells which"
        yield NetWarning(text=text, source=each.source)


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


def _moved(
    coordinates: Sequence[tuple[Feature, Sequence[int]]], adjusted: Adjusted, print_: Printer
) -> Iterator[NetWarning]:
    """Things whose coordinates the tapes contradict."""
    for feature, own in coordinates:
        numbers = np.array(own)
        share = adjusted.redundancy[numbers]
        checked = numbers[share > _LEAST_CHECKED]
        if not len(checked):
            continue
        sigmas = adjusted.misfits[checked] / (
            adjusted.sigmas[checked] * np.sqrt(adjusted.redundancy[checked])
        )
        if np.abs(sigmas).max() > MOST_SIGMAS:
            pairs = adjusted.misfits[numbers].reshape(-1, 2)
            off_m = float(np.hypot(pairs[:, 0], pairs[:, 1]).max())
            text = (
                f"{feature.name}: the tapes put a corner of it {print_.length(off_m)} from where this file has it; its error of "
                f"{print_.length(feature.evidence.private_m)} does not explain that. Is a tape from another corner meant?"
            )
            yield NetWarning(text=text, source=feature.source)


def _same_check(adjusted: Adjusted, number: int, count: int) -> list[int]:
    """Other measurements whose misfits go with that of one, so that none can be told from the other."""
    share = adjusted.redundancy[:count]
    if share[number] <= _LEAST_CHECKED:
        return []
    together = np.abs(adjusted.leftover[number, :count])
    alike = together > _SAME_CHECK * np.sqrt(share[number] * np.maximum(share, _LEAST_CHECKED))
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
