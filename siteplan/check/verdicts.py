"""From a number, a requirement and an error to a verdict."""

from __future__ import annotations

from siteplan.check.finding import Verdict
from siteplan.rules.citation import Force
from siteplan.site.catalogue import methods
from siteplan.site.evidence import Evidence

ROUNDING_M = 1e-6
"""Distances closer than this [m] are equal: the route keeps its distances to this."""


def judge(margin_m: float, error_m: float, force: Force = "required") -> Verdict:
    """Verdict on a margin with its error band.

    Parameters
    ----------
    margin_m : float
        Measured less required, in any one unit.
    error_m : float
        One-sided error band at the agreed confidence, >= 0, same unit.
    force : Force
        A shortfall of a row that an authority may grant "needs approval".

    Examples
    --------
    A taped 50.6 ft against 50 ft, good to 0.5 ft; the same against a field edge known to 3 ft.

    >>> judge(0.6, 0.5), judge(0.6, 3.0), judge(-0.6, 0.5)
    ('clear', 'too close to call', 'short')
    """
    if margin_m >= error_m - ROUNDING_M:
        return "clear"
    if margin_m <= -error_m or (margin_m < -ROUNDING_M and error_m < ROUNDING_M):
        return "needs approval" if force == "by_approval" else "short"
    return "too close to call"


def how_measured(a: Evidence, b: Evidence) -> str:
    """How both ends of a distance are known, in words."""
    words = [methods()[evidence.method].name for evidence in (a, b)]
    text = words[0] if words[0] == words[1] else " / ".join(words)
    if a.outing is not None and a.outing == b.outing:
        text += f", one outing ({a.outing})"
    return text
