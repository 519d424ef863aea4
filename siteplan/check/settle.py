"""The cheapest measurement that settles a close call, and how likely it does.

Today the margin is ``m`` with a standard deviation ``s``. A measurement that leaves ``s'`` will give a margin that is normal
about ``m`` with the variance ``s^2 - s'^2``: what is not known now, less what will still not be known then. So the chance that it
comes out clear, short or still too close is known before anybody unrolls the tape (preposterior analysis).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from statistics import NormalDist

from siteplan.check.finding import Prospect, Verdict
from siteplan.check.pair_error import PairError
from siteplan.site.catalogue import measurements
from siteplan.site.evidence import R95_PER_SIGMA, Z95_ONE_SIDED, Evidence, together
from siteplan.site.measuring import Measurement
from siteplan.units import Printer

ON_THE_LIMIT_M = 0.03
"""A margin below this [m] no tape can tell from none: 0.1 ft, a steel tape at 50 ft (common practice, no source)."""

LIKELY = 0.8
"""The cheapest measurement this likely to settle the call is named; if none is, the likeliest."""

SURVEY_WITHIN_M = 0.3048
"""Near a line of the land a survey is the usual ask: one city's code says within 1 ft (Everett, EMC 19.39.070)."""

FROM_AFAR = ("phone", "phone_trees", "traced", "traced_web")
"""Methods that place a thing from the sky or from an air photo."""


@dataclass(frozen=True, slots=True, kw_only=True)
class End:
    """One end of a distance: its name, its kind (empty for a line to lay), and how it is known."""

    name: str
    kind: str
    evidence: Evidence


def prospect(
    margin_m: float, sigma_m: float, measurement: Measurement, after_m: float, confidence: float
) -> Prospect:
    """Chance that a measurement settles a margin.

    Parameters
    ----------
    margin_m, sigma_m : float
        The margin as known today [m], and its standard deviation [m], > 0.
    after_m : float
        Standard deviation [m] that the measurement leaves, 0 to ``sigma_m``.

    Examples
    --------
    1 ft to spare, known to 2 ft (sigma); a tape leaves 0.3 ft: it must then read 0.49 ft to spare to be clear.

    >>> tape = measurements()["tape"]
    >>> found = prospect(1.0, 2.0, tape, 0.3, 0.95)
    >>> round(found.clear, 3), round(found.short, 3)
    (0.601, 0.225)
    """
    told_m = math.sqrt(max(sigma_m**2 - after_m**2, 0.0))
    if told_m == 0.0:
        return Prospect(measurement=measurement.id, clear=0.0, short=0.0)
    band_m = after_m * NormalDist().inv_cdf(confidence)
    reading = NormalDist(margin_m, told_m)
    return Prospect(measurement=measurement.id, clear=1.0 - reading.cdf(band_m), short=reading.cdf(-band_m))


def settling(
    margin_m: float,
    error: PairError,
    ends: tuple[End, End],
    print_: Printer,
    confidence: float,
    outcomes: tuple[Verdict, Verdict] = ("clear", "short"),
) -> tuple[str, Prospect | None]:
    """Name the cheapest measurement that is likely to settle a close call, how good it must be, and its chances.

    Parameters
    ----------
    margin_m : float
        To the limit that makes the call a close one [m].
    error : PairError
        Of the distance as known today.
    outcomes : (verdict above the limit, verdict below it)

    Returns
    -------
    (str, Prospect or None)
        None where no measurement is likely to settle it, as on the limit itself.
    """
    found = []
    for measurement, one, after in _applicable(error, ends):
        chances = prospect(margin_m, error.sigma_m, measurement, after.sigma_m, confidence)
        found.append((chances.clear + chances.short, measurement, one, chances))
    found.sort(key=lambda each: (each[1].minutes, -each[0]))
    likely = next((each for each in found if each[0] >= LIKELY), None)
    a, b = (end.name for end in ends)
    need = f"good to {print_.length(abs(margin_m))} or better"
    if not found:
        return f"Measure {a} to {b}: {need}.", None
    if likely is None and abs(margin_m) < ON_THE_LIMIT_M:
        return (
            f"{a} to {b} stands on the limit: no tape settles it. Move one of them, or ask the authority.",
            None,
        )
    _, measurement, one, chances = likely or max(found, key=lambda each: each[0])
    what = measurement.words.format(a=a, b=b, one=one)
    return f"{what}: {need}. {_chances(chances, measurement, print_, outcomes)}", chances


