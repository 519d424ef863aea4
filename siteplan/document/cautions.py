"""The cautions, in one place: what can hurt somebody, in the words that every sheet and the map print.

Numbers come from the rules of the site; one that is not verified says so. The distance to overhead lines is fixed here: 10 ft
up to 50 kV, 29 CFR 1926.1408 Table A and 1926.600(a)(6).
"""

from __future__ import annotations

from dataclasses import dataclass

from siteplan.document.model import Plan
from siteplan.document.speech import ENGLISH, Speech, word
from siteplan.rules.citation import Citation
from siteplan.rules.model import Numbered
from siteplan.units import FOOT_M, Printer

OVERHEAD_M = 10 * FOOT_M
"""Least distance from overhead lines up to 50 kV [m]."""

DECIDES = word("Local code and the authority having jurisdiction decide; this is not a permit.")


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution: what it is about (``id``), the words that stand out, and the rest."""

    id: str
    head: str
    text: str

    def __str__(self) -> str:
        return f"{self.head}. {self.text}"


def unconfirmed(citation: Citation, say: Speech = ENGLISH) -> str:
    """Return " (unconfirmed)" for a row that nobody verified, else nothing."""
    return "" if citation.confirmed else f" ({say('unconfirmed')})"


def cautions(plan: Plan) -> tuple[Caution, ...]:
    """Return all cautions of a plan, what kills first; ``id`` tells them apart: locate, hand_dig, private, entry ..."""
    printer, say = Printer(plan.site.units), plan.say
    rules, trench = plan.requirements.locate, plan.requirements.trench

    def length(number: Numbered) -> str:
        return printer.length(number.value) + unconfirmed(number.citation, say)

    phone = plan.site.paper.phone
    return (
        Caution(
            "locate",
            say("CALL FOR LOCATES AND WAIT"),
            say(
                "Call {number} before you dig. Notice: {notice}. Ticket life: {life}."
                " Confirm with the one-call centre{doubt}.",
                number=rules.call,
                notice=rules.notice,
                life=rules.life,
                doubt=unconfirmed(rules.citation, say),
            ),
        ),
        Caution(
            "hand_dig",
            say("HAND DIG IN THE TOLERANCE ZONE"),
            say(
                "{zone} from the outer edge of a line on each side: no machine until the line is seen.",
                zone=length(rules.tolerance_m),
            ),
        ),
        Caution(
            "private",
            say("PRIVATE LINES ARE NOT MARKED"),
            say("The one-call centre marks to the meter. Ask the owner; hire a private locator."),
        ),
        Caution(
            "overhead",
            say("LOOK UP: OVERHEAD LINES"),
            say(
                "Keep machine, bucket and load {away} away up to 50 kV, more above; ask its owner.",
                away=printer.length(OVERHEAD_M),
            ),
        ),
        Caution(
            "entry",
            say("NO ENTRY UNPROTECTED"),
            say(
                "Nobody enters at {depth} deep or more without a protective system, nor less deep"
                " where the walls may cave in. A competent person looks every day and after rain.",
                depth=length(trench.protection_depth_m),
            ),
        ),
        Caution(
            "egress",
            say("LADDER"),
            say(
                "At {depth} deep or more, a way out within {spacing}.",
                depth=length(trench.egress_depth_m),
                spacing=length(trench.egress_spacing_m),
            ),
        ),
        Caution(
            "spoil",
            say("SPOIL BACK"),
            say("Keep spoil and machine {back} from the trench edge.", back=length(trench.spoil_back_m)),
        ),
        Caution("tanks", say("KEEP OFF"), say("No machine on septic tanks or absorption areas.")),
        Caution(
            "electric",
            say("LICENSED ELECTRICIAN"),
            say(
                "Wiring and bonding are a licensed electrician's work, inspected before the trench is closed."
            ),
        ),
        Caution(
            "disinfect",
            say("WELL AND LINE"),
            say("Disinfect both after the work, flush, and have the water tested before anyone drinks it."),
        ),
        Caution(
            "stop",
            say("STOP"),
            say(
                "If the ground does not match this sheet, stop and phone {phone}.",
                phone=phone or "________________",
            ),
        ),
        Caution("decides", say("NOT A PERMIT"), say(DECIDES)),
    )
