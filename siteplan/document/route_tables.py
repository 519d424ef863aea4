"""The tables of the route sheet: bends between pull points, crossings, stations with their cuts."""

from __future__ import annotations

from siteplan.document.hazards import carries, crossing_in_words, hand_dig_in_words, pass_in_words
from siteplan.document.laser_words import laser, rod, rod_heading
from siteplan.document.model import Plan
from siteplan.document.pages import SMALL_PT, WARNING_PT, Book, Flow
from siteplan.document.speech import Speech
from siteplan.document.strip import NO_LEVELS
from siteplan.document.table import Cell, Column, Row, Table
from siteplan.document.words import coded, named, reach_title, sweep_in_words
from siteplan.measure.crossing import HoleNear
from siteplan.measure.model import Pull, Station
from siteplan.route.model import Reach
from siteplan.units import Printer

_ROW_PT = 20.0


def pull_table(flow: Flow, plan: Plan) -> None:
    """Bends of each conduit between pull points."""
    printer = Printer(plan.site.units)
    if not plan.works.pulls:
        return
    say = plan.say
    columns = (
        Column(say("Conduit"), 3),
        Column(say("Length"), 1.3, "right"),
        Column(say("Bends in plan"), 1.3, "right"),
        Column(say("Risers"), 1.3, "right"),
        Column(say("Sum"), 1.1, "right"),
        Column(say("Most allowed"), 1.3, "right"),
    )
    rows = [
        Row(
            (
                _pulled(plan, pull),
                printer.length(pull.length_m),
                f"{pull.plan_deg:.0f}°",
                f"{pull.risers_deg:.0f}°",
                f"{pull.sum_deg:.0f}°",
                f"{pull.limit.value:.0f}°",
            )
        )
        for pull in plan.works.pulls
    ]
    flow.heading(say("Bends between pull points"), below=60)
    flow.table(Table(columns, rows, flow.width))


def _pulled(plan: Plan, pull: Pull) -> str:
    """Name of a conduit, and of its ends if pull points part it."""
    pulls = [other for other in plan.works.pulls if other.line == pull.line]
    name, say = named(plan, pull.line), plan.say
    if len(pulls) == 1:
        return name
    return say("{line}, {start} to {end}", line=name, start=say.of(pull.start), end=say.of(pull.end))


def station_tables(book: Book, plan: Plan) -> None:
    """The crossings, then every station of every reach with its cut and a blank for what was dug."""
    say = plan.say
    flow = Flow(book, say("stations and cuts"), turned=book.narrow)
    printer = Printer(plan.site.units)
    if not plan.works.levelled:
        flow.text(say(NO_LEVELS), size=WARNING_PT, bold=True)
    flow.text(
        say(
            "Distances and cuts in {unit}. Cut: trench bottom below the ground there. Ties by tape, level.",
            unit=printer.unit,
        )
    )
    laser(flow, plan)
    _crossing_table(flow, plan)
    for reach in plan.layout.reaches:
        stations = [station for station in plan.works.stations if station.reach == reach.name]
        flow.heading(reach_title(plan, reach), below=110)
        flow.table(_station_table(plan, reach, stations, flow.width))
    flow.text(
        say("As-dug: write the cut that the rod shows, at every station, before it is covered."),
        size=SMALL_PT,
    )


def _crossing_table(flow: Flow, plan: Plan) -> None:
    printer, say = Printer(plan.site.units), plan.say
    if not plan.works.crossings:
        return
    columns = (
        Column(say("No."), 30),
        Column(say("Sta"), 90),
        Column(say("What is there"), 160),
        Column(say("Angle"), 48, "right"),
        Column(say("Hand dig"), 110),
        Column(say("How to pass"), 170),
        Column(say("Test hole: depth, size"), 112),
    )
    rows = [
        Row(
            (
                Cell(str(crossing.number), bold=True),
                f"{crossing.reach} {printer.station(crossing.distance_m)}",
                f"{named(plan, crossing.feature)} ({carries(plan, crossing.feature)})",
                f"{crossing.angle_deg:.0f}°",
                Cell(
                    hand_dig_in_words(crossing, printer, say) or "–",
                    bold=True,
                ),
                crossing_in_words(plan, crossing),
                _seen(crossing.seen, printer, say),
            ),
            least_height=_ROW_PT,
        )
        for crossing in plan.works.crossings
    ]
    flow.heading(say("Crossings"), below=80)
    flow.table(Table(columns, rows, flow.width))


