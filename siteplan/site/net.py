"""A tape net as solved: where each named point lies, how surely, and how well each measurement fits."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import atan2, degrees, sqrt
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from siteplan.site.evidence import R95_PER_SIGMA
from siteplan.site.features import Source

Floats: TypeAlias = NDArray[np.float64]
XY: TypeAlias = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class ErrorEllipse:
    """Where a point may lie, at 95 %.

    Attributes
    ----------
    major_m, minor_m : float
        Semi-axes [m] of the ellipse that holds 95 %.
    bearing_deg : float
        Direction of the long axis [0 to 180 deg from the +y axis, clockwise].
    radius_m : float
        Radius [m] of the circle that holds 95 %.
    """

    major_m: float
    minor_m: float
    bearing_deg: float
    radius_m: float


def error_ellipse(covariance: Floats) -> ErrorEllipse:
    """Error ellipse of a point from its covariance, shape (2, 2), m2.

    The circle is the polynomial of Leenhouts (1985), from memory: within 0.2 % of the exact one (tested against quadrature).

    >>> ellipse = error_ellipse(np.diag([0.04, 0.01]))
    >>> round(ellipse.major_m, 3), round(ellipse.minor_m, 3), round(ellipse.bearing_deg), round(ellipse.radius_m, 3)
    (0.49, 0.245, 90, 0.408)
    """
    (small, large), axes = np.linalg.eigh(covariance)
    minor, major = sqrt(max(small, 0.0)), sqrt(max(large, 0.0))
    flat = minor / major if major else 1.0
    bearing_deg = degrees(atan2(axes[0, 1], axes[1, 1])) % 180
    return ErrorEllipse(
        major_m=R95_PER_SIGMA * major,
        minor_m=R95_PER_SIGMA * minor,
        bearing_deg=bearing_deg,
        radius_m=major * (1.960790 + 0.004071 * flat + 0.114276 * flat**2 + 0.371625 * flat**3),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class NetPoint:
    """One point of the net.

    Attributes
    ----------
    name : str
        As the measurements name it ("House NE", "Well casing", "H1").
    x, y : float
        Where it lies [m], in the coordinates of the placed site.
    ellipse : ErrorEllipse
        Against what the net hangs on: coordinates without the shift that their outing shares, or where they do not tell its
        direction the taped line that it is laid out from.
    taped : bool
        Measured to or from; False for the other corners of the same thing.
    """

    name: str
    x: float
    y: float
    ellipse: ErrorEllipse
    taped: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Misfit:
    """How one measurement fits the others.

    Attributes
    ----------
    what : str
        "Well casing from House NE", as it prints.
    point : str
        The point that was measured.
    unit : {"m", "deg"}
        What ``measured``, ``misfit``, ``error`` and ``without`` are in.
    measured : float
        As measured, reduced to the horizontal; degrees from true north for a bearing.
    misfit : float
        Measured less what the solved places give.
    error : float
        What it may be out by (95 %, either way).
    standardised : float
        Misfit over its own standard deviation; past 3 the errors do not explain it. 0 where nothing checks it.
    without : float or None
        Measured less what all others give without it; ``None`` where nothing checks it.
    alike : tuple of str
        Other measurements that would explain the same disagreement as well: it cannot be told which of them is wrong.
    """

    what: str
    point: str
    unit: str
    measured: float
    misfit: float
    error: float
    standardised: float
    without: float | None
    alike: tuple[str, ...] = ()
    method: str
    outing: str | None = None
    note: str = ""
    source: Source


@dataclass(frozen=True, slots=True, kw_only=True)
class NetWarning:
    """Something about the measurements that wants another look, where it stands, in words that print."""

    text: str
    source: Source


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift:
    """How far the net moved the coordinates of one outing as a whole: their shared error, as far as it shows.

    Attributes
    ----------
    east_m, north_m : float
        Added to every position of the outing [m].
    """

    outing: str
    east_m: float
    north_m: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Net:
    """Named points solved together by weighted least squares.

    Attributes
    ----------
    points : tuple of NetPoint
    covariance : array, shape (2 n, 2 n)
        Joint covariance [m2] of the points, as x, y, x, y ... in their order.
    chains : mapping of str to tuple of tuple of int
        By id of a feature: its corners as numbers of points, in the order of its outlines; a closed outline ends as it begins.
    misfits : tuple of Misfit
        Of each measurement, in the order of the files.
    warnings : tuple of NetWarning
    shifts : tuple of Shift
        Of the outings whose coordinates took part.
    """

    points: tuple[NetPoint, ...]
    covariance: Floats
    chains: Mapping[str, tuple[tuple[int, ...], ...]]
    misfits: tuple[Misfit, ...] = ()
    warnings: tuple[NetWarning, ...] = ()
    shifts: tuple[Shift, ...] = ()

    @property
    def worst(self) -> Misfit | None:
        """The measurement that fits least; among those that cannot be told apart the one with the largest misfit."""
        checked = [each for each in self.misfits if each.without is not None]
        return max(
            checked, key=lambda each: (round(abs(each.standardised), 6), abs(each.misfit)), default=None
        )

    def sigma_m(self, feature_a: str, xy_a: XY, feature_b: str, xy_b: XY) -> float | None:
        """Standard deviation [m] of the distance between two places on two features, along the line that joins them.

        Parameters
        ----------
        feature_a, feature_b : str
            Ids.
        xy_a, xy_b : (float, float)
            Places on them in the placed site [m]; a place on an edge moves with its two corners in proportion.

        Returns
        -------
        float or None
            From the joint covariance, first order. Fuzzy edges (``Evidence.edge_m``) are not in it. None if one of the
            features is not in the net. Where the two places are one, the largest in any direction.
        """
        if feature_a not in self.chains or feature_b not in self.chains:
            return None
        weights = np.zeros(len(self.points))
        for feature, xy, sign in ((feature_a, xy_a, -1.0), (feature_b, xy_b, 1.0)):
            for point, share in self._shares(feature, xy):
                weights[point] += sign * share
        apart = np.array(xy_b) - np.array(xy_a)
        joint = np.kron(weights, np.eye(2))
        relative = joint @ self.covariance @ joint.T
        length = float(np.hypot(*apart))
        if length == 0.0:
            return sqrt(max(float(np.linalg.eigvalsh(relative)[-1]), 0.0))
        along = apart / length
        return sqrt(max(float(along @ relative @ along), 0.0))

    def _shares(self, feature: str, xy: XY) -> tuple[tuple[int, float], ...]:
        """Corners of a feature that a place on it moves with, and in which proportion."""
        best: tuple[float, tuple[tuple[int, float], ...]] = (float("inf"), ())
        for chain in self.chains[feature]:
            for a, b in zip(chain, chain[1:] or chain, strict=False):
                start = np.array((self.points[a].x, self.points[a].y))
                edge = np.array((self.points[b].x, self.points[b].y)) - start
                long = float(edge @ edge)
                t = min(max(float((np.array(xy) - start) @ edge) / long, 0.0), 1.0) if long else 0.0
                off = float(np.hypot(*(start + t * edge - np.array(xy))))
                if off < best[0]:
                    best = off, ((a, 1.0 - t), (b, t))
        return best[1]
