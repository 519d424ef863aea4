"""A place from tapes: two or three distances from known corners, by least squares, with both answers where there are two."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from math import hypot, inf, sqrt

import numpy as np
from numpy.typing import NDArray

Place = NDArray[np.float64]

_ROUNDS = 50
_SAME_M = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class TapeFix:
    """One place where tapes meet.

    Attributes
    ----------
    misfit_m : float
        The largest difference [m] between a tape and the distance to this place.
    weakness : float
        Error of the place in its worst direction over the error of one tape: 1 for two tapes that cross squarely.
    """

    x: float
    y: float
    misfit_m: float
    weakness: float


def tape_fixes(corners: Sequence[tuple[float, float]], tapes_m: Sequence[float]) -> list[TapeFix]:
    """Places where the tapes meet, the best first: two, mirrored, from two corners or from corners in one line, else one.

    Parameters
    ----------
    corners : sequence of (x, y)
        Two or three, no two alike, ground metres.
    tapes_m : sequence of float
        Level distances [m], as many.

    Returns
    -------
    list of TapeFix
        One or two. A fix that does not fit is told by its misfit, never left out.

    Examples
    --------
    Tapes of 3 and 4 m that cross squarely, from corners 5 m apart.

    >>> [(round(fix.x, 6), round(fix.y, 6), round(fix.weakness, 3)) for fix in tape_fixes([(0, 0), (5, 0)], [3, 4])]
    [(1.8, 2.4, 1.0), (1.8, -2.4, 1.0)]
    """
    known, tapes = np.array(corners, dtype=float), np.array(tapes_m, dtype=float)
    starts = [
        side for n in range(1, len(known)) for side in _crossings(known[0], tapes[0], known[n], tapes[n])
    ]
    found: list[TapeFix] = []
    for start in starts:
        fix = _settled(known, tapes, start)
        if all(hypot(fix.x - other.x, fix.y - other.y) > _SAME_M for other in found):
            found.append(fix)
    return sorted(found, key=lambda fix: fix.misfit_m)[:2]


def spread_m(
    corners: Sequence[tuple[float, float]], tapes_m: Sequence[float], fix: TapeFix, error_m: float
) -> float:
    """How far a place may lie from a fix if each tape is wrong by the error either way: for tapes too flat for ``weakness``.

    Two tapes of 50 m from corners 99.9 m apart meet sqrt(50^2 - 49.95^2) m off the line between the corners, and 0.1 m shorter
    not at all: then nothing tells the place from one on that line.

    >>> corners, tapes = [(0, 0), (99.9, 0)], [50, 50]
    >>> round(spread_m(corners, tapes, tape_fixes(corners, tapes)[0], 0.1), 1)
    2.2
    """
    found = []
    for signs in product((-1, 1), repeat=len(tapes_m)):
        tapes = [max(tape_m + sign * error_m, _SAME_M) for tape_m, sign in zip(tapes_m, signs, strict=True)]
        found.append(min(hypot(each.x - fix.x, each.y - fix.y) for each in tape_fixes(corners, tapes)))
    return max(found)


def _crossings(a: Place, a_m: float, b: Place, b_m: float) -> list[Place]:
    """Both crossings of two circles; where they do not meet, the one place halfway between them."""
    apart_m = float(np.hypot(*(b - a)))
    along = (b - a) / apart_m
    foot_m = (a_m**2 - b_m**2 + apart_m**2) / (2 * apart_m)
    squared = a_m**2 - foot_m**2
    if squared <= 0:
        ahead_m = a_m if a_m + apart_m > b_m else -a_m
        theirs_m = apart_m + b_m if a_m > apart_m + b_m else apart_m - b_m
        return [a + along * (ahead_m + theirs_m) / 2]
    across = np.array([-along[1], along[0]]) * sqrt(squared)
    return [a + along * foot_m + across, a + along * foot_m - across]


def _settled(known: Place, tapes: Place, start: Place) -> TapeFix:
    """Least squares of the tapes from a start near the answer (Gauss-Newton)."""
    place = start
    if len(known) > 2:
        for _ in range(_ROUNDS):
            away = place - known
            lengths = np.maximum(np.hypot(*away.T), _SAME_M)
            step = np.linalg.lstsq(away / lengths[:, None], tapes - lengths, rcond=1e-6)[0]
            place = place + step
            if np.hypot(*step) < 1e-9:
                break
    away = place - known
    lengths = np.hypot(*away.T)
    units = away / np.maximum(lengths, _SAME_M)[:, None]
    least = float(np.linalg.eigvalsh(units.T @ units)[0])
    return TapeFix(
        x=float(place[0]),
        y=float(place[1]),
        misfit_m=float(np.max(np.abs(lengths - tapes))),
        weakness=1 / sqrt(least) if least > 1e-4 else inf,
    )
