"""Made-up sites with prices for the benches; the same seed gives the same site everywhere."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from shapely import LineString, Point, Polygon, affinity, box

from siteplan.route.approach import Approach
from siteplan.route.scene import Bore, Charge, Crossed, Patch, Scene

SIDE_M = 110.0
CLEAR_M = 1.5

BENDS = (
    (22.5, Charge(row="bend-22", price=28.0)),
    (45.0, Charge(row="bend-45", price=40.0)),
    (90.0, Charge(row="bend-90", price=65.0)),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class PricedSite:
    """A site whose ground is not all of one price; made-up prices."""

    parcel: Polygon
    buildings: list[Polygon]
    patches: tuple[Patch, ...]
    crossed: tuple[Crossed, ...]
    well: tuple[float, float]
    house: int

    @property
    def vertices(self) -> int:
        """How many corners buildings, patches and lines have together."""
        areas = [*self.buildings, *(patch.area for patch in self.patches)]
        return int(shapely.get_num_coordinates(areas).sum())

    def scene(self, moved: int | None = None, by: tuple[float, float] = (0.0, 0.0)) -> Scene:
        """Return the site as a scene, one building moved if wanted."""
        buildings = [
            affinity.translate(building, *by) if i == moved else building
            for i, building in enumerate(self.buildings)
        ]
        kept_off = shapely.union_all([building.buffer(CLEAR_M, join_style="mitre") for building in buildings])
        return Scene(
            free=self.parcel.difference(kept_off),
            dig=Charge(row="dig", price=22.0),
            restore=Charge(row="sod", price=8.0),
            patches=self.patches,
            crossed=self.crossed,
            bends=BENDS,
            tee=Charge(row="tee", price=90.0),
        )

    def ends(self) -> tuple[Approach, Approach, Approach]:
        """Return the well, the walls of the house, and a place at the far side."""
        corners = shapely.get_coordinates(shapely.orient_polygons(self.buildings[self.house]))
        places = []
        for start, end in pairwise(corners):
            along = (end - start) / math.dist(start, end)
            out = np.array([along[1], -along[0]]) * CLEAR_M
            wall = LineString([start + 0.5 * along + out, end - 0.5 * along + out])
            places.append((wall, (float(-out[0]), float(-out[1]))))
        house = Approach(feature="house", places=tuple(places), leg_m=CLEAR_M)
        return point(self.well), house, point((3.0, SIDE_M - 3.0))


def point(place: tuple[float, float]) -> Approach:
    """Return the approach to one place."""
    return Approach(feature="place", places=((Point(place), (0.0, 0.0)),), leg_m=0.0)


def priced_site(seed: int) -> PricedSite:
    """Return a site of about 300 corners: road, drive, walk, 8 to 12 buildings, 10 trees and 2 buried lines."""
    rng = np.random.default_rng([seed, 411])
    parcel = box(0, 0, SIDE_M, SIDE_M)
    y = rng.uniform(28, 44, 3)
    bend_x, drive_x = rng.uniform(40, 60), rng.uniform(58, 75)
    flat = {"cap_style": "flat", "join_style": "mitre"}
    road = LineString([(-5, y[0]), (bend_x, y[1]), (SIDE_M + 5, y[2])]).buffer(3.5, **flat)
    drive = LineString([(drive_x, y[1]), (drive_x + 4, 65), (drive_x - 6, 85)]).buffer(1.8, **flat)
    walk = LineString([(drive_x - 6, 85), (drive_x - 22, 80), (drive_x - 30, 66)]).buffer(0.7, **flat)
    lines = [
        LineString([(rng.uniform(10, 25), 0), (rng.uniform(15, 35), 60), (rng.uniform(5, 25), SIDE_M)]),
        LineString(
            [
                (0, rng.uniform(52, 60)),
                (rng.uniform(40, 70), rng.uniform(48, 58)),
                (SIDE_M, rng.uniform(50, 62)),
            ]
        ),
    ]
    busy = shapely.union_all([road, drive])
    buildings: list[Polygon] = []
    count = int(rng.integers(8, 13))
    while len(buildings) < count:
        wide, deep = rng.uniform(5, 13), rng.uniform(5, 10)
        turned = affinity.rotate(box(-wide / 2, -deep / 2, wide / 2, deep / 2), rng.uniform(0, 90))
        placed = affinity.translate(turned, *rng.uniform(12, SIDE_M - 12, 2))
        apart = all(placed.distance(other) > 2 * CLEAR_M + 0.6 for other in buildings)
        if apart and placed.distance(busy) > CLEAR_M and all(placed.distance(line) > 2.2 for line in lines):
            buildings.append(placed)
    kept_off = shapely.union_all(
        [building.buffer(CLEAR_M + 0.3, join_style="mitre") for building in buildings]
    )
    while True:
        well = (float(rng.uniform(3, SIDE_M - 3)), float(rng.uniform(3, 20)))
        if kept_off.distance(Point(well)) > 0:
            break
    house = max(range(count), key=lambda i: buildings[i].centroid.y)
    patches = [
        Patch(
            feature="road",
            area=road,
            dig=_each("asphalt-dig", 45.0),
            restore=_each("asphalt", 95.0),
            bore=_bore(520.0, 62.0),
        ),
        Patch(
            feature="drive",
            area=drive,
            dig=_each("gravel-dig", 26.0),
            restore=_each("gravel", 48.0),
            bore=_bore(180.0, 40.0),
        ),
        Patch(feature="walk", area=walk, restore=_each("flags", 120.0), bore=_bore(60.0, 30.0)),
    ]
    for i in range(10):
        tree = Point(*rng.uniform(6, SIDE_M - 6, 2)).buffer(rng.uniform(2, 5), quad_segs=5)
        patches.append(Patch(feature=f"tree-{i}", area=tree, dig=_each("hand-roots", 70.0)))
    crossed = []
    for i, line in enumerate(lines):
        zone = line.buffer(0.6, **flat)
        patches.append(Patch(feature=f"line-{i}", area=zone, dig=_each("hand", 85.0)))
        crossed.append(
            Crossed(
                feature=f"line-{i}", axis=line, zone=zone, toll=_each("expose", 150.0), least_angle_deg=45.0
            )
        )
    return PricedSite(
        parcel=parcel,
        buildings=buildings,
        patches=tuple(patches),
        crossed=tuple(crossed),
        well=well,
        house=house,
    )


def _each(row: str, price: float) -> Charge:
    return Charge(row=row, price=price)


def _bore(pits: float, per_m: float) -> Bore:
    return Bore(
        pits=_each("pits", pits),
        per_m=_each("bore", per_m),
        least=_each("bore-least", 4 * per_m),
        longest_m=25.0,
    )
