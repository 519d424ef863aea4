"""Which points a tape net has: corners of what is drawn, points of things known by tape, and those the measurements bring in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.plane.corners import named_corners
from siteplan.read.words import FaultList, Place, listed, near, shown, suggestion
from siteplan.site.features import Feature
from siteplan.site.field_notes import FieldNotes, Measurement
from siteplan.site.site import Site

_LIKE = 0.8
"""How like a corner's name that of a new point may be, 0 to 1; past it, it is taken for a slip of the pen (own choice)."""

_MOST_LISTED = 12


@dataclass(slots=True)
class Names:
    """Points of the net.

    Attributes
    ----------
    names : list of str
        By number of the point, as they print.
    taped : int
        How many of them, from the first, are measured to or from.
    vertices : dict of str to tuple of int
        By id of a feature that takes part: the point at each of its coordinates, in the order of ``shapely.get_coordinates``.
    chains : dict of str to tuple of tuple of int
        The same, outline by outline.
    rows : list of (Measurement, mapping of str to int)
        Each measurement with the points it names: ``point``, ``start``, and where it has them ``towards`` and ``before``.
    """

    names: list[str] = field(default_factory=list)
    taped: int = 0
    vertices: dict[str, tuple[int, ...]] = field(default_factory=dict)
    chains: dict[str, tuple[tuple[int, ...], ...]] = field(default_factory=dict)
    rows: list[tuple[Measurement, Mapping[str, int]]] = field(default_factory=list)


def named(site: Site, notes: FieldNotes, faults: FaultList) -> Names:
    """Find all points of the net of a placed site; what no name fits is noted."""
    return _Naming(site, notes, faults).names()


