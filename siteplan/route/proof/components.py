"""Least price of a tree, joined from parts that meet only at the places that it joins.

Cut a tree at its start and at the ends that it passes: it falls into parts that each end at some of the places and branch between
them. A part that ends at k places has k - 2 tees, and costs no less than what its calibration says (``calibration``). An end
with walls, and a last leg from them, is not passed: a tee is due there as anywhere. So the tree costs no less than the cheapest
way of putting such parts together, and with that what turning costs where it passes an end (``passing``), as far as that
is less than a tee: more than two trenches at an end make one.

Parts are calibrated only as far as they make the cheapest way; the others count as the least tree on open ground, or as parts
that end at some of the same places.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import combinations

import shapely
from shapely import MultiLineString, Point
from shapely.geometry.base import BaseGeometry

from siteplan.route.between import Goal
from siteplan.route.open_tree import open_tree_m
from siteplan.route.proof.calibration import Calibration, Floats, calibrated
from siteplan.route.proof.calibration_mesh import mesh_of
from siteplan.route.proof.dear import Level
from siteplan.route.proof.passing import Legs, Passing
from siteplan.route.scene import Scene

MOST_PLACES = 5
"""Start and ends together: 15 sets of ends beyond a trench."""

MOST_WORK = 16
"""Parts after which no more are calibrated: two seconds or so (own choice)."""

_BESIDE_M = 1e-6

Part = tuple[int, ...]
"""The places that it ends at, by number; a point first."""

Turn = tuple[Part, int, Part]
"""The part that comes to an end, the end, and the part that goes on from there."""

_Way = tuple[float, tuple[Part, ...], tuple[Turn, ...]]
"""Price, parts and turns."""


def least_of_components(
    scene: Scene,
    places: Sequence[Goal],
    free: BaseGeometry,
    *,
    metre: float,
    levels: Sequence[Level],
    spare: float,
    target: float,
    legs: Sequence[Legs],
) -> float:
    """Return a price that no tree falls below; 0.0 if nothing can be said.

    Parameters
    ----------
    scene : Scene
        The prices.
    places : sequence of Point or MultiLineString
        The start, a point, and two or more ends.
    free : shapely geometry
        Free ground, or a little more.
    metre : float
        A price that no metre falls below.
    levels : sequence of Level
        The dear ground.
    spare : float
        No bore is made that costs so much more than its metres at the least price.
    target : float
        No more than this need be proven.
    legs : sequence of Legs
        For each end the parts of its walls, each with the last leg from it; none for a point.
    """
    passed = [isinstance(place, Point) for place in places]
    if not passed[0] or len(places) > MOST_PLACES:
        return 0.0
    walls = [parts for parts, point in zip(legs, passed[1:], strict=True) if not point]
    if not all(parts and all(any(leg) for _, leg in parts) for parts in walls):
        return 0.0
    ground = free.buffer(_BESIDE_M)
    reached = [place if isinstance(place, Point) else _walls(place.intersection(ground)) for place in places]
    if any(place.is_empty or place.distance(free) > _BESIDE_M for place in reached):
        return 0.0
    ways = _Ways(scene, reached, free, metre, levels, spare, legs)
    while True:
        price, parts, turns = ways.cheapest()
        if price >= target or ways.work >= MOST_WORK:
            return price
        if not (ways.calibrate(parts) or ways.turn(turns)):
            return price


def _walls(lines: BaseGeometry) -> MultiLineString:
    """Return the lines among some places."""
    return shapely.multilinestrings(
        [part for part in shapely.get_parts(lines) if part.geom_type == "LineString"]
    )


class _Ways:
    """Ways of putting a tree together."""

    def __init__(
        self,
        scene: Scene,
        places: Sequence[Goal],
        free: BaseGeometry,
        metre: float,
        levels: Sequence[Level],
        spare: float,
        legs: Sequence[Legs],
    ) -> None:
        self._places, self._metre, self._tee = places, metre, scene.tee.price
        self._legs: list[Legs] = [(), *legs]
        self._mesh = mesh_of(free, levels, scene.crossed, metre, places)
        self._passing = Passing(scene, free, metre, spare, self._mesh)
        self._open: dict[Part, float] = {}
        self._calibrated: dict[Part, Calibration] = {}
        self._turned: dict[Turn, float] = {}

    def cheapest(self) -> _Way:
        """Return the cheapest way."""
        return min(self._all((0.0, (), ()), {0: None}, frozenset()), key=lambda each: each[0])

    @property
    def work(self) -> int:
        """How many parts are calibrated, what was looked for where ends are passed counting as three."""
        return len(self._calibrated) + 3 * len(self._turned)

    def calibrate(self, parts: Iterable[Part]) -> bool:
        """Calibrate those parts that are not yet; tell whether there were any."""
        new = [part for part in parts if part not in self._calibrated]
        for part in new:
            # a point comes first: the start, or an end that is passed
            first, *others = (self._places[number] for number in part)
            assert isinstance(first, Point)
            self._calibrated[part] = calibrated(self._mesh, first, others)
        return bool(new)

    def turn(self, turns: Iterable[Turn]) -> bool:
        """Find what passing ends costs where it is not known yet; tell whether there were any."""
        new = [turn for turn in turns if turn not in self._turned]
        for come_by, at, part in new:
            self._turned[come_by, at, part] = 0.0
            if len(part) == 2:
                self.calibrate(self._pairs(come_by))
                found = self._passing.more(
                    [self._places[each] for each in come_by],
                    come_by.index(at),
                    self._price(come_by),
                    [self._rises(each) for each in come_by],
                    self._places[part[1]],
                    self._legs[part[1]],
                    self._price(part),
                )
                self._turned[come_by, at, part] = min(found, self._tee)
        return bool(new)

    def _pairs(self, part: Part) -> Iterator[Part]:
        """Give all pairs of places of a part, a point first, but those of two walls."""
        for one, other in combinations(part, 2):
            pair = (one, other) if isinstance(self._places[one], Point) else (other, one)
            if isinstance(self._places[pair[0]], Point) and pair[::-1] not in self._calibrated:
                yield pair

    def _all(self, way: _Way, reached: dict[int, Part | None], turned: frozenset[Part]) -> Iterator[_Way]:
        """Give all ways that begin so.

        ``reached`` says by which part each place is, ``turned`` in which parts bends are counted: in each but once.
        """
        left = [number for number in range(len(self._places)) if number not in reached]
        if not left:
            yield way
            return
        price, parts, turns = way
        for at, come_by in reached.items():
            if not isinstance(self._places[at], Point):
                continue
            for chosen in range(1, 1 << len(left)):
                ends = [number for spot, number in enumerate(left) if chosen >> spot & 1]
                part = (at, *ends)
                more, passed, both = self._price(part) + (len(ends) - 1) * self._tee, turns, turned
                if come_by is not None and come_by not in turned:
                    turn = (come_by, at, part)
                    more += self._turned.get(turn, 0.0)
                    passed, both = (*turns, turn), turned | {come_by, part}
                onward = {**reached, **dict.fromkeys(ends, part)}
                yield from self._all((price + more, (*parts, part), passed), onward, both)

    def _price(self, part: Part) -> float:
        if part in self._calibrated:
            return self._calibrated[part].price
        if part not in self._open:
            self._open[part] = self._metre * open_tree_m([self._places[number] for number in part])
        within = [known.price for other, known in self._calibrated.items() if set(other) < set(part)]
        return max([self._open[part], *within])

    def _rises(self, number: int) -> list[Floats]:
        """Return, by node, what ways to a place cost at least, told by each calibration of a part that ends there."""
        found = []
        for part, known in self._calibrated.items():
            if part[0] == number:
                found += [known.potentials.sum(axis=0), *known.potentials]
            elif number in part:
                end = part.index(number) - 1
                found.append(known.rises[end] - known.potentials[end])
        return found
