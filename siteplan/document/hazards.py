"""What on this site can hurt somebody, in one line each, for the first page of a sheet."""

from __future__ import annotations

from siteplan.document.cautions import OVERHEAD_M, unconfirmed
from siteplan.document.dig_area import STRIP_M
from siteplan.document.model import Plan
from siteplan.document.speech import ENGLISH, Speech, word
from siteplan.document.words import feature_name, named
from siteplan.measure.crossing import Crossing, HoleNear
from siteplan.measure.model import Interval
from siteplan.measure.overhead import OverheadLine, overhead_lines
from siteplan.site.catalogue import kinds
from siteplan.units import Printer

_TANKS = ("septic_tank", "holding_tank", "cistern", "cesspool", "fuel_tank", "absorption_area")

_HAND_DIG = "hand dig"
_WARNINGS = {
    "egress": word("LADDER OR WAY OUT"),
    "protection": word("NO ENTRY UNPROTECTED"),
    "engineer": word("ENGINEER'S DESIGN"),
}
_CARRIED = (word("water"), word("electric"), word("communications"), word("gas"), word("sewer"))
"""What lines are mostly stated to carry; other words stay as they were entered."""

_AT = {"(bell-hole)": word("(bell-hole)"), "(bore pit)": word("(bore pit)")}


def overhead(plan: Plan) -> tuple[OverheadLine, ...]:
    """Overhead lines of the site, each with how it lies to the ground that is dug."""
    return overhead_lines(plan.site, plan.layout, strip_m=STRIP_M, near_m=OVERHEAD_M)


def overhead_in_words(plan: Plan, found: OverheadLine) -> str:
    """Name an overhead line with what is known of it: "Overhead power, 7200 V, 24.0 ft up, crosses over the trench"."""
    printer, say, line = Printer(plan.site.units), plan.say, found.line
    where = {
        "over": say("crosses over the trench"),
        "near": say("within {distance} of the dig area", distance=printer.length(OVERHEAD_M)),
        "elsewhere": say("on the site"),
    }
    volts, height, owner = (line.facts.get(name) for name in ("volts", "height", "owner"))
    words = [
        feature_name(line, say),
        f"{volts:.0f} V" if isinstance(volts, float) else say("voltage not known"),
        say("{height} up", height=printer.length(height))
        if isinstance(height, float)
        else say("height not known"),
        str(owner) if owner else "",
        where[found.lies],
    ]
    return ", ".join(part for part in words if part)


def pass_in_words(crossing: Crossing, say: Speech = ENGLISH) -> str:
    """Over or under, in two words; or that nobody knows yet."""
    if crossing.over is None:
        return say("depth unknown: find it by hand")
    return say("go over" if crossing.over else "go under")


def crossing_in_words(plan: Plan, crossing: Crossing) -> str:
    """How a crossing is passed: "go under, 29 in clear, 12 in asked" or that its depth is unknown."""
    printer, say = Printer(plan.site.units), plan.say
    words = [pass_in_words(crossing, say)]
    if crossing.their_depth_m is not None:
        words.append(say("its top {depth}", depth=depth_in_words(crossing, printer, say)))
    if crossing.clear_m is not None:
        words.append(say("{distance} clear", distance=printer.short(crossing.clear_m)))
    if crossing.required_m is not None:
        words.append(say("{distance} asked", distance=printer.short(crossing.required_m)))
    words += other_holes(crossing, printer, say)
    return ", ".join(words)


def depth_in_words(crossing: Crossing, printer: Printer, say: Speech = ENGLISH) -> str:
    """How deep their top is and how that is known: "31 in deep, seen in test hole H1, 2026-12-01"; ``""`` if unknown."""
    if crossing.their_depth_m is None:
        return ""
    depth = printer.short(crossing.their_depth_m)
    if crossing.seen:
        return say("{depth} deep, seen in {hole}", depth=depth, hole=_hole(crossing.seen, say))
    return say("{depth} deep by record", depth=depth)


def other_holes(crossing: Crossing, printer: Printer, say: Speech = ENGLISH) -> list[str]:
    """Say what the test holes showed that do not give the depth here: nothing found, or too far away."""
    said = []
    for hole in crossing.holes:
        away = say("{distance} along it", distance=printer.length(hole.away_m))
        if not hole.found:
            dug = "" if hole.dug_m is None else say(", dug {depth}", depth=printer.length(hole.dug_m))
            said.append(say("NOT FOUND in {hole}{dug}, {away}", hole=_hole(hole, say), dug=dug, away=away))
        elif not hole.holds and hole.depth_m is not None:
            said.append(
                say(
                    "seen {depth} deep in {hole}, {away}: unknown here",
                    depth=printer.short(hole.depth_m),
                    hole=_hole(hole, say),
                    away=away,
                )
            )
    return said


