"""What on this site can hurt somebody, in one line each, for the first page of a sheet."""

from __future__ import annotations

from siteplan.document.cautions import OVERHEAD_M, unconfirmed
from siteplan.document.model import Plan
from siteplan.document.words import feature_name, named
from siteplan.measure.crossing import Crossing, HoleNear
from siteplan.site.catalogue import kinds
from siteplan.site.features import Feature
from siteplan.units import Printer

_TANKS = ("septic_tank", "holding_tank", "cistern", "cesspool", "fuel_tank", "absorption_area")

_HAND_DIG = "hand dig"
_WARNINGS = {
    "egress": "LADDER OR WAY OUT",
    "protection": "NO ENTRY UNPROTECTED",
    "engineer": "ENGINEER'S DESIGN",
}


def overhead_lines(plan: Plan) -> list[tuple[Feature, str]]:
    """Overhead lines of the site, each with how it lies to the dig, in words."""
    printer = Printer(plan.site.units)
    found = []
    for line in plan.site.of_kind("overhead_line"):
        paths = [reach.path for reach in plan.layout.reaches]
        if any(line.shape.intersects(path) for path in paths):
            where = "crosses over the trench"
        elif any(line.shape.distance(path) <= 2 * OVERHEAD_M for path in paths):
            where = f"within {printer.length(OVERHEAD_M)} of the dig area"
        else:
            where = "on the site"
        found.append((line, where))
    return found


def overhead_in_words(plan: Plan, line: Feature, where: str) -> str:
    """Name an overhead line with what is known of it: "Overhead power, 7200 V, 24.0 ft up, crosses over the trench"."""
    printer = Printer(plan.site.units)
    volts, height, owner = (line.facts.get(name) for name in ("volts", "height", "owner"))
    words = [
        feature_name(line),
        f"{volts:.0f} V" if isinstance(volts, float) else "voltage not known",
        f"{printer.length(height)} up" if isinstance(height, float) else "height not known",
        str(owner) if owner else "",
        where,
    ]
    return ", ".join(word for word in words if word)


def pass_in_words(crossing: Crossing) -> str:
    """Over or under, in two words; or that nobody knows yet."""
    if crossing.over is None:
        return "depth unknown: find it by hand"
    return "go over" if crossing.over else "go under"


def crossing_in_words(plan: Plan, crossing: Crossing) -> str:
    """How a crossing is passed: "go under, 29 in clear, 12 in asked" or that its depth is unknown."""
    printer = Printer(plan.site.units)
    words = [pass_in_words(crossing)]
    if crossing.their_depth_m is not None:
        words.append(f"its top {depth_in_words(crossing, printer)}")
    if crossing.clear_m is not None:
        words.append(f"{printer.short(crossing.clear_m)} clear")
    if crossing.required_m is not None:
        words.append(f"{printer.short(crossing.required_m)} asked")
    words += other_holes(crossing, printer)
    return ", ".join(words)


def depth_in_words(crossing: Crossing, printer: Printer) -> str:
    """How deep their top is and how that is known: "31 in deep, seen in test hole H1, 2026-12-01"; ``""`` if unknown."""
    if crossing.their_depth_m is None:
        return ""
    depth = f"{printer.short(crossing.their_depth_m)} deep"
    return f"{depth}, seen in {_hole(crossing.seen)}" if crossing.seen else f"{depth} by record"


def other_holes(crossing: Crossing, printer: Printer) -> list[str]:
    """Say what the test holes showed that do not give the depth here: nothing found, or too far away."""
    said = []
    for hole in crossing.holes:
        away = f"{printer.length(hole.away_m)} along it"
        if not hole.found:
            dug = "" if hole.dug_m is None else f", dug {printer.length(hole.dug_m)}"
            said.append(f"NOT FOUND in {_hole(hole)}{dug}, {away}")
        elif not hole.holds and hole.depth_m is not None:
            said.append(f"seen {printer.short(hole.depth_m)} deep in {_hole(hole)}, {away}: unknown here")
    return said


def _hole(hole: HoleNear) -> str:
    return f"test hole {hole.hole}{f', {hole.date}' if hole.date else ''}"


def hand_dig_in_words(crossing: Crossing, printer: Printer) -> str:
    """Stretch of a crossing to dig by hand: "0+64.5 to 0+84.4"; ``""`` for a bore, and for what is in plain sight."""
    if crossing.hand_to_m <= crossing.hand_from_m:
        return ""
    return f"{printer.station(crossing.hand_from_m)} to {printer.station(crossing.hand_to_m)}"


def hazards(plan: Plan) -> list[str]:
    """List what can hurt: overhead lines, lines to cross, depths that need protection, tanks.

    Returns
    -------
    list of str
        Sentences for print; lengths and stations in the units of the site.
    """
    printer = Printer(plan.site.units)
    said = [f"OVERHEAD: {overhead_in_words(plan, *found)}." for found in overhead_lines(plan)]
    for crossing in plan.works.crossings:
        by_hand = hand_dig_in_words(crossing, printer)
        place = f"HAND DIG {crossing.reach} {by_hand}"
        if not by_hand:
            place = f"FIND IT FIRST {crossing.reach} {printer.station(crossing.distance_m)}"
        said.append(
            f"{place}: crossing {crossing.number},"
            f" {named(plan, crossing.feature)} ({carries(plan, crossing.feature)}); {crossing_in_words(plan, crossing)}."
        )
    said += _stretches(plan)
    tanks = [feature_name(feature) for feature in plan.site.of_kind(*_TANKS)]
    if tanks:
        said.append(f"KEEP THE MACHINE OFF: {', '.join(tanks)}.")
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
    printer = Printer(plan.site.units)
    crossings = {f"{_HAND_DIG} (crossing {crossing.number})" for crossing in plan.works.crossings}
    where: dict[str, list[str]] = {}
    for interval in plan.works.intervals:
        if interval.what in crossings or interval.rule is None:
            continue
        rule = interval.rule.citation
        what = f"{_plain(interval.what)} ({rule.text}{unconfirmed(rule)})"
        stretch = f"{interval.reach} {printer.station(interval.from_m)} to {printer.station(interval.to_m)}"
        where.setdefault(what, []).append(stretch)
    return [f"{what}: {', '.join(stretches)}." for what, stretches in where.items()]


def _plain(what: str) -> str:
    """Words of an interval as a warning: "protection (bell-hole)" is "NO ENTRY UNPROTECTED (bell-hole)"."""
    first, *rest = what.split(" ", 1)
    return " ".join([_WARNINGS.get(first, first), *rest]).replace(_HAND_DIG, _HAND_DIG.upper())


def carries(plan: Plan, feature_id: str) -> str:
    """What a line that is there already carries, and whose it is."""
    feature = plan.site.feature(feature_id)
    facts, owner = feature.facts, feature.facts.get("owner")
    unsaid = "contents not stated" if feature.kind == "buried_line" else kinds()[feature.kind].name
    return ", ".join(
        str(word) for word in (facts.get("carries", unsaid), f"owner: {owner}" if owner else "") if word
    )
