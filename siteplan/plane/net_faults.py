"""What keeps a tape net from being solved, in words, each at the row that says it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations
from math import hypot

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.plane.net_start import CannotMeet, Row, hand_of
from siteplan.read.folder import TIES
from siteplan.read.words import FaultList, Place, listed
from siteplan.site.evidence import Z95_TWO_SIDED
from siteplan.site.features import Feature
from siteplan.site.field_notes import Measurement
from siteplan.units import Printer

_SIGMAS = 3.0
_ENTRY_OFF_M = 1.0
_ENOUGH = (
    "two tapes that cross and the side, an offset, or a bearing with a distance, from points that are placed"
)
_ONE_PLACED = "one point alone has coordinates: take a bearing along one of the tapes, or give a second point coordinates"


def _place(row: Measurement, where: str = "") -> Place:
    return Place(file=row.source.file, line=row.source.line, where=where)


def note_no_tape(rows: Sequence[Row], faults: FaultList) -> None:
    """A site of tapes alone that has none."""
    faults.add(
        _place(rows[0][0]) if rows else Place(file=TIES),
        found="no distance between two points",
        expected="a distance to begin with",
    )


def note_hanging(
    hanging: Sequence[int],
    names: Sequence[str],
    rows: Sequence[Row],
    faults: FaultList,
    *,
    alone: bool = False,
) -> None:
    """Some points cannot be reached: say of each group how it is tied to the rest, and what is missing.

    ``alone``: a single point has coordinates, which do not tell the direction of anything.
    """
    left = set(hanging)
    while left:
        group = {min(left)}
        while True:
            more = {
                point
                for _, points in rows
                if group & set(points.values())
                for point in points.values()
                if point in hanging
            } - group
            if not more:
                break
            group |= more
        left -= group
        own = [each for each in rows if group & set(each[1].values())]
        tied = [row for row, points in own if not set(points.values()) <= group]
        who = listed(names[point] for point in group)
        row = (tied or [each for each, _ in own])[0]
        if not tied:
            found = f"{who}, tied only to each other" if len(group) > 1 else f"{who}, tied to nothing"
        else:
            found = f"{who} with {len(tied)} measurement{'' if len(tied) == 1 else 's'} from points that are placed"
        faults.add(
            _place(row),
            found=found,
            expected=_ENOUGH,
            mend=_ONE_PLACED if alone else f"measure {names[min(group)]} from one more corner",
        )


def note_cannot_meet(
    point: str, apart: CannotMeet, print_: Printer, faults: FaultList, worst: Measurement | None = None
) -> None:
    """Two tapes that no place fits; ``worst`` is the measurement that fits the others least, if there is anything to tell by."""
    first, second = sorted((apart.first, apart.second), key=lambda row: row.source.line or 0)
    again = (
        f"{first.what} and {second.what} again"
        if worst is None
        else f"{worst.what} again first, it fits least"
    )
    faults.add(
        _place(second),
        found=f"a tape to {point} that cannot meet the one on line {first.source.line}: "
        f"{print_.length(apart.gap_m)} are missing",
        expected="two tapes that reach each other",
        mend=f"measure {again}; is a corner mixed up?",
    )


def check_tapes_meet(
    rows: Sequence[Row],
    names: Sequence[str],
    places: NDArray[np.float64],
    worst: Measurement | None,
    print_: Printer,
    faults: FaultList,
) -> None:
    """Note the pair of tapes to one point that is farthest from meeting, with their corners as solved."""
    tapes: dict[int, list[tuple[Measurement, int]]] = {}
    for row, points in rows:
        if row.distance_m is not None:
            tapes.setdefault(points["point"], []).append((row, points["start"]))
            tapes.setdefault(points["start"], []).append((row, points["point"]))
    apart: CannotMeet | None = None
    for point, own in tapes.items():
        for (a, from_a), (b, from_b) in combinations(own, 2):
            between = float(np.hypot(*(places[from_b] - places[from_a])))
            long, short = a.distance_m or 0.0, b.distance_m or 0.0
            gap = max(between - long - short, abs(long - short) - between)
            too_much = gap > _SIGMAS * hypot(a.error_m, b.error_m) / Z95_TWO_SIDED
            if from_a != from_b and too_much and (apart is None or gap > apart.gap_m):
                apart = CannotMeet(point, a, b, gap)
    if apart is not None:
        note_cannot_meet(names[apart.point], apart, print_, faults, worst)


def note_two_places(
    point: int, names: Sequence[str], rows: Sequence[Row], apart: str, faults: FaultList
) -> None:
    """The measurements leave two places for a point: ask for the side."""
    own = [each for each in rows if point in (each[1]["point"], each[1]["start"]) and each[0].distance_m]
    asked = next((each for each in own if each[1]["point"] == point), own[0])
    row, points = asked
    corner = points["start"] if points["point"] == point else points["point"]
    others = (end for _, each in own for end in (each["start"], each["point"]))
    other = next((names[end] for end in others if end not in (point, corner)), "another corner")
    faults.add(
        _place(row, "side"),
        found=f"two places for {names[point]}, {apart} apart, that the tapes fit alike",
        expected=f"the side of the line from {names[corner]} to {other} on which it lies",
        mend=f"fill in to = {other} and side = left or right (looking from {names[corner]}), or tape it from off that line",
    )


def check_hands(rows: Sequence[Row], places: NDArray[np.float64], faults: FaultList) -> None:
    """Note sides and turns that the solution contradicts."""
    at = [(float(x), float(y)) for x, y in places]
    for row, points in rows:
        told = []
        if row.side is not None:
            told.append(("side", row.side, at[points["start"]], at[points["towards"]]))
        if row.turn is not None:
            told.append(("turn", row.turn, at[points["before"]], at[points["start"]]))
        for column, hand, a, b in told:
            found = hand_of(at[points["point"]], a, b)
            if found != hand:
                faults.add(
                    _place(row, column),
                    found=f"{hand}, while the other measurements put {row.point} to the {found}",
                    expected=found,
                    mend="which of them is meant?",
                )


def note_free(points: Sequence[int], names: Sequence[str], rows: Sequence[Row], faults: FaultList) -> None:
    """Points that can still move without a misfit."""
    named = [point for point in points if point < len(names)]
    who = listed(names[point] for point in named[:4])
    row = next((row for row, own in rows if set(own.values()) & set(named)), rows[0][0])
    faults.add(
        _place(row),
        found=f"measurements that leave {who} free to move",
        expected=_ENOUGH,
        mend="measure across the direction in which they are free",
    )


def check_shapes(
    features: Sequence[Feature], chains: Mapping[str, object], print_: Printer, faults: FaultList
) -> None:
    """Note things that come out crossed, and entries that come out off their wall."""
    buildings = [each.shape for each in features if each.kind == "building"]
    for feature in features:
        if feature.id not in chains:
            continue
        place = Place(file=feature.source.file, line=feature.source.line, where=feature.id)
        if not feature.shape.is_valid or (
            feature.shape.geom_type.endswith("Polygon") and feature.shape.area == 0
        ):
            faults.add(
                place,
                found=f"{feature.name} with an outline that crosses itself as taped",
                expected="points in order round it",
                mend="are two of its points swapped, or is a tape far out?",
            )
        elif feature.kind == "entry" and buildings:
            off_m = min(float(shapely.distance(feature.shape, each)) for each in buildings)
            if off_m > _ENTRY_OFF_M:
                faults.add(
                    place,
                    found=f"an entry taped {off_m:.1f} m off the nearest building",
                    expected=f"an entry on a wall, or within {_ENTRY_OFF_M:g} m of it",
                    mend="measure it again along the wall",
                )
