"""For how long the ground is open: a range of working days, from the length to dig. For scale only, until the contractor says."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from siteplan.measure.along import joined, without
from siteplan.measure.model import Works
from siteplan.route.model import Layout
from siteplan.units import FOOT_M

MACHINE_M_PER_H = (40 * FOOT_M, 100 * FOOT_M)
"""Trench that an excavator digs in an hour [m], slow and fast: a third to a quarter of the 150-300 ft of a chain trencher
(https://www.equipmentworld.com/maintenance/maintenance/article/14943947/side-by-side-trenchers-vs-compact-excavators)."""

HAND_M_PER_H = (3 * FOOT_M, 8 * FOOT_M)
"""Trench that two people dig by hand in an hour [m]. Common practice, no source."""

BORE_DAYS = (0.5, 1.0)
"""Days for one bore with its pits. Common practice, no source."""

CLOSING_DAYS = (1.0, 3.0)
"""Days to lay, test, show it to the inspectors and fill. Common practice, no source; waiting for an inspector is most of it."""

HAND_DIG = "hand dig"
"""How an interval that is dug by hand begins."""

HOURS_A_DAY = 6.0
"""Hours of digging in a working day. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class OpenDays:
    """Working days from the first bucket to the last of the fill, few and many."""

    few: int
    many: int


def open_days(machine_m: float, hand_m: float, bores: int) -> OpenDays:
    """Return for how many working days the ground is open.

    Parameters
    ----------
    machine_m, hand_m : float
        Length dug by machine and by hand [m], 0 or more.
    bores : int

    Examples
    --------
    300 ft by machine and 20 ft by hand: 3 h and 2.5 h at best, 7.5 h and 6.7 h at worst, then a day to three to close it.

    >>> open_days(300 * FOOT_M, 20 * FOOT_M, 0)
    OpenDays(few=2, many=6)
    """
    fast, slow = ((machine_m / MACHINE_M_PER_H[n] + hand_m / HAND_M_PER_H[n]) / HOURS_A_DAY for n in (1, 0))
    return OpenDays(
        ceil(fast + bores * BORE_DAYS[0] + CLOSING_DAYS[0] - 1e-9),
        ceil(slow + bores * BORE_DAYS[1] + CLOSING_DAYS[1] - 1e-9),
    )


def days_of(layout: Layout, works: Works) -> OpenDays:
    """Return for how many working days the trenches of a plan are open; what is bored is neither dug by machine nor by hand."""
    machine_m = hand_m = 0.0
    for reach in layout.reaches:
        by_hand = joined(
            (each.from_m, each.to_m)
            for each in works.intervals
            if each.reach == reach.name and each.what.startswith(HAND_DIG)
        )
        bored = [(each.from_m, each.to_m) for each in reach.bored]
        dug_by_hand = sum(end - begin for begin, end in without(by_hand, bored))
        dug = sum(end - begin for begin, end in without([(0.0, reach.length_m)], bored))
        hand_m += dug_by_hand
        machine_m += dug - dug_by_hand
    return open_days(machine_m, hand_m, sum(len(reach.bored) for reach in layout.reaches))
