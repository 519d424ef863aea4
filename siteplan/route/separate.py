"""Which lines may lie in one trench, and how far apart the others are kept.

Lines that begin at one place lie in one tree of trenches as long as the rules let every two of them share; a line that
tees off another one always goes with it. The others get a tree of their own, kept clear of the first but for a short
piece at a place where both begin or end.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import shapely
from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry

from siteplan.route.grown import grown
from siteplan.route.model import KeptOff
from siteplan.rules.model import Requirements
from siteplan.site.evidence import one_sided_m, pair_sigma_m
from siteplan.site.features import Line
from siteplan.site.site import Site
from siteplan.units import Printer

PARTING_DEG = 45.0
"""Trenches that must lie apart leave a common place at this angle or more (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Together:
    """Lines that lie in one tree of trenches.

    Attributes
    ----------
    root : str
        Id of the feature from which they all come.
    lines : tuple of Line
        In the order of the site.
    """

    root: str
    lines: tuple[Line, ...]

    @property
    def ends(self) -> dict[str, tuple[Line, ...]]:
        """The lines by the id of the feature where they end."""
        ends: dict[str, tuple[Line, ...]] = {}
        for line in self.lines:
            ends[line.end] = (*ends.get(line.end, ()), line)
        return ends

    @property
    def ids(self) -> tuple[str, ...]:
        """Ids of the lines."""
        return tuple(line.id for line in self.lines)

    def families(self, start: BaseGeometry) -> list[frozenset[int]] | None:
        """Return the ends that must hang together without the start, given where that is, by their numbers.

        From a point any two trenches hang together. From walls they may not, so there an end joins the trench of the line
        that its own line tees off. ``None`` if none must.
        """
        if isinstance(start, Point):
            return None
        end_of = {line.id: line.end for line in self.lines}
        order = list(self.ends)
        joined: list[set[int]] = []
        for line in self.lines:
            if line.start in end_of:
                pair = {order.index(line.end), order.index(end_of[line.start])}
                near = [each for each in joined if each & pair]
                joined = [each for each in joined if not each & pair] + [pair.union(*near)]
        return [frozenset(each) for each in joined] or None


def first_of(site: Site, line: Line) -> Line:
    """Return the line from which a line comes at last, over all tees: itself if it starts at a feature."""
    by_id = {other.id: other for other in site.lines}
    seen = {line.id}
    while line.start in by_id:
        line = by_id[line.start]
        if line.id in seen:
            raise ValueError(f"{line.id} tees off itself")
        seen.add(line.id)
    return line


def together(site: Site, requirements: Requirements) -> tuple[Together, ...]:
    """Sort the lines into trees of trenches, in the order of the site."""
    trees: list[list[str]] = []
    families: dict[str, list[str]] = {}
    for line in site.lines:
        families.setdefault(first_of(site, line).id, []).append(line.id)
    for first, family in families.items():
        root = site.line(first).start
        for tree in trees:
            if site.line(tree[0]).start == root and _may_all_share(requirements, tree, family):
                tree.extend(family)
                break
        else:
            trees.append(list(family))
    return tuple(
        Together(root=site.line(tree[0]).start, lines=tuple(line for line in site.lines if line.id in tree))
        for tree in trees
    )


def clear_of(
    site: Site,
    requirements: Requirements,
    later: Together,
    first: Together,
    trenches: Mapping[str, Sequence[LineString]],
    meeting: Sequence[Point],
) -> tuple[KeptOff, ...]:
    """Find what lines keep off the trenches of lines that they may not share with.

    Parameters
    ----------
    later, first : Together
        From one root; ``first`` has been laid.
    trenches : mapping of str to sequence of LineString
        Trenches by the line of ``first`` that lies in them, ground metres.
    meeting : sequence of Point
        Places where both begin or end: there the trenches may come together.

    Returns
    -------
    tuple of KeptOff
        One for each line of ``first`` that some line of ``later`` may not share with; ``feature`` is the id of that line.
    """
    bucket_m = site.digging.bucket_m
    laying = site.digging.laying
    error_m = one_sided_m(pair_sigma_m(laying, laying), requirements.confidence)
    found = []
    for line in first.lines:
        apart = [
            (separation.beside_m or 0.0, separation.citation.row, other.id)
            for other in later.lines
            if (separation := requirements.separation(other.id, line.id)) and not separation.may_share
        ]
        if not apart:
            continue
        required_m, row, _ = max(apart)
        distance_m = required_m + error_m + bucket_m
        parting_m = distance_m / math.sin(math.radians(PARTING_DEG))
        area = grown(shapely.union_all(list(trenches[line.id])), distance_m, corners="outside")
        found.append(
            KeptOff(
                feature=line.id,
                area=area.difference(shapely.union_all([place.buffer(parting_m) for place in meeting])),
                distance_m=distance_m,
                required_m=required_m,
                error_m=error_m,
                half_width_m=bucket_m,
                row=row,
                lines=tuple(line_id for _, _, line_id in apart),
            )
        )
    return tuple(found)


def reasons(
    site: Site, requirements: Requirements, trees: Sequence[Together]
) -> tuple[tuple[str, str, str], ...]:
    """Say of every two lines to lay why they share a trench or lie apart, in words that print."""
    tree_of = {line.id: tree for tree in trees for line in tree.lines}
    return tuple(
        (one.id, other.id, _reason(site, requirements, tree_of, one, other))
        for one, other in combinations(site.lines, 2)
    )


def _may_all_share(requirements: Requirements, tree: Sequence[str], family: Sequence[str]) -> bool:
    return all(_may_share(requirements, one, other) for one in tree for other in family)


def _may_share(requirements: Requirements, one: str, other: str) -> bool:
    separation = requirements.separation(one, other)
    return separation is None or separation.may_share


def _reason(
    site: Site, requirements: Requirements, tree_of: Mapping[str, Together], one: Line, other: Line
) -> str:
    separation = requirements.separation(one.id, other.id)
    if tree_of[one.id].root != tree_of[other.id].root:
        return "own trench: they begin at different places"
    kept = Printer(site.units).length(separation.beside_m) if separation and separation.beside_m else ""
    if tree_of[one.id] is tree_of[other.id]:
        if separation is None:
            return "one trench as far as both go: the rules read here say nothing against it"
        apart = f", {kept} apart" if kept else ""
        return f"one trench as far as both go{apart} ({separation.citation.row})"
    if separation is None or separation.may_share:
        return "own trench: one of them goes with a line that the other may not share with"
    apart = f"kept {kept} apart" if kept else "they may not share"
    return f"own trench: {apart} ({separation.citation.row})"
