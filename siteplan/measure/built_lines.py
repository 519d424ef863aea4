"""Lines as built: straight between their measured points, as planned where nothing was measured."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, time
from itertools import pairwise
from math import hypot

import numpy as np
from shapely import LineString, Point

from siteplan.measure.along import SHORT_M, TOUCH_M, turns
from siteplan.measure.bends import LEAST_BEND_DEG
from siteplan.measure.model import LaidLine, Works
from siteplan.measure.record_model import BuiltCover, BuiltLine, BuiltPoint, BuiltStretch, Standing
from siteplan.route.model import Layout
from siteplan.site.evidence import Evidence
from siteplan.site.site import Site

STANDS_FOR_M = 0.9144
"""A point measured within this [m] along the line of a planned bend stands for that bend: 3 ft (common practice, no source)."""

AT_END_M = 0.3048
"""A point measured within this [m] of an end of the planned line is that end: 1 ft (common practice, no source)."""

LONE_M = 0.1524
"""A taped cover without a second one speaks for so much [m] either way: half a foot (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class _Node:
    """A corner of the built line: how far along the planned line [m], where, and the point (``None``: as planned)."""

    along_m: float
    x: float
    y: float
    point: BuiltPoint | None = None


@dataclass(frozen=True, slots=True)
class _Leg:
    """A line on one reach of the plan: distances [m] along the line, and along the reach."""

    reach: str
    begin_m: float
    end_m: float
    from_m: float
    to_m: float

    def station_m(self, along_m: float) -> float:
        run_m = along_m - self.begin_m
        return self.from_m + (run_m if self.to_m >= self.from_m else -run_m)


def built_lines(site: Site, layout: Layout, points: Iterable[BuiltPoint]) -> tuple[BuiltLine, ...]:
    """Draw each line through its points that hold; a branch begins on its line as built."""
    points = list(points)
    made: dict[str, BuiltLine] = {}

    def make(line_id: str) -> BuiltLine:
        if line_id not in made:
            start = site.line(line_id).start
            branches = any(line.id == start for line in site.lines) and make(start).position != "planned"
            parent = make(start).path if branches else None
            mine = [point for point in points if point.measurement.line == line_id and not point.superseded]
            made[line_id] = _Drawn(site, layout, line_id, mine, parent).line()
        return made[line_id]

    return tuple(make(line.id) for line in site.lines)


def along_m(way: LineString | Point, place: Point) -> float:
    """Distance [m] along a line of where a place falls on it; 0 for a line that is a point."""
    return float(way.project(place)) if isinstance(way, LineString) else 0.0


def planned_in_section(
    works: Works, layout: Layout, reach: str, station_m: float, line: str
) -> LaidLine | None:
    """How a line is planned to lie at a station of a reach; ``None`` where it does not lie."""
    for _, begin_m, end_m, section in works.stretches([layout.reach(reach)]):
        if begin_m - TOUCH_M <= station_m <= end_m + TOUCH_M:
            for laid in section.lines:
                if laid.line == line:
                    return laid
    return None


class _Drawn:
    """One line on its way from the plan to what was built."""

    def __init__(
        self,
        site: Site,
        layout: Layout,
        line: str,
        points: list[BuiltPoint],
        parent: LineString | Point | None,
    ) -> None:
        self._site, self._line, self._way, self._parent = site, line, layout.way(line), parent
        along = [(along_m(self._way, Point(point.x, point.y)), point) for point in points]
        self._along = sorted(along, key=lambda each: (each[0], each[1].measurement.when))
        self._legs = tuple(_legs(layout, line))

    def line(self) -> BuiltLine:
        points = tuple(point for _, point in self._along)
        if isinstance(self._way, Point):
            return BuiltLine(line=self._line, path=self._way, stretches=(), covers=(), points=points)
        nodes = self._nodes()
        return BuiltLine(
            line=self._line,
            path=LineString([(node.x, node.y) for node in nodes]),
            stretches=tuple(self._stretches(nodes)),
            covers=tuple(self._covers(nodes)),
            points=points,
        )

    def _nodes(self) -> list[_Node]:
        """Measured points, and what of the plan no measured point stands for."""
        measured = [
            _Node(along_m, point.x, point.y, point)
            for along_m, point in self._along
            if point.measurement.placed
        ]
        length_m = float(self._way.length)
        planned = [
            _Node(turn.distance_m, turn.x, turn.y)
            for turn in turns(self._way)
            if not measured or abs(turn.deflection_deg) > LEAST_BEND_DEG
        ]
        nodes = [*measured, *(node for node in planned if not _stands(measured, node, STANDS_FOR_M))]
        ends = (self._on_parent(_Node(0.0, *self._way.coords[0])), _Node(length_m, *self._way.coords[-1]))
        nodes = _apart([*nodes, *(end for end in ends if not _stands(measured, end, AT_END_M))])
        if len(nodes) > 1:
            return nodes
        farther = max(ends, key=lambda end: abs(end.along_m - nodes[0].along_m))
        return _apart(
            [*nodes, farther]
        )  # one point may stand for both ends, one by its name, one by its place

    def _on_parent(self, start: _Node) -> _Node:
        """Put the planned start of a branch onto its line as built."""
        if not isinstance(self._parent, LineString):
            return start
        place = self._parent.interpolate(self._parent.project(Point(start.x, start.y)))
        return replace(start, x=place.x, y=place.y)

    def _stretches(self, nodes: list[_Node]) -> Iterator[BuiltStretch]:
        laying = self._site.digging.laying
        runs: list[tuple[float, float, Standing, Evidence]] = []
        for a, b in pairwise(nodes):
            known = a.point is not None and b.point is not None
            evidence = _weaker(a.point, b.point) if a.point and b.point else laying
            standing: Standing = "measured" if known else "planned"
            if runs and runs[-1][2:] == (standing, evidence):
                runs[-1] = (runs[-1][0], b.along_m, standing, evidence)
            else:
                runs.append((a.along_m, b.along_m, standing, evidence))
        for begin_m, end_m, standing, evidence in runs:
            for leg, from_m, to_m, path in self._by_leg(nodes, begin_m, end_m):
                yield BuiltStretch(
                    line=self._line,
                    reach=leg.reach,
                    from_m=leg.station_m(from_m),
                    to_m=leg.station_m(to_m),
                    path=path,
                    position=standing,
                    evidence=evidence,
                )

    def _covers(self, nodes: list[_Node]) -> Iterator[BuiltCover]:
        taped = self._taped(nodes)
        alongs = [along_m for along_m, _, _ in taped]
        begin_m, end_m = nodes[0].along_m, nodes[-1].along_m
        outside = [(begin_m, alongs[0]), (alongs[-1], end_m)] if taped else [(begin_m, end_m)]
        spans = [(a, b, None) for a, b in outside] + [(a[0], b[0], (a, b)) for a, b in pairwise(taped)]
        for span in sorted(spans, key=lambda span: span[:2]):
            yield from self._cover(nodes, *span)

    def _taped(self, nodes: list[_Node]) -> list[tuple[float, float, float]]:
        """Taped covers along the line: distance, cover, its error [m]; a lone one twice, half a foot either way."""
        taped = [
            (along_m, point.measurement.cover_m, point.measurement.cover_error_m)
            for along_m, point in self._along
            if point.measurement.cover_m is not None
        ]
        at = {round(along_m, 2): (along_m, cover_m, error_m) for along_m, cover_m, error_m in taped}
        found = sorted(at.values())
        if len(found) == 1:
            (along_m, cover_m, error_m) = found[0]
            low, high = max(along_m - LONE_M, nodes[0].along_m), min(along_m + LONE_M, nodes[-1].along_m)
            found = [(low, cover_m, error_m), (high, cover_m, error_m)]
        return found

    def _cover(
        self,
        nodes: list[_Node],
        begin_m: float,
        end_m: float,
        taped: tuple[tuple[float, float, float], tuple[float, float, float]] | None,
    ) -> Iterator[BuiltCover]:
        for leg, from_m, to_m, path in self._by_leg(nodes, begin_m, end_m):
            covers_m = None
            error_m = self._site.digging.depth_error_m
            if taped is not None:
                (a_m, a_cover_m, a_error_m), (b_m, b_cover_m, b_error_m) = taped
                first, last = np.interp([from_m, to_m], [a_m, b_m], [a_cover_m, b_cover_m]).tolist()
                covers_m, error_m = (first, last), max(a_error_m, b_error_m)
            yield BuiltCover(
                line=self._line,
                reach=leg.reach,
                from_m=leg.station_m(from_m),
                to_m=leg.station_m(to_m),
                path=path,
                covers_m=covers_m,
                error_m=error_m,
                standing="planned" if taped is None else "measured",
            )

    def _by_leg(
        self, nodes: list[_Node], begin_m: float, end_m: float
    ) -> Iterator[tuple[_Leg, float, float, LineString]]:
        """Parts of a span of the line by the reach of the plan that they lie on, each with its built path."""
        for leg in self._legs:
            from_m, to_m = max(begin_m, leg.begin_m), min(end_m, leg.end_m)
            if to_m - from_m > TOUCH_M:
                path = _between(nodes, from_m, to_m)
                if path.length > SHORT_M:
                    yield leg, from_m, to_m, path


def _legs(layout: Layout, line: str) -> Iterator[_Leg]:
    begin_m = 0.0
    for reach, from_m, to_m in layout.path(line).legs:
        end_m = begin_m + abs(to_m - from_m)
        yield _Leg(reach, begin_m, end_m, from_m, to_m)
        begin_m = end_m


def _stands(measured: Iterable[_Node], planned: _Node, near_m: float) -> bool:
    """Does a measured point stand for a corner of the plan: by its name, or by how near it is along the line."""
    return any(
        abs(node.along_m - planned.along_m) <= near_m
        or (
            node.point is not None
            and node.point.planned is not None
            and hypot(node.point.planned[0] - planned.x, node.point.planned[1] - planned.y) < SHORT_M
        )
        for node in measured
    )


def _apart(nodes: Iterable[_Node]) -> list[_Node]:
    """Nodes in order, one for each centimetre of the planned line: what was measured, the later by time."""

    def rank(node: _Node) -> tuple[float, bool, tuple[date, time, int]]:
        when = node.point.measurement.when if node.point else (date.min, time.min, 0)
        return (node.along_m, node.point is not None, when)

    found: list[_Node] = []
    for node in sorted(nodes, key=rank):
        if found and node.along_m - found[-1].along_m < SHORT_M:
            found[-1] = replace(
                node if node.point or not found[-1].point else found[-1], along_m=found[-1].along_m
            )
        else:
            found.append(node)
    return found


def _between(nodes: list[_Node], from_m: float, to_m: float) -> LineString:
    """Built path between two distances along the planned line."""
    alongs = [node.along_m for node in nodes]
    ends = [
        (
            np.interp(at_m, alongs, [node.x for node in nodes]),
            np.interp(at_m, alongs, [node.y for node in nodes]),
        )
        for at_m in (from_m, to_m)
    ]
    inside = [(node.x, node.y) for node in nodes if from_m + TOUCH_M < node.along_m < to_m - TOUCH_M]
    return LineString([ends[0], *inside, ends[1]])


def _weaker(a: BuiltPoint, b: BuiltPoint) -> Evidence:
    return max((a.measurement.evidence, b.measurement.evidence), key=lambda evidence: evidence.radius_m)
