"""Things that ``site.toml`` gives by taped points: features without coordinates until the tapes are solved."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from shapely import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.read.features import feature_of
from siteplan.read.ground import Ground
from siteplan.read.record import Record
from siteplan.read.shapes import Form, in_words
from siteplan.read.site_file import Row
from siteplan.read.site_model import ThingTable
from siteplan.read.words import FaultList, Unusable, listed, shown
from siteplan.site.catalogue import kinds

_EMPTY: dict[Form, BaseGeometry] = {"point": Point(), "line": LineString(), "area": Polygon()}
_LEAST: dict[Form, int] = {"area": 3, "line": 2, "point": 1}
_BY_TAPE = ("method", "error", "shared_error", "outing")


def put_things(
    rows: Sequence[Row[ThingTable]], ground: Ground, faults: FaultList
) -> Mapping[str, tuple[str, ...]]:
    """Add each thing to what is on the ground, with an empty shape; return the names of its points by its id.

    Faults go into the list.
    """
    points: dict[str, tuple[str, ...]] = {}
    for row in rows:
        table, extra = row.table, row.table.model_extra or {}
        try:
            shape = _EMPTY[_form(table)]
        except Unusable as misfit:
            faults.take(row.at("points"), misfit)
            shape = None
        for name in _BY_TAPE:
            if name in extra:
                faults.add(
                    row.at(name),
                    found=f"{name} of a thing that is known by taped points",
                    expected="no such key, as its error follows from ties.csv",
                    mend="state it there",
                )
        said = {"kind": table.kind, "name": table.name or "", **extra}
        record = Record(
            place=row.place,
            id=table.id,
            properties={name: value for name, value in said.items() if value != "" and name not in _BY_TAPE},
            shape=shape,
        )
        feature = feature_of(record, None, faults)
        if table.id in ground.features or table.id in points:
            faults.add(
                row.at("id"), found=f"the id {shown(table.id)} a second time", expected="an id of its own"
            )
        elif feature is None:
            ground.spoilt[table.id] = table.kind
        else:
            ground.features[table.id] = feature
            points[table.id] = tuple(table.points)
    return points


def _form(table: ThingTable) -> Form:
    """What its points make: as its kind may be drawn, an area if both a line and an area will do and nothing is said."""
    names, can = table.points, kinds()[table.kind].shapes
    if len({name.casefold() for name in names}) < len(names):
        raise Unusable(
            found=f"points {listed(names)}", expected="each point once, an area is closed without repeating"
        )
    if table.shape is not None:
        fits = [table.shape] if table.shape in can else []
    else:
        fits = [form for form in _LEAST if form in can and (form != "point" or len(names) == 1)]
    for form in fits:
        if len(names) >= _LEAST[form] and (form != "point" or len(names) == 1):
            return form
    few = f"{len(names)} point" + ("" if len(names) == 1 else "s")
    raise Unusable(
        found=f"a {kinds()[table.kind].name} of {few}",
        expected=f"{in_words(can)}: one point, two or more for a line, three or more for an area",
    )
