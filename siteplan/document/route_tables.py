"""The tables of the route sheet: bends between pull points, crossings, stations with their cuts."""

from __future__ import annotations

from siteplan.document.hazards import carries, crossing_in_words, hand_dig_in_words, pass_in_words
from siteplan.document.model import Plan
from siteplan.document.pages import SMALL_PT, WARNING_PT, Book, Flow
from siteplan.document.strip import NO_LEVELS
from siteplan.document.table import Cell, Column, Row, Table
from siteplan.document.words import named, reach_title, sweep_in_words
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
    columns = (
        Column("Conduit", 3),
        Column("Length", 1.3, "right"),
        Column("Bends in plan", 1.3, "right"),
        Column("Risers", 1.3, "right"),
        Column("Sum", 1.1, "right"),
        Column("Most allowed", 1.3, "right"),
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
    flow.heading("Bends between pull points", below=60)
    flow.table(Table(columns, rows, flow.width))


def _pulled(plan: Plan, pull: Pull) -> str:
    """Name of a conduit, and of its ends if pull points part it."""
    pulls = [other for other in plan.works.pulls if other.line == pull.line]
    name = named(plan, pull.line)
    return f"{name}, {pull.start} to {pull.end}" if len(pulls) > 1 else name


def station_tables(book: Book, plan: Plan) -> None:
    """The crossings, then every station of every reach with its cut and a blank for what was dug."""
    flow = Flow(book, "stations and cuts", turned=book.narrow)
    printer = Printer(plan.site.units)
    if plan.works.levelled:
        flow.text(
            f"Distances and cuts in {printer.unit}. Cut: trench bottom below the ground there. Ties by tape, level."
        )
    else:
        flow.text(NO_LEVELS, size=WARNING_PT, bold=True)
    _crossing_table(flow, plan)
    for reach in plan.layout.reaches:
        stations = [station for station in plan.works.stations if station.reach == reach.name]
        flow.heading(reach_title(plan, reach), below=110)
        flow.table(_station_table(plan, reach, stations, flow.width))
    flow.text(
        "As-dug: write the cut that the rod shows, at every station, before it is covered.", size=SMALL_PT
    )


def _crossing_table(flow: Flow, plan: Plan) -> None:
    printer = Printer(plan.site.units)
    if not plan.works.crossings:
        return
    columns = (
        Column("No.", 30),
        Column("Sta", 90),
        Column("What is there", 160),
        Column("Angle", 48, "right"),
        Column("Hand dig", 110),
        Column("How to pass", 170),
        Column("Test hole: depth, size", 112),
    )
    rows = [
        Row(
            (
                Cell(str(crossing.number), bold=True),
                f"{crossing.reach} {printer.station(crossing.distance_m)}",
                f"{named(plan, crossing.feature)} ({carries(plan, crossing.feature)})",
                f"{crossing.angle_deg:.0f}°",
                Cell(
                    hand_dig_in_words(crossing, printer) or "–",
                    bold=True,
                ),
                crossing_in_words(plan, crossing),
                _seen(crossing.seen, printer),
            ),
            least_height=_ROW_PT,
        )
        for crossing in plan.works.crossings
    ]
    flow.heading("Crossings", below=80)
    flow.table(Table(columns, rows, flow.width))


def _seen(hole: HoleNear | None, printer: Printer) -> str:
    """Fill in the column of the test hole once it is dug: "31 in, size 2 in"."""
    if hole is None or hole.depth_m is None:
        return ""
    size = "" if hole.size_m is None else f", size {printer.short(hole.size_m)}"
    return f"{printer.short(hole.depth_m)}{size}"


def _station_table(plan: Plan, reach: Reach, stations: list[Station], width: float) -> Table:
    printer, levelled = Printer(plan.site.units), plan.works.levelled
    columns = [
        Column(f"{reach.name} sta", 62),
        Column("What", 150),
        Column("Tie A", 84),
        Column("Tie B", 84),
        Column("Cut", 76 if plan.site.units == "ft-in" else 58, "right"),
        *([Column("Bottom elev", 66, "right")] if levelled else []),
        Column("Width", 54, "right"),
        Column("Note", 118),
        Column("As-dug cut", 58),
    ]
    rows = []
    for station in stations:
        bottom = "–" if station.bottom_m is None else printer.number(station.bottom_m)
        rows.append(
            Row(
                (
                    Cell(printer.station(station.distance_m), bold=True),
                    Cell(station.what, bold=station.kind != "interval"),
                    *two_ties(station, printer),
                    Cell(printer.number(station.cut_m), WARNING_PT, bold=True),
                    *([bottom] if levelled else []),
                    printer.short(station.width_m),
                    Cell(_note(plan, station), bold=station.hand_dig),
                    "",
                ),
                least_height=_ROW_PT,
            )
        )
    return Table(columns, rows, width)


def _note(plan: Plan, station: Station) -> str:
    printer = Printer(plan.site.units)
    here = (station.reach, round(station.distance_m, 3))
    notes = ["HAND DIG"] if station.hand_dig else []
    bored = plan.layout.reach(station.reach).bored
    if any(each.from_m <= station.distance_m < each.to_m - 0.001 for each in bored):
        notes.append("BORE, do not open")
    if station.section:
        notes.append(f"section {station.section}")
    if station.kind == "bend":
        notes += [
            words
            for bend in plan.works.bends
            if (bend.reach, round(bend.distance_m, 3)) == here and (words := sweep_in_words(bend, printer))
        ]
    if station.kind == "crossing":
        notes += [
            f"{named(plan, crossing.feature)}; {pass_in_words(crossing)}"
            for crossing in plan.works.crossings
            if (crossing.reach, round(crossing.distance_m, 3)) == here
        ]
    return "; ".join(notes)


def two_ties(station: Station, printer: Printer) -> tuple[str, str]:
    """Both ties of a station, as they print."""
    ties = [f"{name} {printer.number(distance_m)}" for name, distance_m in station.ties[:2]]
    ties += ["–"] * (2 - len(ties))
    return ties[0], ties[1]