class _Naming:
    def __init__(self, site: Site, notes: FieldNotes, faults: FaultList) -> None:
        self._notes, self._faults, self._made = notes, faults, Names()
        self._drawn = {each.id: each for each in site.features if not each.shape.is_empty}
        self._features = {each.id: each for each in site.features}
        self._corners: dict[str, set[tuple[str, int]]] = {}
        self._spelled: dict[str, str] = {}
        self._at: dict[tuple[str, int], str] = {}
        for feature in self._drawn.values():
            for name, vertex in corner_names(feature):
                self._corners.setdefault(_key(name), set()).add((feature.id, vertex))
                self._spelled.setdefault(_key(name), name)
                self._at.setdefault((feature.id, vertex), name)
        self._own = {_key(name): name for names in notes.by_points.values() for name in names}
        for row in notes.measurements:
            if _key(row.point) not in self._corners:
                self._own.setdefault(_key(row.point), row.point)
        if not self._drawn and notes.measurements:
            first = notes.measurements[0].start
            self._own.setdefault(_key(first), first)
        self._numbers: dict[str | tuple[str, int], int] = {}

    def names(self) -> Names:
        made = self._made
        for row in self._notes.measurements:
            said = {"start": row.start, "towards": row.towards, "before": row.before, "point": row.point}
            points = {role: self._number(name, row, role) for role, name in said.items() if name}
            if all(number is not None for number in points.values()):
                made.rows.append(
                    (row, {role: number for role, number in points.items() if number is not None})
                )
        made.taped = len(made.names)
        for feature, names in self._notes.by_points.items():
            self._check_measured(feature, names)
        if not len(self._faults):
            self._take_whole_features()
        return made

    def _number(self, name: str, row: Measurement, role: str) -> int | None:
        """Return the number of a named point, None (and a fault) if there is no such point."""
        key = _key(name)
        corners = self._corners.get(key, set())
        if len(corners) > 1:
            ids = {feature for feature, _ in corners}
            self._fault(
                row,
                role,
                f"{shown(name)}, of which there are {len(corners)}",
                f"one by its id: {listed(ids)}",
            )
            return None
        if corners:
            return self._of(next(iter(corners)), self._spelled[key])
        whole = [each for each in self._drawn.values() if key in (_key(each.id), _key(each.name))]
        if whole:
            own = listed(name for (feature, _), name in self._at.items() if feature == whole[0].id)
            expected = f"one of its corners: {own}" if own else "a point, or the corner of an area"
            self._fault(row, role, f"{shown(name)}, which is a {whole[0].kind} and no point", expected)
            return None
        known = list(self._spelled.values())
        new = role == "point" and key in self._own and not self._in_things(key)
        if new and (alike := near(name, known, likeness=_LIKE)):
            expected = "a corner, or a new point with a name unlike"
            self._fault(row, role, f"{shown(name)}, which is not there", expected, f'did you mean "{alike}"?')
            return None
        if key in self._own:
            return self._of(key, self._own[key])
        options = sorted({*known, *self._own.values()})
        fit = suggestion(name, options)
        few = f": {listed(options)}" if not fit and len(options) <= _MOST_LISTED else ""
        self._fault(
            row, role, f"{shown(name)}, which is not there", f"a corner, or a point of another row{few}", fit
        )
        return None

    def _in_things(self, key: str) -> bool:
        return any(key == _key(name) for names in self._notes.by_points.values() for name in names)

    def _fault(self, row: Measurement, role: str, found: str, expected: str, mend: str = "") -> None:
        column = {"start": "from", "towards": "to"}.get(role, role)
        place = Place(file=row.source.file, line=row.source.line, where=column)
        self._faults.add(place, found=found, expected=expected, mend=mend)

    def _of(self, key: str | tuple[str, int], name: str) -> int:
        if key not in self._numbers:
            self._numbers[key] = len(self._made.names)
            self._made.names.append(name)
        return self._numbers[key]

    def _check_measured(self, feature: str, names: tuple[str, ...]) -> None:
        """A thing's points are corners of what is drawn, or measured; none is left in the air."""
        source = self._features[feature].source
        for name in names:
            key = _key(name)
            if key not in self._numbers and len(self._corners.get(key, ())) != 1:
                known = [*self._spelled.values(), *self._made.names]
                self._faults.add(
                    Place(file=source.file, line=source.line, where=f"[[thing]] {feature}, points"),
                    found=f"{shown(name)}, which no row of ties.csv measures",
                    expected="a point of ties.csv or a corner of something drawn",
                    mend=suggestion(name, known),
                )

    def _take_whole_features(self) -> None:
        """Bring in the other corners of each thing that has a point in the net."""
        made = self._made
        for feature, names in self._notes.by_points.items():
            numbers = [self._thing_point(name) for name in names]
            if not self._features[feature].shape.geom_type.endswith("Polygon"):
                made.vertices[feature], made.chains[feature] = tuple(numbers), (tuple(numbers),)
            else:
                closed = (*numbers, numbers[0])
                made.vertices[feature], made.chains[feature] = closed, (closed,)
        for feature in dict.fromkeys(key[0] for key in list(self._numbers) if isinstance(key, tuple)):
            chains, title = [], self._drawn[feature].name
            for chain in _outlines(self._drawn[feature].shape):
                shut = len(chain) > 1 and chain[0][0] == chain[-1][0]
                numbers = [
                    self._of((feature, vertex), self._at.get((feature, vertex), f"{title} {vertex + 1}"))
                    for _, vertex in (chain[:-1] if shut else chain)
                ]
                chains.append((*numbers, numbers[0]) if shut else tuple(numbers))
            made.chains[feature] = tuple((*chain,) for chain in chains)
            made.vertices[feature] = tuple(number for chain in chains for number in chain)

    def _thing_point(self, name: str) -> int:
        key = _key(name)
        if key in self._corners:
            return self._of(next(iter(self._corners[key])), self._spelled[key])
        return self._of(key, self._own[key])


def _key(name: str) -> str:
    return " ".join(name.split()).casefold()


def corner_names(feature: Feature) -> Iterator[tuple[str, int]]:
    """Names of the points of a placed thing that can be taped to, with the number of the coordinate.

    Each place comes by every name that ``ties.csv`` may give it: as the sheets print it first, by id last.
    """
    shape = feature.shape
    if shape.geom_type == "Point":
        yield from ((f"{feature.name} casing", 0),) if feature.kind == "well" else ()
        yield from ((feature.name, 0), (feature.id, 0))
        return
    if shape.geom_type not in ("Polygon", "MultiPolygon"):
        return
    stake = " stake" if feature.kind == "building" and feature.status != "existing" else ""
    places = {
        tuple(at): vertex for vertex, at in reversed(list(enumerate(shapely.get_coordinates(shape).tolist())))
    }
    for side, x, y in named_corners(shape):
        yield f"{feature.name}{stake} {side}", places[x, y]
        yield f"{feature.id}{stake} {side}", places[x, y]


def _outlines(shape: BaseGeometry) -> Iterator[list[tuple[tuple[float, float], int]]]:
    """Each outline as its positions with the number of the coordinate."""
    count = 0
    for part in shapely.get_parts(shape):
        rings = [part.exterior, *part.interiors] if part.geom_type == "Polygon" else [part]
        for ring in rings:
            places = [(x, y) for x, y in shapely.get_coordinates(ring).tolist()]
            yield [(at, count + number) for number, at in enumerate(places)]
            count += len(places)
