"""The trenches as they are dug: sections, pull points and spoil, all that the price list is measured from."""

from __future__ import annotations

from dataclasses import dataclass

from siteplan.measure.bends import pulls
from siteplan.measure.model import Interval, Pull, Section, SpoilPile
from siteplan.measure.profile import Trench
from siteplan.measure.sections import sections
from siteplan.measure.spoil import no_room, spoil_pile
from siteplan.measure.surfaces import stretches
from siteplan.measure.take_off import developed_lengths
from siteplan.plane.ground import GroundSurface
from siteplan.route.model import Layout, LinePath, Reach
from siteplan.route.strip import strip_ground
from siteplan.rules.model import Requirements
from siteplan.site.site import Site


@dataclass(frozen=True, slots=True, kw_only=True)
class Excavation:
    """The trenches of a layout.

    Attributes
    ----------
    sections : tuple of Section
        Each once.
    trenches : tuple of Trench
        In the order of the reaches.
    developed_m : tuple of (str, float)
        Length [m] of each line to lay along the ground, by its id.
    pulls : tuple of Pull
        Of the conduits.
    piles : tuple of SpoilPile
        Of each trench.
    cramped : tuple of Interval
        Stretches where neither side has room for the pile.
    """

    sections: tuple[Section, ...]
    trenches: tuple[Trench, ...]
    developed_m: tuple[tuple[str, float], ...]
    pulls: tuple[Pull, ...]
    piles: tuple[SpoilPile, ...]
    cramped: tuple[Interval, ...]

    @property
    def no_room_m(self) -> float:
        """Length [m] along which neither side has room for the pile."""
        return sum(each.to_m - each.from_m for each in self.cramped)

    @property
    def pull_points(self) -> int:
        """Pull points of all conduits."""
        return sum(pull.from_m > 0.0 for pull in self.pulls)


class Excavations:
    """Excavations of the layouts of a plan, each worked out once: layouts are compared by them, and one is measured."""

    def __init__(self) -> None:
        self._dug: dict[
            tuple[tuple[Reach, ...], tuple[LinePath, ...]],
            tuple[tuple[Site, Requirements, GroundSurface | None], Excavation],
        ] = {}

    def of(
        self, site: Site, requirements: Requirements, layout: Layout, ground: GroundSurface | None
    ) -> Excavation:
        """Return the ``excavation`` of a layout: the one known if its trenches lie alike and the rest is the very same."""
        trenches, given = (layout.reaches, layout.paths), (site, requirements, ground)
        known = self._dug.get(trenches)
        if known is None or any(one is not other for one, other in zip(known[0], given, strict=True)):
            known = given, excavation(site, requirements, layout, ground)
            self._dug[trenches] = known
        return known[1]


def excavation(
    site: Site, requirements: Requirements, layout: Layout, ground: GroundSurface | None
) -> Excavation:
    """Dig the trenches of a layout.

    Raises
    ------
    InputFaults
        As ``measure``.
    """
    walked = {reach.name: stretches(site, reach) for reach in layout.reaches}
    cut = sections(site, requirements, (stretch for each in walked.values() for stretch in each))
    trenches = tuple(Trench.of(reach, walked[reach.name], cut, ground) for reach in layout.reaches)
    developed_m = developed_lengths(site, layout, {trench.name: trench for trench in trenches})
    pulled = pulls(site, requirements, layout, dict(developed_m))
    open_ground = strip_ground(site)
    piles = tuple(spoil_pile(site, requirements, trench, open_ground) for trench in trenches)
    return Excavation(
        sections=tuple(cut.values()),
        trenches=trenches,
        developed_m=developed_m,
        pulls=pulled,
        piles=piles,
        cramped=tuple(no_room(piles)),
    )