def _seen(hole: HoleNear | None, printer: Printer, say: Speech) -> str:
    """Fill in the column of the test hole once it is dug: "31 in, size 2 in"."""
    if hole is None or hole.depth_m is None:
        return ""
    size = "" if hole.size_m is None else say(", size {size}", size=printer.short(hole.size_m))
    return f"{printer.short(hole.depth_m)}{size}"


def _station_table(plan: Plan, reach: Reach, stations: list[Station], width: float) -> Table:
    printer, say, mark = Printer(plan.site.units), plan.say, plan.works.bench_mark
    inches = plan.site.units == "ft-in"
    columns = [
        Column(say("{reach} sta", reach=reach.name), 60),
        Column(say("What"), 132),
        Column(say("Tie A"), 78),
        Column(say("Tie B"), 78),
        Column(say("Cut"), 76 if inches else 52, "right"),
        *([Column(say("Bottom elev"), 66 if inches else 58, "right")] if mark else []),
        *([Column(rod_heading(plan, mark), 60 if inches else 54, "right")] if mark else []),
        Column(say("Width"), 48, "right"),
        Column(say("Note"), 118),
        Column(say("As-dug cut"), 56),
    ]
    rows = []
    for station in stations:
        bottom_m = station.bottom_m
        levels: list[str | Cell] = []
        if mark:
            bottom = "–" if bottom_m is None else printer.number(bottom_m)
            reading = "–" if bottom_m is None else rod(plan, mark, bottom_m)
            levels = [bottom, Cell(reading, bold=True)]
        rows.append(
            Row(
                (
                    Cell(printer.station(station.distance_m), bold=True),
                    Cell(say.of(station.what), bold=station.kind != "interval"),
                    *two_ties(plan, station),
                    Cell(printer.number(station.cut_m), WARNING_PT, bold=True),
                    *levels,
                    printer.short(station.width_m),
                    Cell(_note(plan, station), bold=station.hand_dig),
                    "",
                ),
                least_height=_ROW_PT,
            )
        )
    return Table(columns, rows, width)


def _note(plan: Plan, station: Station) -> str:
    printer, say = Printer(plan.site.units), plan.say
    here = (station.reach, round(station.distance_m, 3))
    notes = [say("HAND DIG")] if station.hand_dig else []
    bored = plan.layout.reach(station.reach).bored
    if any(each.from_m <= station.distance_m < each.to_m - 0.001 for each in bored):
        notes.append(say("BORE, do not open"))
    if station.section:
        notes.append(say("section {name}", name=station.section))
    if station.kind == "bend":
        notes += [
            words
            for bend in plan.works.bends
            if (bend.reach, round(bend.distance_m, 3)) == here
            and (words := sweep_in_words(bend, printer, say))
        ]
    if station.kind == "crossing":
        notes += [
            f"{named(plan, crossing.feature)}; {pass_in_words(crossing, say)}"
            for crossing in plan.works.crossings
            if (crossing.reach, round(crossing.distance_m, 3)) == here
        ]
    return "; ".join(notes)


def two_ties(plan: Plan, station: Station) -> tuple[str, str]:
    """Both ties of a station, as they print: "C2 House NE 62.4"."""
    printer = Printer(plan.site.units)
    ties = [f"{coded(plan, name)} {printer.number(distance_m)}" for name, distance_m in station.ties[:2]]
    ties += ["–"] * (2 - len(ties))
    return ties[0], ties[1]
