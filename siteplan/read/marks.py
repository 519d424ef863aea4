"""``marks.geojson``, ``marks.csv``: paint and test holes after the locate, held against what is drawn.

They come through the readers of all files, as features of kind ``mark`` and ``test_hole`` (and may stand in any file). What one
of them says of another thing is checked here: whose line it is, what its colour may mark, where and when the holes were dug.
"""

from __future__ import annotations

from dataclasses import replace

from shapely.geometry.base import BaseGeometry

from siteplan.read.ground import Ground, id_named
from siteplan.read.shapes import rough_metres
from siteplan.read.words import FaultList, Place, listed, shown, suggestion
from siteplan.site.catalogue import lines_in_the_ground
from siteplan.site.features import Feature, carried_by
from siteplan.site.marks import (
    COLOURS,
    HOLDS_M,
    MARK,
    TEST_HOLE,
    carried_under,
    colour_of,
    kind_under,
)
from siteplan.units import INCH_M

NEW = "new"
"""What ``of`` says of a mark beside a drawn line that is another line."""

_WIDEST_ZONE_M = 24 * INCH_M
"""How far a mark may be off its line [m] in asking whether both are one: 24 in, the wider of the common tolerance zones."""

_ALONG = 0.5
"""Share of a mark beside a drawn line from which it is asked whether both are one line (own choice)."""

_SIDES = ("north", "east", "south", "west")


def check_marks(ground: Ground, faults: FaultList, *, lonlat: bool) -> None:
    """Check all marks and test holes; what they name is replaced by its id. Faults go into the list."""
    marks, holes = ground.of_kind(MARK), ground.of_kind(TEST_HOLE)
    if not marks and not holes:
        return
    features = list(ground.features.values())
    shapes = rough_metres([each.shape for each in features], lonlat=lonlat)
    checks = _Checks(ground, faults, dict(zip(ground.features, shapes, strict=True)))
    for mark in sorted(marks, key=lambda each: "of" not in each.facts):
        checks.mark(mark)
    checks.once_each()
    for hole in holes:
        checks.hole(hole)


def marked_as(kind: str, ground: Ground) -> list[Feature]:
    """Marks of lines of one kind that are not drawn."""
    return [
        mark
        for mark in ground.of_kind(MARK)
        if colour_of(mark) in COLOURS and carried_under(mark) and kind_under(mark) == kind
    ]


