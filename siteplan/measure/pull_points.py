"""Pull points: where a conduit is opened so that no wire is pulled round more bends than may be.

A pull point is set at a bend and takes its place: the conduits enter it straight from either side, so that the bend counts
for neither pull (common practice, no source). Each end of the conduit has its riser, which turns up once.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate

from siteplan.route.model import LinePath

_NEAR_DEG = 1e-9
_NEAR_M = 1e-6


def pull_points(bends_deg: Sequence[float], limit_deg: float, *, riser_deg: float) -> tuple[int, ...]:
    """Find the fewest bends at which to set pull points, and among those the ones that make the pulls most even.

    Parameters
    ----------
    bends_deg : sequence of float
        Deflection of each bend [deg] along one conduit; the sign does not matter.
    limit_deg : float
        Largest sum of one pull [deg].
    riser_deg : float
        What each end adds [deg].

    Returns
    -------
    tuple of int
        Numbers of the bends, from 0, in order. Of all sets of the least number the one whose largest pull is least, the
        earliest of these. Empty if none is needed, and if none helps.

    Examples
    --------
    Five quarter bends and two risers are 630 degrees; with the middle bend in a pull point either pull has 270.

    >>> pull_points([90, -90, 90, -90, 90], 360, riser_deg=90)
    (2,)
    >>> pull_points([90, 90], 360, riser_deg=90)
    ()
    """
    summed = list(accumulate((abs(bend) for bend in bends_deg), initial=0.0))
    count = len(bends_deg)

    def pull_deg(after: int, before: int) -> float:
        """Sum of the pull between two bends, -1 and the count being the ends."""
        risers_deg = riser_deg * ((after < 0) + (before == count))
        return summed[before] - summed[after + 1] + risers_deg

    if pull_deg(-1, count) <= limit_deg + _NEAR_DEG:
        return ()
    # by the last bend chosen: the largest pull up to there, and the bends chosen
    reached: dict[int, tuple[float, tuple[int, ...]]] = {at: (pull_deg(-1, at), (at,)) for at in range(count)}
    for _ in range(count):
        done = [(max(most, pull_deg(at, count)), chosen) for at, (most, chosen) in reached.items()]
        if done and min(done)[0] <= limit_deg + _NEAR_DEG:
            return min(done)[1]
        reached = {
            at: min(
                (max(most, pull_deg(last, at)), (*chosen, at))
                for last, (most, chosen) in reached.items()
                if last < at
            )
            for at in range(count)
            if any(last < at for last in reached)
        }
    return ()


def on_reach(path: LinePath, distance_m: float) -> tuple[str, float]:
    """Return the reach, and the distance [m] along it, at a distance [m] along the way of a line."""
    gone_m = 0.0
    for name, from_m, to_m in path.legs:
        leg_m = abs(to_m - from_m)
        if distance_m <= gone_m + leg_m + _NEAR_M:
            along_m = min(distance_m - gone_m, leg_m)
            return name, from_m + along_m if to_m >= from_m else from_m - along_m
        gone_m += leg_m
    name, _, to_m = path.legs[-1]
    return name, to_m
