"""The cautions, in one place: what can hurt somebody, in the words that every sheet and the map print.

Numbers come from the rules of the site; one that is not verified says so. The distance to overhead lines is fixed here: 10 ft
up to 50 kV, 29 CFR 1926.1408 Table A and 1926.600(a)(6).
"""

from __future__ import annotations

from dataclasses import dataclass

from siteplan.document.model import Plan
from siteplan.rules.model import Citation, Numbered
from siteplan.units import FOOT_M, Printer

OVERHEAD_M = 10 * FOOT_M
"""Least distance from overhead lines up to 50 kV [m]."""

DECIDES = "Local code and the authority having jurisdiction decide; this is not a permit."


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution: what it is about (``id``), the words that stand out, and the rest."""

    id: str
    head: str
    text: str

    def __str__(self) -> str:
        return f"{self.head}. {self.text}"


def unconfirmed(citation: Citation) -> str:
    """Return " (unconfirmed)" for a row that nobody verified, else nothing."""
    return "" if citation.confirmed else " (unconfirmed)"


def cautions(plan: Plan) -> tuple[Caution, ...]:
    """Return all cautions of a plan, what kills first; ``id`` tells them apart: locate, hand_dig, private, entry ..."""
    printer = Printer(plan.site.units)
    rules, trench = plan.requirements.locate, plan.requirements.trench

    def length(number: Numbered) -> str:
        return printer.length(number.value) + unconfirmed(number.citation)

    phone = plan.site.paper.phone
    return (
        Caution(
            "locate",
            "CALL FOR LOCATES AND WAIT",
            f"Call {rules.call} before you dig. Notice: {rules.notice}. Ticket life: {rules.life}."
            f" Confirm with the one-call centre{unconfirmed(rules.citation)}.",
        ),
        Caution(
            "hand_dig",
            "HAND DIG IN THE TOLERANCE ZONE",
            f"{length(rules.tolerance_m)} from the outer edge of a line on each side: no machine until the line is seen.",
        ),
        Caution(
            "private",
            "PRIVATE LINES ARE NOT MARKED",
            "The one-call centre marks to the meter. Ask the owner; hire a private locator.",
        ),
        Caution(
            "overhead",
            "LOOK UP: OVERHEAD LINES",
            f"Keep machine, bucket and load {printer.length(OVERHEAD_M)} away up to 50 kV, more above; ask its owner.",
        ),
        Caution(
            "entry",
            "NO ENTRY UNPROTECTED",
            f"Nobody enters at {length(trench.protection_depth_m)} deep or more without a protective system, nor less deep"
            " where the walls may cave in. A competent person looks every day and after rain.",
        ),
        Caution(
            "egress",
            "LADDER",
            f"At {length(trench.egress_depth_m)} deep or more, a way out within {length(trench.egress_spacing_m)}.",
        ),
        Caution(
            "spoil",
            "SPOIL BACK",
            f"Keep spoil and machine {length(trench.spoil_back_m)} from the trench edge.",
        ),
        Caution("tanks", "KEEP OFF", "No machine on septic tanks or absorption areas."),
        Caution(
            "electric",
            "LICENSED ELECTRICIAN",
            "Wiring and bonding are a licensed electrician's work, inspected before the trench is closed.",
        ),
        Caution(
            "disinfect",
            "WELL AND LINE",
            "Disinfect both after the work, flush, and have the water tested before anyone drinks it.",
        ),
        Caution(
            "stop",
            "STOP",
            "If the ground does not match this sheet, stop and phone " + (phone or "________________") + ".",
        ),
        Caution("decides", "NOT A PERMIT", DECIDES),
    )
