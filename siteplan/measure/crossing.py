"""A crossing: where the trench meets something that is there already, and how its depth is known."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from siteplan.site.marks import HOLDS_M


@dataclass(frozen=True, slots=True, kw_only=True)
class HoleNear:
    """A test hole on the line that is crossed.

    Attributes
    ----------
    hole : str
        Its id.
    away_m : float
        From the crossing along the line [m].
    depth_m, size_m : float or None
        Ground to the top of the line, and its size [m], as measured in the hole.
    error_m : float
        Error of that depth at the crossing [m, 95 %]: of the tape, and what the line may fall between.
    dug_m : float or None
        How deep it was dug where nothing was found [m].
    date : str
        2026-11-30, or ``""``.
    """

    hole: str
    away_m: float
    found: bool
    depth_m: float | None
    error_m: float
    size_m: float | None = None
    dug_m: float | None = None
    date: str = ""

    @property
    def holds(self) -> bool:
        """Was the line seen near enough to know its depth at the crossing."""
        return self.found and self.away_m <= HOLDS_M

    @property
    def in_vain(self) -> bool:
        """Was nothing found at the crossing: then what somebody stated of the line there is in doubt."""
        return not self.found and self.away_m <= HOLDS_M


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossing:
    """Where the trench crosses something that is there already.

    Attributes
    ----------
    number : int
        Number in the register, from 1.
    feature : str
        Id of the line crossed.
    angle_deg : float
        Angle between the trench and the line, 0 to 90.
    their_depth_m : float or None
        Depth of its top [m] if seen or stated; ``None``: unknown until a test hole shows it.
    ours : str
        Id of our line with the least to spare there (clear less required).
    over : bool or None
        Do we pass over (True) or under (False); ``None`` while their depth is unknown.
    clear_m : float or None
        Clear vertical distance [m] left, edge to edge.
    required_m : float or None
        Clear distance [m] that the rules ask; ``None``: the rules are silent.
    hand_from_m, hand_to_m : float
        Hand-dig interval along the reach [m].
    holes : tuple of HoleNear
        Test holes on that line, the nearest first.
    """

    number: int
    reach: str
    distance_m: float
    x: float
    y: float
    feature: str
    angle_deg: float
    their_depth_m: float | None
    ours: str
    over: bool | None
    clear_m: float | None
    required_m: float | None
    hand_from_m: float
    hand_to_m: float
    holes: tuple[HoleNear, ...] = ()

    @property
    def seen(self) -> HoleNear | None:
        """The test hole by which the depth is known here."""
        return next((hole for hole in self.holes if hole.holds), None)

    @property
    def depth_known(self) -> Literal["seen", "stated", "unknown"]:
        """How their depth is known: seen in a test hole, stated by somebody, or not at all."""
        if self.seen:
            return "seen"
        return "unknown" if self.their_depth_m is None else "stated"
