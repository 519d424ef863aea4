"""The ground of a site as prices: its surfaces, its roots, the lines that are there, and what they cost a trench.

Likely prices of the rates table of the site. A surface that is paved may be bored under, and so may the roots of a tree
beyond the ones that hold it up. Round a line that is there already the trench is dug by hand as far as the tolerance zone of
the locate rules and the error of its position reach, and it does not run along it there, nor as near as the rules ask two
lines to lie apart.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from shapely import LineString, MultiLineString
from shapely.geometry.base import BaseGeometry

from siteplan.route.grown import grown
from siteplan.route.keep_off import half_trench_m, root_zone_m
from siteplan.route.scene import Bore, Charge, Crossed, Patch, Scene
from siteplan.route.separate import Together
from siteplan.rules.model import Requirements
from siteplan.site.catalogue import ground_rows, kinds
from siteplan.site.evidence import one_sided_m, pair_sigma_m
from siteplan.site.features import Feature, carried_by
from siteplan.site.rates import BENDS
from siteplan.site.site import BORED_UNDER, Site

Strictness = Literal["apart", "zone", "any"]
"""How a trench keeps from running along a line that is there: as far as the rules ask them apart; in its tolerance zone; not."""

BORE_PITS = "bore-pits"
"""Row of the rates table that every bore is priced by, once."""


def priced(
    site: Site, requirements: Requirements, group: Together, free: BaseGeometry, strictness: Strictness
) -> Scene:
    """Price the ground for one group of lines.

    Parameters
    ----------
    site : Site
        In ground metres.
    group : Together
        The lines that lie in one tree of trenches.
    free : shapely geometry
        Where its centreline may lie.
    strictness : {"apart", "zone", "any"}
        How it keeps from running along lines that are there already.
    """
    return Scene(
        free=free,
        dig=charge(site, "dig-machine"),
        restore=charge(site, f"restore-{site.digging.ground}"),
        patches=tuple(_patches(site, requirements)),
        crossed=tuple(_crossed(site, requirements, group, strictness)),
        bends=tuple((largest_deg, charge(site, row)) for largest_deg, row in BENDS),
        tee=charge(site, "tee"),
    )


def charge(site: Site, row: str) -> Charge:
    """Return the likely price of a row of the rates table."""
    return Charge(row=row, price=site.rates[row].likely)


def lines_there(site: Site) -> Iterator[Feature]:
    """Lines in the ground that a trench may cross and not run along."""
    return (
        feature
        for feature in site.features
        if kinds()[feature.kind].dig == "cross" and feature.shape.geom_type.endswith("LineString")
    )


def extent(feature: Feature) -> BaseGeometry:
    """Ground that a surface covers; one drawn as a line covers its stated width, nothing if none is stated."""
    if feature.shape.area:
        return feature.shape
    return feature.shape.buffer(float(feature.facts.get("width", 0.0)) / 2, cap_style="flat")


def tolerance_zone(feature: Feature, requirements: Requirements) -> BaseGeometry:
    """Ground that is dug by hand round a line that is there: the zone of the locate rules and the error of its position."""
    half_m = float(feature.facts.get("diameter", 0.0)) / 2
    error_m = feature.evidence.radius_m + feature.evidence.edge_m
    return grown(feature.shape, requirements.locate.tolerance_m.value + half_m + error_m, corners="outside")


def _patches(site: Site, requirements: Requirements) -> Iterator[Patch]:
    for feature in site.features:
        if kinds()[feature.kind].dig == "surface":
            dig, restore = ground_rows(feature)
            yield Patch(
                feature=feature.id,
                area=extent(feature),
                dig=charge(site, dig) if dig else None,
                restore=charge(site, restore) if restore else None,
                bore=_bore(site) if feature.kind in BORED_UNDER else None,
                shut=feature.id in site.digging.bored_under,
            )
    for tree in site.of_kind("tree"):
        zone_m = root_zone_m(tree, requirements)[0] + half_trench_m(site)
        yield Patch(
            feature=tree.id,
            area=grown(tree.shape, zone_m, corners="outside"),
            dig=charge(site, "dig-roots"),
            bore=_bore(site),
            shut=tree.id in site.digging.bored_under,
        )
    for line in lines_there(site):
        yield Patch(feature=line.id, area=tolerance_zone(line, requirements), dig=charge(site, "dig-hand"))


def _bore(site: Site) -> Bore | None:
    if not site.digging.bore:
        return None
    return Bore(
        pits=charge(site, BORE_PITS),
        per_m=charge(site, "bore"),
        least=charge(site, "bore-least"),
        longest_m=site.digging.longest_bore_m,
    )


def _crossed(
    site: Site, requirements: Requirements, group: Together, strictness: Strictness
) -> Iterator[Crossed]:
    for feature in lines_there(site):
        axis = feature.shape
        assert isinstance(axis, LineString | MultiLineString)
        zone = tolerance_zone(feature, requirements)
        if strictness == "apart":
            zone = zone.union(grown(axis, _apart_m(site, requirements, group, feature), corners="outside"))
        gas = carried_by(feature) == "gas"
        yield Crossed(
            feature=feature.id,
            axis=axis,
            zone=zone,
            toll=charge(site, "crossing-gas" if gas else "crossing"),
            least_angle_deg=0.0 if strictness == "any" else site.digging.least_crossing_angle_deg,
        )


def _apart_m(site: Site, requirements: Requirements, group: Together, feature: Feature) -> float:
    """Distance [m] that the centreline keeps where it runs along a line that is there: as the rules ask, error, half a trench."""
    asked_m = max(
        (
            separation.beside_m
            for line in group.ids
            if (separation := requirements.separation(line, feature.id)) and separation.beside_m is not None
        ),
        default=None,
    )
    if asked_m is None:
        return 0.0
    error_m = one_sided_m(pair_sigma_m(feature.evidence, site.digging.laying), requirements.confidence)
    return asked_m + error_m + half_trench_m(site) + float(feature.facts.get("diameter", 0.0)) / 2
