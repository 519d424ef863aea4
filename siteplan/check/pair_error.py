"""The error of one distance: from the tape net where both ends are in it, else from how each end is known."""

from __future__ import annotations

import math
from dataclasses import dataclass

from siteplan.site.evidence import (
    R95_PER_SIGMA,
    Evidence,
    edges_sigma_m,
    position_sigma_m,
)
from siteplan.site.net import Net

XY = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class PairError:
    """Errors of a distance between two things, as standard deviations.

    Attributes
    ----------
    position_m : float
        Of where one thing lies from the other [m], each axis.
    edges_m : float
        Of the fuzzy edges [m], along the distance.
    corners_m : (float, float)
        What each corner of the first thing, and of the second, may be out by on its own [m], each axis: a part of
        ``position_m``. Zero for a thing that moves as one.
    """

    position_m: float
    edges_m: float = 0.0
    corners_m: tuple[float, float] = (0.0, 0.0)

    @property
    def sigma_m(self) -> float:
        """Standard deviation [m] of the distance, first order: it is long against the errors, and meets one straight edge."""
        return math.hypot(self.position_m, self.edges_m)


def pair_error(
    a: Evidence,
    b: Evidence,
    net: Net | None = None,
    ids: tuple[str, str] = ("", ""),
    points: tuple[XY, ...] = (),
) -> PairError:
    """Error of the distance between two things.

    Parameters
    ----------
    a, b : Evidence
        How each is known.
    net : Net, optional
        The tape net. Where it holds both things, its joint covariance counts for the positions.
    ids : (str, str)
        Of the two things.
    points : ((x, y), (x, y))
        The two places measured between, ground metres.

    Examples
    --------
    Two phone fixes of 16 ft (4.88 m) each, from two walks.

    >>> one, two = (Evidence(method="phone", shared_m=4.88, outing=o) for o in ("mon", "tue"))
    >>> round(pair_error(one, two).sigma_m, 2)
    2.82
    """
    edges_m = edges_sigma_m(a, b)
    taped_m = net.sigma_m(ids[0], points[0], ids[1], points[1]) if net else None
    if taped_m is not None:
        return PairError(position_m=taped_m, edges_m=edges_m)
    corners_m = (a.private_m / R95_PER_SIGMA, b.private_m / R95_PER_SIGMA)
    return PairError(position_m=position_sigma_m(a, b), edges_m=edges_m, corners_m=corners_m)