class _Checks:
    """Checks of one site; ``shapes`` are rough metres by id."""

    def __init__(self, ground: Ground, faults: FaultList, shapes: dict[str, BaseGeometry]) -> None:
        self._ground, self._faults, self._shapes = ground, faults, shapes

    def mark(self, mark: Feature) -> None:
        """Check one line of paint."""
        colour, before = colour_of(mark), len(self._faults)
        if colour not in COLOURS:
            self._fault(
                mark,
                "colour",
                found=f"the colour {shown(colour)}" if colour else "no colour",
                expected=f"a colour of the uniform colour code: {listed(COLOURS)}",
                mend=suggestion(colour, COLOURS),
            )
            return
        if "depth" in mark.facts:
            self._fault(
                mark,
                "depth",
                found="a depth of paint",
                expected="no depth, as paint shows none",
                mend="where the line was seen, state it as a test_hole with of and depth",
            )
        if mark.shape.geom_type == "MultiLineString":
            self._fault(
                mark,
                "",
                found="paint in pieces that do not join",
                expected="one line",
                mend="lead it through the gaps, as the line under it runs on",
            )
        carries, may = carried_by(mark), COLOURS[colour]
        if carries and carries not in may:
            self._fault(
                mark,
                "carries",
                found=f"{shown(mark.facts['carries'])} under {colour} paint",
                expected=f"one of {listed(may)}" if may else f"nothing, as {colour} marks no line",
            )
        if "of" in mark.facts:
            self._of_drawn(mark, colour)
        elif may and len(self._faults) == before:
            self._ask_if_one(mark)

    def _of_drawn(self, mark: Feature, colour: str) -> None:
        if not COLOURS[colour]:
            what = "a survey" if colour == "pink" else "a proposed excavation"
            self._fault(
                mark, "of", found=f"a line under {colour} paint, which marks {what}", expected="no of"
            )
            return
        if str(mark.facts["of"]).casefold() == NEW:
            self._say(mark, None)
            return
        drawn = self._named(mark, lines_in_the_ground())
        if drawn is None:
            return
        self._say(mark, drawn.id)
        under = _carried(drawn)
        if under and under not in COLOURS[colour]:
            self._fault(
                mark,
                "of",
                found=f"{colour} paint on {shown(drawn.id)}, which carries {under.replace('_', ' ')}",
                expected=f"a line that carries one of {listed(COLOURS[colour])}",
            )
        else:
            self._check_line(mark, drawn)

    def _check_line(self, feature: Feature, drawn: Feature) -> bool:
        if drawn.shape.geom_type in ("LineString", "MultiLineString"):
            return True
        self._fault(
            feature,
            "of",
            found=f"{shown(drawn.id)}, which is not drawn as a line",
            expected="a line in the ground",
        )
        return False

    def _ask_if_one(self, mark: Feature) -> None:
        """A mark along a line that is drawn as well is not taken for it without a word, nor for another."""
        paint = self._shapes[mark.id]
        taken = {str(each.facts["of"]) for each in self._ground.of_kind(MARK) if "of" in each.facts}
        for kind in lines_in_the_ground():
            for drawn in self._ground.of_kind(kind):
                if drawn.id in taken or _carried(drawn) not in ("", *COLOURS[colour_of(mark)]):
                    continue
                off_m = (
                    drawn.evidence.radius_m + drawn.evidence.edge_m + mark.evidence.radius_m + _WIDEST_ZONE_M
                )
                beside = paint.intersection(self._shapes[drawn.id].buffer(off_m))
                if not paint.is_empty and beside.length >= _ALONG * paint.length:
                    self._fault(
                        mark,
                        "of",
                        found=f"{colour_of(mark)} paint along {shown(drawn.id)}, within the errors of both",
                        expected="whether it is that line",
                        mend=f'say of = "{drawn.id}", or of = "{NEW}" if it is another',
                    )

    def once_each(self) -> None:
        """Note a second mark of one drawn line."""
        first: dict[str, Feature] = {}
        for mark in self._ground.of_kind(MARK):
            if "of" in mark.facts and (other := first.setdefault(str(mark.facts["of"]), mark)) is not mark:
                self._fault(
                    mark,
                    "of",
                    found=f"a second mark of {shown(mark.facts['of'])}, beside {shown(other.id)}",
                    expected="one mark for each drawn line",
                    mend="make one line of both",
                )

    def hole(self, hole: Feature) -> None:
        """Check one test hole."""
        facts = hole.facts
        found = facts.get("found", True if "depth" in facts else None)
        if found is None:
            self._fault(
                hole,
                "found",
                found="neither found nor a depth",
                expected="found = true with a depth, or false",
            )
        elif found and "depth" not in facts:
            self._fault(
                hole,
                "depth",
                found="a line that was found, without a depth",
                expected='ground to the top of the line, such as "31 in"',
            )
        elif not found and "depth" in facts:
            self._fault(
                hole,
                "depth",
                found="the depth of a line that was not found",
                expected="no depth",
                mend="how deep it was dug for nothing is dug",
            )
        side = str(facts.get("offset_side", "")).casefold()
        if (side and side not in _SIDES) or ("offset_side" in facts) != bool(facts.get("offset")):
            self._fault(
                hole,
                "offset_side",
                found=shown(side) if side else "an offset without a side",
                expected=f"offset and offset_side, one of {listed(_SIDES)}",
            )
        if "of" not in facts:
            self._fault(
                hole, "of", found="no of", expected="the id of the line, or of the mark, that it was dug for"
            )
            return
        of = self._named(hole, (*lines_in_the_ground(), MARK))
        if of is None or found is None or not self._check_line(hole, of):
            return
        self._check_off(hole, of)
        self._check_dates(hole, of)
        if of.kind == MARK and not carried_under(of):
            self._fault(
                hole, "of", found=f"{shown(of.id)}, which marks no line", expected="a line in the ground"
            )
        line = str(of.facts.get("of", of.id)) if of.kind == MARK else of.id
        said = {**hole.facts, "of": line, "found": found}
        self._keep(hole, said | ({"offset_side": side} if side else {}))

    def _check_off(self, hole: Feature, of: Feature) -> None:
        marked = [mark for mark in self._ground.of_kind(MARK) if mark.facts.get("of") == of.id]
        drawn = [of, *marked]
        off_m = min(self._shapes[hole.id].distance(self._shapes[each.id]) for each in drawn)
        may_m = HOLDS_M + hole.evidence.radius_m + max(each.evidence.radius_m for each in drawn)
        if off_m > may_m:
            self._fault(
                hole,
                "",
                found=f"a test hole {off_m:.1f} m off {shown(of.id)}",
                expected=f"at most {may_m:.1f} m, its error and that of the line included",
                mend="is it of another line, or its place wrong?",
            )

    def _check_dates(self, hole: Feature, of: Feature) -> None:
        dug, ticket = str(hole.facts.get("date", "")), hole.facts.get("ticket")
        for mark in self._ground.of_kind(MARK):
            painted = str(mark.facts.get("date", ""))
            is_its = mark.id == of.id or mark.facts.get("of") == of.id
            same = ticket is not None and mark.facts.get("ticket") == ticket
            if dug and painted and dug < painted and (is_its or same):
                self._fault(
                    hole,
                    "date",
                    found=f"{dug}, before {painted}, the date of the mark {shown(mark.id)}",
                    expected="a hole dug after the locate",
                )
                return

    def _named(self, feature: Feature, kinds: tuple[str, ...]) -> Feature | None:
        """Feature that ``of`` names; None, with the fault noted, if it is none of these kinds."""
        before = len(self._faults)
        place = replace(_place(feature), where=f"{feature.id}, of")
        own = id_named(place, str(feature.facts["of"]), kinds, self._ground, self._faults, lines=())
        return self._ground.features.get(own) if len(self._faults) == before else None

    def _say(self, feature: Feature, of: str | None) -> None:
        rest = {name: value for name, value in feature.facts.items() if name != "of"}
        self._keep(feature, rest if of is None else {**rest, "of": of})

    def _keep(self, feature: Feature, facts: dict[str, str | float | bool]) -> None:
        self._ground.features[feature.id] = replace(feature, facts=facts)

    def _fault(self, feature: Feature, what: str, *, found: str, expected: str, mend: str = "") -> None:
        place = _place(feature)
        where = f"{place.where}, {what}" if what else place.where
        self._faults.add(replace(place, where=where), found=found, expected=expected, mend=mend)


def _carried(drawn: Feature) -> str:
    return carried_by(drawn) if drawn.kind == "buried_line" else drawn.kind


def _place(feature: Feature) -> Place:
    return Place(file=feature.source.file, line=feature.source.line, where=feature.id)
