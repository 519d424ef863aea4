"""Dirt: volumes of a trench and of the pits along it, and the spoil pile. Depth varies in straight lines between sections."""

from __future__ import annotations

from math import radians, sqrt, tan

from siteplan.measure.model import Section, Volumes
from siteplan.site.catalogue import Soil

HALF_BELL_HOLE_M = 0.762
"""Half the length [m] of a bell-hole: 2.5 ft along the trench. Common practice, no source."""

END_PIT_LONG_M = 1.2192
"""Length [m] of the pit at a wall, a hydrant or the end of a bore, along the trench: 4 ft. Common practice, no source."""

_BELL_HOLE_M = (1.2192, 1.524, 0.3)
_END_PIT_M = (0.9144, END_PIT_LONG_M, 0.0)


def trench_area_m2(cut_m: float, width_m: float, side_slope: float) -> float:
    """Area [m2] of a trench section with a level bottom: ``cut * (width + slope * cut)``.

    >>> trench_area_m2(2.0, 1.0, 0.5)
    4.0
    """
    return cut_m * (width_m + side_slope * cut_m)


def prismoidal_m3(length_m: float, first_m2: float, middle_m2: float, last_m2: float) -> float:
    """Volume [m3] by the prismoidal formula: exact where the area is a quadratic of the distance.

    A pyramid of base 30 and height 100:

    >>> prismoidal_m3(100, 30, 7.5, 0)
    1000.0
    """
    return length_m * (first_m2 + 4 * middle_m2 + last_m2) / 6


def trench_m3(
    length_m: float, width_m: float, side_slope: float, first_cut_m: float, last_cut_m: float
) -> float:
    """Bank volume [m3] of a trench whose cut varies in a straight line from one end to the other; exact.

    Parameters
    ----------
    length_m : float
        On the map, not along the slope: the cut is plumb.
    width_m : float
        Of the bottom.
    side_slope : float
        Horizontal run for 1 of depth, each side.
    """
    areas = (
        trench_area_m2(cut_m, width_m, side_slope)
        for cut_m in (first_cut_m, (first_cut_m + last_cut_m) / 2, last_cut_m)
    )
    return prismoidal_m3(length_m, *areas)


def loose_m3(bank_m3: float, soil: Soil) -> float:
    """Volume in the pile [m3]."""
    return bank_m3 * (1 + soil.swell)


def compacted_m3(bank_m3: float, soil: Soil) -> float:
    """Volume after compaction [m3]."""
    return bank_m3 * (1 - soil.shrink)


def totals(
    *,
    by_reach: tuple[tuple[str, float], ...],
    extras: tuple[tuple[str, float], ...],
    bedding_m3: float,
    lines_m3: float,
    soil: Soil,
) -> Volumes:
    """Add up the dig.

    The hole less bedding and lines is filled again. Earth goes back to the volume it had in the bank; rock takes more
    (its ``shrink`` is negative), so more of it stays over. Where a ditch overlaps another at a tee it is counted twice,
    which is under 1 % of a run.
    """
    bank_m3 = sum(volume for _, volume in (*by_reach, *extras))
    displaced_m3 = bedding_m3 + lines_m3
    backfill_m3 = (bank_m3 - displaced_m3) / max(1.0, compacted_m3(1.0, soil))
    return Volumes(
        bank_m3=bank_m3,
        loose_m3=loose_m3(bank_m3, soil),
        bedding_m3=bedding_m3,
        displaced_m3=displaced_m3,
        backfill_bank_m3=backfill_m3,
        haul_off_m3=loose_m3(bank_m3 - backfill_m3, soil),
        extras=extras,
        by_reach=by_reach,
    )


def bell_hole_depth_m(section: Section) -> float:
    """Depth [m] of the bell-hole at a casing: 0.3 m under the trench bottom. Common practice, no source."""
    return section.cut_m + _BELL_HOLE_M[2]


def bell_hole_m3(section: Section) -> float:
    """Bank volume [m3] of a bell-hole of 4 ft by 5 ft, beyond the trench that runs out of its middle.

    Its walls stand like those of the trench. Size: common practice, no source.
    """
    width_m, length_m, _ = _BELL_HOLE_M
    return _pit_m3(width_m, length_m, bell_hole_depth_m(section), section, HALF_BELL_HOLE_M)


def end_pit_m3(section: Section) -> float:
    """Bank volume [m3] of the pit of 3 ft by 4 ft at a wall, a hydrant or the end of a bore, beyond the trench.

    Size: common practice, no source.
    """
    width_m, length_m, _ = _END_PIT_M
    return _pit_m3(width_m, length_m, section.cut_m, section, length_m)


def _pit_m3(width_m: float, length_m: float, depth_m: float, section: Section, in_trench_m: float) -> float:
    areas = [
        (width_m + 2 * section.side_slope * up_m) * (length_m + 2 * section.side_slope * up_m)
        for up_m in (0.0, depth_m / 2, depth_m)
    ]
    trench_m2 = trench_area_m2(section.cut_m, section.width_m, section.side_slope)
    return max(prismoidal_m3(depth_m, *areas) - in_trench_m * trench_m2, 0.0)


def pile(loose_m2: float, soil: Soil) -> tuple[float, float]:
    """Height and width [m] of a spoil pile of triangular section that stands at the angle of repose.

    Parameters
    ----------
    loose_m2 : float
        Loose section of what is dug [m2].

    Examples
    --------
    A ditch 2 ft wide and 5 ft deep in earth that swells by a quarter throws up a pile about 3 ft high and 8 1/2 ft wide.

    >>> from siteplan.site.catalogue import soils
    >>> height_m, width_m = pile(10 * 0.3048**2 * 1.25, soils()["common_earth"])
    >>> round(height_m / 0.3048, 1), round(width_m / 0.3048, 1)
    (3.0, 8.5)
    """
    rise = tan(radians(soil.repose_deg))
    return sqrt(loose_m2 * rise), 2 * sqrt(loose_m2 / rise)
