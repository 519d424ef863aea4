"""A finding: one requirement, one measurement, one verdict. Always a value, never an exception."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from siteplan.rules.citation import Citation

Verdict = Literal["short", "needs approval", "too close to call", "not checked", "clear", "not applicable"]

WORST_FIRST: tuple[Verdict, ...] = (
    "short",
    "needs approval",
    "too close to call",
    "not checked",
    "clear",
    "not applicable",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Prospect:
    """What one more measurement is likely to say.

    Attributes
    ----------
    measurement : str
        A measurement of ``layers/measurements.toml``.
    clear, short : float
        Chance that the distance then is clear of the limit that makes the call a close one, and that it is short of it; what is
        left is the chance that it is still too close to call.
    """

    measurement: str
    clear: float
    short: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One line of the review.

    Attributes
    ----------
    number : int
        As printed on the sheets and on the map, worst first.
    topic : str
        setback, cover, separation, crossing, bend, roots, unlooked, wellhead.
    what : str
        "well to absorption area", in words.
    subject, to : str
        Ids of the two things (``to`` may be ``""``).
    verdict : Verdict
    required_m : float or None
    required_text : str
        In the rule's own unit ("100 ft", "15 m", "360 deg").
    measured_m : float or None
        For bends: degrees, with ``unit`` "deg".
    error_m : float or None
        One-sided error band at ``confidence``, on the side of the requirement.
    margin_m : float or None
        ``measured - required``.
    unit : {"m", "deg"}
    method : str
        How both ends are known, in words ("taped / from a record drawing, edge 3 ft").
    points : tuple of two (x, y) or ()
        The two points measured between, ground metres.
    reach, from_m, to_m : str, float or None, float or None
        For findings along a line: the reach and the stretch of it [m].
    chance : float or None
        Probability that the true value is at least the required one, as far as it was judged with an error.
    settle : str
        The cheapest measurement that would settle a close call, how good it must be and how likely it does; ``""`` otherwise.
    prospect : Prospect or None
        The same in numbers; ``None`` where nothing is to be measured or no measurement is likely to settle it.
    because : tuple of str
        Conditions that held, missing facts and both answers, notes.
    """

    number: int = 0
    topic: Literal["setback", "cover", "separation", "crossing", "bend", "roots", "unlooked", "wellhead"]
    what: str
    subject: str
    to: str = ""
    verdict: Verdict
    required_m: float | None = None
    required_text: str = ""
    measured_m: float | None = None
    error_m: float | None = None
    margin_m: float | None = None
    unit: Literal["m", "deg"] = "m"
    method: str = ""
    points: tuple[tuple[float, float], ...] = ()
    reach: str = ""
    from_m: float | None = None
    to_m: float | None = None
    chance: float | None = None
    settle: str = ""
    prospect: Prospect | None = None
    because: tuple[str, ...] = ()
    confidence: float = 0.95
    citation: Citation | None = None
