"""Other ways over the same ground: across, round or under what is not plain, where the chosen trenches do not go so."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import partial

import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.route.choice import Attempt, Choice, Found, Lay
from siteplan.route.model import KeptOff
from siteplan.route.price_words import ground_name
from siteplan.route.priced.bill import Item
from siteplan.route.scene import Patch
from siteplan.site.catalogue import ground_rows, kinds
from siteplan.site.features import Feature
from siteplan.site.site import Site

APART_M = 1.0
"""Layouts that lie nowhere farther apart than this [m] are one, unless one of them bores where the other digs."""

MOST_BESIDE = 8
"""So many of the surfaces that the trenches do not meet are tried, the nearest (own choice): each is a search of its own."""

_TOUCHING_M = 0.1
_THIN_M = 0.02
_NEARLY = 0.98
_PAVED = ("drive", "walk", "road")


def over_surfaces(site: Site, chosen: Attempt, patches: Sequence[Patch], attempt: Lay) -> Iterator[Found]:
    """Give layouts that go over, round or under a paved surface, or through ledge or woods, where the chosen one does not."""
    things = {feature.id: feature for feature in site.features}
    for patch in _worth_trying(site, chosen, patches):
        feature, area = things[patch.feature], patch.area
        paved = feature.kind in _PAVED
        name, only = ground_name(feature), frozenset([feature.id])
        if not _meets(chosen, area):
            near = area.buffer(APART_M)
            if not paved and not _bends_on(chosen, area):
                continue
            choice = Choice(
                name=f"{'across' if paved else 'through'} {name}",
                kind="over",
                crossed=feature.id,
                worth=near.intersects,
            )
            found = attempt(choice)
            if found and _meets(found, area):
                yield _dearest_share(site, chosen, (choice, found), patch, attempt)
            continue
        if patch.bore:
            if feature.id in chosen.bored:
                other = Choice(name=f"an open cut through {name}", kind="cut", dug=only)
            else:
                other = Choice(
                    name=f"bored under {name}", kind="bore", bored=only, worth=partial(_over, area)
                )
            found = attempt(other)
            if found and _meets(found, area) and (feature.id in found.bored) == bool(other.bored):
                yield other, found
        yield from _round(name, area, attempt)


def _worth_trying(site: Site, chosen: Attempt, patches: Sequence[Patch]) -> list[Patch]:
    """Return the surfaces that are paved or dearer than plain ground: those that the trenches meet, and the nearest others."""
    kind_of = {feature.id: feature.kind for feature in site.features}
    surfaces = [
        patch
        for patch in patches
        if kind_of[patch.feature] in _PAVED
        or (kinds()[kind_of[patch.feature]].dig == "surface" and _is_dearer(site, patch))
    ]
    met = {patch.feature for patch in surfaces if _meets(chosen, patch.area)}
    away_m = {
        patch.feature: float(patch.area.distance(chosen.trenches))
        for patch in surfaces
        if patch.feature not in met
    }
    tried = met.union(sorted(away_m, key=lambda feature: away_m[feature])[:MOST_BESIDE])
    return [patch for patch in surfaces if patch.feature in tried]


def _round(name: str, area: BaseGeometry, attempt: Lay) -> Iterator[Found]:
    choice = Choice(name=f"round {name}", kind="round", closed=(area,))
    found = attempt(choice)
    if found:
        yield choice, found


def _is_dearer(site: Site, patch: Patch) -> bool:
    """Is it dearer to dig and put back than plain ground."""
    plain = "dig-machine", f"restore-{site.digging.ground}"
    dig, restore = (
        (charge.price if charge else site.rates[row].likely)
        for charge, row in zip((patch.dig, patch.restore), plain, strict=True)
    )
    return dig + restore > math.fsum(site.rates[row].likely for row in plain)


def under_roots(
    site: Site,
    chosen: Attempt,
    kept_off: Sequence[KeptOff],
    patches: Sequence[Patch],
    attempt: Lay,
) -> Iterator[Found]:
    """Give layouts bored under the roots of a tree that the chosen one digs or goes round, and round roots that it meets.

    Nobody is told to dig among roots that the chosen layout spares.
    """
    trees = {tree.id: tree for tree in site.of_kind("tree")}
    trunks = {kept.feature: kept.area for kept in kept_off if kept.feature in trees}
    for patch in patches:
        if patch.feature not in trees:
            continue
        name, area = ground_name(trees[patch.feature]), patch.area
        only, met = frozenset([patch.feature]), _meets(chosen, area)
        if not met and not _bends_on(chosen, area, trunks.get(patch.feature, area)):
            continue
        if patch.bore and patch.feature not in chosen.bored:
            choice = Choice(
                name=f"bored under {name}",
                kind="roots",
                bored=only,
                crossed="" if met else patch.feature,
                worth=partial(_over, area),
            )
            found = attempt(choice)
            if found and patch.feature in found.bored:
                yield choice, found
        if met:
            yield from _round(name, area, attempt)


def _bends_on(chosen: Attempt, *areas: BaseGeometry) -> bool:
    """Tell whether trenches bend at the edge of one of some areas."""
    bends = shapely.multipoints([place for path in chosen.paths for place in path.coords[1:-1]])
    return any(area.boundary.distance(bends) <= _TOUCHING_M for area in areas)


def _dearest_share(
    site: Site,
    chosen: Attempt,
    first: Found,
    patch: Patch,
    attempt: Lay,
) -> Found:
    """Cross a surface again at nearly the largest share of its price at which that is no dearer than the chosen layout.

    So the crossing is about as short as it would be at the full price.
    """
    choice, crossing = first
    beyond = _beyond_plain(site, site.feature(patch.feature), crossing.bill)
    share = _NEARLY * (1.0 - (crossing.price - chosen.price) / beyond) if beyond > 0.0 else 0.0
    if not 0.0 < share < 1.0 or patch.feature in crossing.bored:
        return first
    again = replace(choice, share=share)
    shorter = attempt(again)
    if shorter is None or not _meets(shorter, patch.area) or shorter.price >= crossing.price:
        return first
    return again, shorter


def _beyond_plain(site: Site, feature: Feature, bill: Sequence[Item]) -> float:
    """Return what digging and restoring a surface costs beyond plain ground."""
    plain = ("dig-machine", f"restore-{site.digging.ground}")
    return math.fsum(
        item.price - item.amount * site.rates[usual].likely
        for row, usual in zip(ground_rows(feature), plain, strict=True)
        for item in bill
        if item.of == feature.id and item.row == row
    )


def _meets(attempt: Attempt, area: BaseGeometry) -> bool:
    return _over(area, attempt.trenches)


def _over(area: BaseGeometry, trenches: BaseGeometry) -> bool:
    """Tell whether trenches go over an area for more than a touch; along its edge is not over it."""
    return bool(trenches.intersection(area.buffer(-_THIN_M)).length > _TOUCHING_M)
