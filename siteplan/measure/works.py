"""The flow of this room: from a layout to everything measured of it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import pi

from siteplan.measure import earthwork
from siteplan.measure.bends import bends
from siteplan.measure.crossings import crossings, hand_digs, hand_spans
from siteplan.measure.depths import deep_stretches
from siteplan.measure.excavation import Excavations
from siteplan.measure.laser import bench_mark, held_readings
from siteplan.measure.model import Interval, Section, Volumes, Works
from siteplan.measure.prices import price_list
from siteplan.measure.profile import Trench
from siteplan.measure.stations import stations
from siteplan.measure.sweeps import lines_in_arcs
from siteplan.measure.take_off import quantities
from siteplan.measure.ties import Tapes, corners
from siteplan.plane.ground import GroundSurface
from siteplan.route.model import Layout
from siteplan.rules.model import Requirements
from siteplan.site.catalogue import soils
from siteplan.site.site import Site


def measure(
    site: Site,
    requirements: Requirements,
    layout: Layout,
    ground: GroundSurface | None,
    *,
    excavations: Excavations | None = None,
) -> Works:
    """Measure the trenches of a layout.

    Parameters
    ----------
    site : Site
        In ground metres.
    ground : GroundSurface or None
        ``None``: no levels; cuts are then from the ground surface only, and lengths are map lengths.
    excavations : Excavations, optional
        What is dug already.

    Raises
    ------
    InputFaults
        A line whose cover neither rules nor site put a number on; a surface that is crossed and has no width.
    """
    dug = (excavations or Excavations()).of(site, requirements, layout, ground)
    trenches = dug.trenches
    turned = bends(site, trenches)
    spans = hand_spans(site, requirements, trenches)
    register = crossings(site, requirements, trenches, spans)
    by_hand = hand_digs(site, requirements, trenches, register, spans)
    fixed = corners(site)
    tapes = Tapes(site, fixed)
    rows = tuple(
        station
        for trench, pile in zip(trenches, dug.piles, strict=True)
        for station in stations(
            site,
            trench,
            layout=layout,
            bends=turned,
            crossings=register,
            hand_digs=by_hand,
            pulls=dug.pulls,
            pile=pile,
            tapes=tapes,
        )
    )
    volumes = _volumes(site, trenches)
    return Works(
        stations=rows,
        sections=dug.sections,
        intervals=(
            *by_hand,
            *_bores(site, trenches),
            *dug.cramped,
            *deep_stretches(site, requirements, trenches),
        ),
        crossings=register,
        bends=turned,
        corners=fixed,
        pulls=dug.pulls,
        volumes=volumes,
        spoil=dug.piles,
        quantities=quantities(
            site,
            layout,
            trenches,
            volumes=volumes,
            developed_m=dict(dug.developed_m),
            hand_digs=by_hand,
            crossings=register,
            pulls=dug.pulls,
        ),
        prices=price_list(site, layout.bill, no_room_m=dug.no_room_m, pull_points=dug.pull_points),
        developed_m=dug.developed_m,
        bench_mark=bench_mark(site, rows),
        held=tuple(held_readings(site, trenches)),
        levelled=all(station.grade_m is not None for station in rows),
        eased=tuple(lines_in_arcs(site, layout, dug.pulls)),
    )


def _bores(site: Site, trenches: Iterable[Trench]) -> Iterator[Interval]:
    for trench in trenches:
        for bored in trench.reach.bored:
            what = f"bored under {site.feature(bored.feature).name}"
            yield Interval(reach=trench.name, from_m=bored.from_m, to_m=bored.to_m, what=what)


def _volumes(site: Site, trenches: tuple[Trench, ...]) -> Volumes:
    parts = [part for trench in trenches for part in trench.opened]
    return earthwork.totals(
        by_reach=tuple((trench.name, _trench_m3(trench)) for trench in trenches),
        extras=tuple(_pits(site, trenches)),
        bedding_m3=sum(
            earthwork.trench_m3(
                stretch.length_m, section.width_m, section.side_slope, section.bedding_m, section.bedding_m
            )
            for stretch, section in parts
        ),
        lines_m3=sum(
            stretch.length_m * pi * laid.outside_m**2 / 4
            for stretch, section in parts
            for laid in section.lines
        ),
        soil=soils()[site.digging.soil],
    )


def _trench_m3(trench: Trench) -> float:
    return sum(
        earthwork.trench_m3(
            stretch.length_m, section.width_m, section.side_slope, section.cut_m, section.cut_m
        )
        for stretch, section in trench.opened
    )


def _pits(site: Site, trenches: Iterable[Trench]) -> list[tuple[str, float]]:
    """Bell-hole at each casing, as deep as the deepest trench there; a pit at each wall, entry, hydrant and end of a bore."""
    meeting: dict[str, list[Section]] = {}
    for trench in trenches:
        for at, distance_m in ((trench.reach.starts_at, 0.0), (trench.reach.ends_at, trench.reach.length_m)):
            meeting.setdefault(at, []).append(trench.at(distance_m)[1])
    found = []
    for feature in site.features:
        if feature.id not in meeting:
            continue
        deepest = max(meeting[feature.id], key=lambda section: section.cut_m)
        if feature.kind == "well":
            found.append((f"bell-hole at {feature.name}", earthwork.bell_hole_m3(deepest)))
        else:
            found.append((f"pit at {feature.name}", earthwork.end_pit_m3(deepest)))
    for trench in trenches:
        for bored in trench.reach.bored:
            (_, first), *_, (_, last) = 2 * trench.between(bored.from_m, bored.to_m)
            pits_m3 = earthwork.end_pit_m3(first) + earthwork.end_pit_m3(last)
            found.append((f"two pits of the bore under {site.feature(bored.feature).name}", pits_m3))
    return found
