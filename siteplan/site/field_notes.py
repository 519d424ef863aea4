"""What a tape and a compass gave on the site, as it was written down, and the things that are known by taped points alone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal, TypeAlias

from siteplan.site.features import Source

Hand: TypeAlias = Literal["left", "right"]
"""A side, as seen from one point looking towards another."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measurement:
    """One row of the field notes: a point measured from another.

    Attributes
    ----------
    point, start : str
        What was measured, and from where.
    towards : str or None
        What the tape or the eye was directed at: the far end of a baseline, or that which ``side`` is told by.
    distance_m : float or None
        Level distance from ``start`` to ``point`` [m], a slope tape reduced.
    reduced : bool
        Whether it was taped on a slope that the notes state.
    along_m, offset_m : float or None
        Along the baseline from ``start``, and to its left (right: negative) [m].
    bearing_deg : float or None
        From ``start`` to ``point`` [0 to 360 deg clockwise from true north].
    turn : {"left", "right"} or None
        A wall that leaves the one before it, which ended at ``start``, square to this hand.
    before : str or None
        Where that wall before it began.
    side : {"left", "right"} or None
        On which side of the line from ``start`` to ``towards`` the point lies.
    error_m : float
        What a distance may be out by [m], 95 %, either way.
    bearing_error_deg : float
        The same for the bearing [deg].
    """

    point: str
    start: str
    towards: str | None = None
    distance_m: float | None = None
    reduced: bool = False
    along_m: float | None = None
    offset_m: float | None = None
    bearing_deg: float | None = None
    turn: Hand | None = None
    before: str | None = None
    side: Hand | None = None
    error_m: float
    bearing_error_deg: float
    method: str
    outing: str | None = None
    note: str = ""
    source: Source

    @property
    def what(self) -> str:
        """The measurement in words: "Well casing from House NE"."""
        return f"{self.point} from {self.start}"


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldNotes:
    """All measurements of a site, and which points its things have.

    Attributes
    ----------
    measurements : tuple of Measurement
    by_points : mapping of str to tuple of str
        By id of a feature without coordinates of its own: the names of its points, in order.
    """

    measurements: tuple[Measurement, ...] = ()
    by_points: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
