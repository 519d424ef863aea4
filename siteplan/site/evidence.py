"""How a position is known, and how far it may be from the truth.

Every position has a method and an error. Positions taken in one *outing* (one walk with a phone, one air photo) share one
shift, which cancels between them; between outings the shifts are independent. A fuzzy edge (a drainfield known from an
old drawing) has a width of its own.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

R95_PER_SIGMA = 2.4477
"""Radius that holds 95 % of a circular normal error, over its sigma per axis: sqrt(-2 ln 0.05). FGDC-STD-007.3-1998."""

Z95_ONE_SIDED = 1.6449
"""One-sided 95 % point of the normal distribution (standard table)."""

Z95_TWO_SIDED = 1.9600
"""Half-width that holds 95 % of a normal error either way, over its sigma. FGDC-STD-007.3-1998 (vertical)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """How one position was measured.

    Attributes
    ----------
    method : str
        A method of ``layers/methods.toml``: surveyed, taped, rtk, phone, traced, record, owner_says ...
    shared_m : float
        Radius [m] that holds 95 % of the shift shared by all positions of the outing.
    private_m : float
        Radius [m] that holds 95 % of the error of this position alone.
    edge_m : float
        Half-width [m] of a fuzzy edge, at one-sided 95 %.
    outing : str or None
        Name of the outing; ``None`` means an outing of its own.
    zone_m : float
        How far a line may lie from its paint [m], taken at one-sided 95 %: the tolerance zone of the locate rules. Part of every
        distance, and no part of the hand-dig stretch, which is that zone itself.
    """

    method: str
    shared_m: float = 0.0
    private_m: float = 0.0
    edge_m: float = 0.0
    outing: str | None = None
    zone_m: float = 0.0

    @property
    def radius_m(self) -> float:
        """Radius [m] that holds 95 % of the whole position error, without the edge and the zone about paint."""
        return math.hypot(self.shared_m, self.private_m)


def pair_sigma_m(a: Evidence, b: Evidence) -> float:
    """Standard deviation [m] of a distance between two positions, along the line that joins them.

    Parameters
    ----------
    a, b : Evidence
        The two positions. The shared part cancels if both belong to one named outing.

    Returns
    -------
    float
        Sigma of the distance [m], first order (the distance is long against the errors).

    Examples
    --------
    Two phone fixes of 16 ft (4.88 m) each, from two walks: 2.82 m.

    >>> one, two = (Evidence(method="phone", shared_m=4.88, outing=o) for o in ("mon", "tue"))
    >>> round(pair_sigma_m(one, two), 2)
    2.82
    >>> pair_sigma_m(one, one)
    0.0
    """
    return math.hypot(position_sigma_m(a, b), edges_sigma_m(a, b))


def position_sigma_m(a: Evidence, b: Evidence) -> float:
    """Standard deviation [m], each axis, of where one position lies from the other; the fuzzy edges are not in it."""
    radii = [a.private_m, b.private_m] + ([] if together(a, b) else [a.shared_m, b.shared_m])
    return math.hypot(*radii) / R95_PER_SIGMA


def edges_sigma_m(a: Evidence, b: Evidence) -> float:
    """Standard deviation [m] of a distance for the fuzzy edges, and the zones about paint, at its two ends alone."""
    return math.hypot(a.edge_m, b.edge_m, a.zone_m, b.zone_m) / Z95_ONE_SIDED


def together(a: Evidence, b: Evidence) -> bool:
    """Whether both were taken in one named outing, so that what they share cancels."""
    return a.outing is not None and a.outing == b.outing


def one_sided_m(sigma_m: float, confidence: float) -> float:
    """Error band [m] on one side of a distance, at the stated confidence (0.5 <= confidence < 1).

    >>> round(one_sided_m(1.0, 0.95), 4)
    1.6449
    """
    from statistics import NormalDist

    return sigma_m * NormalDist().inv_cdf(confidence)
