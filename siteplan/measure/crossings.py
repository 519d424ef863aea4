"""What the trench runs into that is there already: the register of crossings, and where a shovel digs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from shapely import Point
from shapely.geometry.base import BaseGeometry

from siteplan.measure.along import Interval as Span
from siteplan.measure.along import angle_between_deg, joined, met, swept, without
from siteplan.measure.crossing import Crossing, HoleNear
from siteplan.measure.model import Interval, LaidLine
from siteplan.measure.profile import Trench
from siteplan.measure.said import Said
from siteplan.rules.model import Requirements
from siteplan.site.catalogue import kinds, lines_in_the_ground
from siteplan.site.features import Feature
from siteplan.site.marks import FALL, potholes
from siteplan.site.site import Site


@dataclass(frozen=True, slots=True, kw_only=True)
class _Meeting:
    trench: Trench
    feature: Feature
    distance_m: float
    x: float
    y: float


HandSpans = Mapping[tuple[str, str], list[Span]]
"""Where a trench reaches into the tolerance zone of a line in the ground, by reach and feature: distances [m] along the reach."""


def hand_spans(site: Site, requirements: Requirements, trenches: Iterable[Trench]) -> HandSpans:
    """Where any point across each trench lies in the tolerance zone of each line in the ground."""
    zones = {feature.id: _zone(feature, requirements) for feature in _buried(site)}
    return {
        (trench.name, feature): swept(trench.reach.path, zone, trench.half_top_m)
        for trench in trenches
        for feature, zone in zones.items()
    }


def crossings(
    site: Site, requirements: Requirements, trenches: Iterable[Trench], by_hand: HandSpans
) -> tuple[Crossing, ...]:
    """Register of crossings, numbered along the reaches.

    The depth that a test hole showed holds within ``HOLDS_M`` of it along the line, below the ground there; its error grows by
    the fall that a line may have between the two. Else a stated depth stands, unless a hole
    there found nothing; none is taken from a hole farther off.
    The hand-dig interval is where any point across the trench comes within the tolerance zone of the line: the zone
    of the locate rules on each side of its outer edge, and the error band of its position; nothing where it is bored. A line
    of which the file states no diameter is taken as thin.

    Parameters
    ----------
    by_hand : mapping
        As ``hand_spans`` gives it for these trenches.
    """
    return tuple(
        _crossing(site, meeting, number, requirements, by_hand)
        for number, meeting in enumerate(_meetings(site, trenches), start=1)
    )


def hand_digs(
    site: Site,
    requirements: Requirements,
    trenches: Iterable[Trench],
    register: tuple[Crossing, ...],
    by_hand: HandSpans,
) -> tuple[Interval, ...]:
    """Stretches to dig by hand: over the crossings, and wherever the trench runs inside the zone of a line beside it.

    Parameters
    ----------
    register : tuple of Crossing
        Of these trenches.
    by_hand : mapping
        As ``hand_spans`` gives it for these trenches.
    """
    found = []
    for trench in trenches:
        spans = [(span, feature) for feature in _buried(site) for span in by_hand[trench.name, feature.id]]
        for begin, end in without(joined(span for span, _ in spans), _bored(trench)):
            crossed = [
                crossing
                for crossing in register
                if crossing.reach == trench.name and begin <= crossing.distance_m <= end
            ]
            numbers = [Said("crossing {number}", number=str(crossing.number)) for crossing in crossed]
            beside = dict.fromkeys(
                Said("beside {name}", name=feature.name)
                for span, feature in spans
                if span[0] < end
                and begin < span[1]
                and feature.id not in {crossing.feature for crossing in crossed}
            )
            of = Said.joined([*numbers, *beside], between=", ")
            found.append(
                Interval(
                    reach=trench.name,
                    from_m=begin,
                    to_m=end,
                    what=Said("hand dig ({of})", of=of),
                    of=of,
                    rule=requirements.locate.tolerance_m,
                )
            )
    return tuple(found)


def is_buried(feature: Feature) -> bool:
    """Is it a line in the ground that a trench may meet."""
    return feature.kind in lines_in_the_ground()


def _buried(site: Site) -> Iterator[Feature]:
    return (feature for feature in site.features if is_buried(feature))


def _meetings(site: Site, trenches: Iterable[Trench]) -> Iterator[_Meeting]:
    crossed = [feature for feature in site.features if kinds()[feature.kind].dig == "cross"]
    for trench in trenches:
        path = trench.reach.path
        places = sorted(
            ((begin + end) / 2, number)
            for number, feature in enumerate(crossed)
            for begin, end in met(path, feature.shape)
        )
        for distance_m, number in places:
            place = path.interpolate(distance_m)
            yield _Meeting(
                trench=trench, feature=crossed[number], distance_m=distance_m, x=place.x, y=place.y
            )


def _crossing(
    site: Site, meeting: _Meeting, number: int, requirements: Requirements, by_hand: HandSpans
) -> Crossing:
    feature, distance_m = meeting.feature, meeting.distance_m
    _, section = meeting.trench.at(distance_m)
    holes = _holes(site, meeting)
    seen = next((hole for hole in holes if hole.holds), None)
    depth, diameter = feature.facts.get("depth"), feature.facts.get("diameter")
    depth_m = None if depth is None else float(depth)
    if any(hole.in_vain for hole in holes):
        depth_m = None
    if seen:
        depth_m = seen.depth_m
        diameter = seen.size_m if seen.size_m is not None else diameter
    required_m = {laid.line: _required(requirements, laid, feature) for laid in section.lines}
    if depth_m is None:
        ours, over, clear_m = _most_asked(section.lines, required_m), None, None
    else:
        ours, over, clear_m = _tightest(section.lines, required_m, depth_m, diameter)
    hand_from_m, hand_to_m = _hand_span(meeting, by_hand)
    return Crossing(
        number=number,
        reach=meeting.trench.name,
        distance_m=distance_m,
        x=meeting.x,
        y=meeting.y,
        feature=feature.id,
        angle_deg=_angle_deg(meeting),
        their_depth_m=depth_m,
        ours=ours,
        over=over,
        clear_m=clear_m,
        required_m=required_m[ours],
        hand_from_m=hand_from_m,
        hand_to_m=hand_to_m,
        holes=holes,
    )


def _holes(site: Site, meeting: _Meeting) -> tuple[HoleNear, ...]:
    """Test holes on the line that is met, the nearest along it first."""
    line = meeting.feature.shape
    if line.area:
        return ()
    here = Point(meeting.x, meeting.y)
    found = []
    for hole in potholes(site):
        if hole.of != meeting.feature.id:
            continue
        along_m = line.project(Point(hole.x, hole.y))
        away_m = max(abs(along_m - line.project(here)), line.interpolate(along_m).distance(here))
        found.append(
            HoleNear(
                hole=hole.id,
                away_m=away_m,
                found=hole.found,
                depth_m=hole.depth_m,
                error_m=hole.depth_error_m + FALL * (away_m + hole.evidence.radius_m),
                size_m=hole.size_m,
                dug_m=hole.dug_m,
                date=hole.date,
            )
        )
    return tuple(sorted(found, key=lambda each: each.away_m))


def _required(requirements: Requirements, laid: LaidLine, feature: Feature) -> float | None:
    separation = requirements.separation(laid.line, feature.id)
    return None if separation is None else separation.crossing_m


def _most_asked(lines: tuple[LaidLine, ...], required_m: dict[str, float | None]) -> str:
    """Our line for which the rules ask the most."""
    return max(lines, key=lambda laid: required_m[laid.line] or 0.0).line


def _tightest(
    lines: tuple[LaidLine, ...], required_m: dict[str, float | None], depth_m: float, diameter: object
) -> tuple[str, bool, float | None]:
    """Our line with the least room left: its id, do we pass over, and the clear distance.

    The distance to pass under a line whose diameter nobody states is not known.
    """
    rows = []
    for laid in lines:
        over_m = depth_m - (laid.cover_m + laid.outside_m)
        under_m = laid.cover_m - depth_m - (diameter if isinstance(diameter, float) else 0.0)
        over = over_m >= under_m
        rows.append((max(over_m, under_m) - (required_m[laid.line] or 0.0), laid.line, over, over_m, under_m))
    _, ours, over, over_m, under_m = min(rows)
    if over:
        return ours, True, over_m
    return ours, False, under_m if isinstance(diameter, float) else None


def _hand_span(meeting: _Meeting, by_hand: HandSpans) -> Span:
    here = (meeting.distance_m, meeting.distance_m)
    if not is_buried(meeting.feature):
        return here
    trench = meeting.trench
    spans = without(by_hand[trench.name, meeting.feature.id], _bored(trench))
    return next((span for span in spans if span[0] <= meeting.distance_m <= span[1]), here)


def _bored(trench: Trench) -> list[Span]:
    return [(each.from_m, each.to_m) for each in trench.reach.bored]


def _zone(feature: Feature, requirements: Requirements) -> BaseGeometry:
    half_m = float(feature.facts.get("diameter", 0.0)) / 2
    error_m = feature.evidence.radius_m + feature.evidence.edge_m
    return feature.shape.buffer(requirements.locate.tolerance_m.value + half_m + error_m)


def _angle_deg(meeting: _Meeting) -> float:
    shape = meeting.feature.shape
    if shape.area:  # a ditch drawn as an area is met at its nearest edge
        shape = shape.boundary
        path = meeting.trench.reach.path
        edges = [edge for span in met(path, meeting.feature.shape) for edge in span]
        place = path.interpolate(min(edges, key=lambda edge: abs(edge - meeting.distance_m)))
        return angle_between_deg(path, shape, place.x, place.y)
    return angle_between_deg(meeting.trench.reach.path, shape, meeting.x, meeting.y)