def depth_settling(
    measurement: str, words: str, margin_m: float, error_m: float, rest_m: float, print_: Printer
) -> tuple[str, Prospect]:
    """Say how likely it is that a measurement of a depth settles it.

    Parameters
    ----------
    measurement : str
        Id in ``layers/measurements.toml``.
    words : str
        What to do; empty: as the table says.
    margin_m, error_m : float
        The margin [m] and its error band, one-sided at 95 %.
    rest_m : float
        What stays unknown beside what is measured [m], one-sided at 95 %.
    """
    how = measurements()[measurement]
    left_m = min(math.hypot(how.error_m, rest_m), error_m) / Z95_ONE_SIDED
    chances = prospect(margin_m, error_m / Z95_ONE_SIDED, how, left_m, 0.95)
    return f"{words or how.words + '.'} {_chances(chances, how, print_)}", chances


def _chances(
    chances: Prospect,
    measurement: Measurement,
    print_: Printer,
    outcomes: tuple[Verdict, Verdict] = ("clear", "short"),
) -> str:
    """Say what a measurement costs and how likely it comes out one way or the other."""
    above, below = (_percent(each) for each in (chances.clear, chances.short))
    return (
        f"Done to {print_.length(measurement.error_m)} ({measurement.takes}): "
        f"{above} chance that it comes out {outcomes[0]}, {below} {outcomes[1]}."
    )


def survey_advice(
    margin_m: float, error_m: float, verdict: Verdict, ends: tuple[End, End]
) -> tuple[str, ...]:
    """Say where a survey is the usual ask: near a line of the land, or with both ends known from afar and nothing proven."""
    land = [end.name for end in ends if end.kind in measurements()["survey"].kinds]
    if land and abs(margin_m) <= max(SURVEY_WITHIN_M, error_m):
        return (
            f"{land[0]} is within 1 ft of the distance, or within the error of it: a survey is the usual ask "
            "(within 1 ft one city asks for it: Everett, EMC 19.39.070)",
        )
    if verdict != "clear" and all(end.evidence.method in FROM_AFAR for end in ends):
        return (
            "both ends are known from the sky or from an air photo alone: measure them on the ground, or have them surveyed",
        )
    return ()


def _percent(share: float) -> str:
    percent = round(100.0 * share)
    if percent == 0:
        return "under 1 %"
    return "over 99 %" if percent == 100 else f"{percent} %"


def _applicable(error: PairError, ends: tuple[End, End]) -> Iterable[tuple[Measurement, str, PairError]]:
    """Measurements that these two things allow, the name of the end that each is about, and the error that it leaves."""
    for each in measurements().values():
        if each.measures == "depth" or any(end.kind in each.without for end in ends):
            continue
        fit = [
            end
            for end in ends
            if (not each.kinds or end.kind in each.kinds)
            and (not each.methods or end.evidence.method in each.methods)
            and (each.measures != "edge" or each.kinds or _width_m(end) > 0.0)
        ]
        if fit:
            about = max(fit, key=lambda end: (_width_m(end) * (each.measures == "edge"), _own_m(end, ends)))
            yield each, about.name, _after(each, error, ends, about)


def _width_m(end: End) -> float:
    """How far the edge of a thing may lie from where it is drawn [m], one-sided at 95 %."""
    return math.hypot(end.evidence.edge_m, end.evidence.zone_m)


def _own_m(end: End, ends: tuple[End, End]) -> float:
    """Standard deviation [m] of the place of one end, each axis, less what it shares with the other end."""
    evidence = end.evidence
    radius_m = evidence.private_m if together(*(each.evidence for each in ends)) else evidence.radius_m
    return radius_m / R95_PER_SIGMA


def _after(measurement: Measurement, error: PairError, ends: tuple[End, End], about: End) -> PairError:
    new_m = measurement.error_m / Z95_ONE_SIDED
    if measurement.measures == "all":
        return PairError(position_m=_both(error.sigma_m, new_m))
    if measurement.measures == "tie":
        own_m = min(_own_m(about, ends), error.position_m)
        rest_m = math.sqrt(error.position_m**2 - own_m**2)
        return PairError(position_m=math.hypot(rest_m, _both(own_m, new_m)), edges_m=error.edges_m)
    edges_m = error.edges_m
    if measurement.measures == "edge":
        found_m = _width_m(about) / Z95_ONE_SIDED
        rest_m = math.sqrt(max(error.edges_m**2 - found_m**2, 0.0))
        edges_m = math.hypot(rest_m, _both(found_m, new_m))
    return PairError(position_m=_both(error.position_m, new_m), edges_m=edges_m)


def _both(known_m: float, new_m: float) -> float:
    """Standard deviation [m] of what is known two ways, each with its own.

    >>> round(_both(3.0, 4.0), 2), _both(0.0, 1.0)
    (2.4, 0.0)
    """
    return known_m * new_m / math.hypot(known_m, new_m)
