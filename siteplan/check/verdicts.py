"""From a number, a requirement and an error to a verdict, and to the measurement that would settle a close one."""

from __future__ import annotations

from siteplan.check.finding import Verdict
from siteplan.rules.model import Force
from siteplan.site.catalogue import methods
from siteplan.site.evidence import Evidence
from siteplan.units import Printer

ROUNDING_M = 1e-6
"""Distances closer than this [m] are equal: the route keeps its distances to this."""

ON_THE_LIMIT_M = 0.03
"""A margin below this [m] no tape can tell from none: 0.1 ft, a steel tape at 50 ft (common practice, no source)."""


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


def settling(margin_m: float, a: Evidence, a_name: str, b: Evidence, b_name: str, print_: Printer) -> str:
    """Name the one measurement that would settle a close call, and how good it must be.

    Where the edge itself is known no better than the margin, no tape helps: the true edge must be found first.
    """
    need = print_.length(abs(margin_m))
    fuzzy, name = max((a.edge_m, a_name), (b.edge_m, b_name))
    if abs(margin_m) < ON_THE_LIMIT_M:
        return f"{a_name} to {b_name} stands on the limit: no tape settles it. Move one of them, or ask the authority."
    if fuzzy >= abs(margin_m):
        return f"Find the true edge of {name} (probe or dig), then tape {a_name} to {b_name}: good to {need} or better."
    return f"Tape {a_name} to the nearest edge of {b_name}, both ends seen: good to {need} or better."