def _hole(hole: HoleNear, say: Speech) -> str:
    return say("test hole {name}", name=f"{hole.hole}{f', {hole.date}' if hole.date else ''}")


def hand_dig_in_words(crossing: Crossing, printer: Printer, say: Speech = ENGLISH) -> str:
    """Stretch of a crossing to dig by hand: "0+64.5 to 0+84.4"; ``""`` for a bore, and for what is in plain sight."""
    if crossing.hand_to_m <= crossing.hand_from_m:
        return ""
    return span(printer, crossing.hand_from_m, crossing.hand_to_m, say)


def span(printer: Printer, from_m: float, to_m: float, say: Speech = ENGLISH) -> str:
    """Say a stretch by its stations: "0+64.5 to 0+84.4"."""
    return say("{start} to {end}", start=printer.station(from_m), end=printer.station(to_m))


def hazards(plan: Plan) -> list[str]:
    """List what can hurt: overhead lines, lines to cross, depths that need protection, tanks.

    Returns
    -------
    list of str
        Sentences for print; lengths and stations in the units of the site.
    """
    printer, say = Printer(plan.site.units), plan.say
    said = [say("OVERHEAD: {line}.", line=overhead_in_words(plan, found)) for found in overhead(plan)]
    for crossing in plan.works.crossings:
        by_hand = hand_dig_in_words(crossing, printer, say)
        place = say("HAND DIG {reach} {stretch}", reach=crossing.reach, stretch=by_hand)
        if not by_hand:
            station = printer.station(crossing.distance_m)
            place = say("FIND IT FIRST {reach} {station}", reach=crossing.reach, station=station)
        said.append(
            say(
                "{place}: crossing {number}, {name} ({carries}); {how}.",
                place=place,
                number=str(crossing.number),
                name=named(plan, crossing.feature),
                carries=carries(plan, crossing.feature),
                how=crossing_in_words(plan, crossing),
            )
        )
    said += _stretches(plan)
    tanks = [feature_name(feature, say) for feature in plan.site.of_kind(*_TANKS)]
    if tanks:
        said.append(say("KEEP THE MACHINE OFF: {tanks}.", tanks=", ".join(tanks)))
    return said


def hand_dig_stretches(plan: Plan) -> list[tuple[str, float, float]]:
    """Reach, from and to [m] of every stretch to dig by hand: at crossings, and beside a line that is there already."""
    found = [
        (interval.reach, interval.from_m, interval.to_m)
        for interval in plan.works.intervals
        if interval.what.startswith(_HAND_DIG)
    ]
    for crossing in plan.works.crossings:
        reach, start, end = crossing.reach, crossing.hand_from_m, crossing.hand_to_m
        if start < end and not any(
            reach == other and low <= start and end <= high for other, low, high in found
        ):
            found.append((reach, start, end))
    return found


def _stretches(plan: Plan) -> list[str]:
    """Stretches on which a rule holds, one sentence for each sort; what a crossing says is not said again."""
    printer, say = Printer(plan.site.units), plan.say
    crossings = {f"{_HAND_DIG} (crossing {crossing.number})" for crossing in plan.works.crossings}
    where: dict[str, list[str]] = {}
    for interval in plan.works.intervals:
        if interval.what in crossings or interval.rule is None:
            continue
        rule = interval.rule.citation
        what = f"{_warning(interval, say)} ({rule.text}{unconfirmed(rule, say)})"
        stretch = f"{interval.reach} {span(printer, interval.from_m, interval.to_m, say)}"
        where.setdefault(what, []).append(stretch)
    return [f"{what}: {', '.join(stretches)}." for what, stretches in where.items()]


def _warning(interval: Interval, say: Speech) -> str:
    """Words of an interval as a warning: "protection (bell-hole)" is "NO ENTRY UNPROTECTED (bell-hole)"."""
    if interval.of:
        return say("HAND DIG ({of})", of=say.of(interval.of))
    first, *rest = interval.what.split(" ", 1)
    return " ".join([say(_WARNINGS[first]), *(say(_AT[at]) for at in rest)])


def _carried(entered: str, say: Speech) -> str:
    return say(entered) if entered in _CARRIED else entered


def carries(plan: Plan, feature_id: str) -> str:
    """What a line that is there already carries, and whose it is."""
    feature, say = plan.site.feature(feature_id), plan.say
    facts, owner = feature.facts, feature.facts.get("owner")
    unsaid = say("contents not stated" if feature.kind == "buried_line" else kinds()[feature.kind].name)
    carried = _carried(str(facts["carries"]), say) if "carries" in facts else unsaid
    return ", ".join(
        part for part in (carried, say("owner: {owner}", owner=str(owner)) if owner else "") if part
    )
