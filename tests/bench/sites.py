"""Made-up sites of a given size for the benches; the same seed gives the same site everywhere."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon, affinity

Place = tuple[float, float]

SEED = 20240607
GAP_M = 0.6


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchSite:
    """A square parcel with obstacles that keep ``GAP_M`` apart, and pairs of places to join, metres."""

    side_m: float
    obstacles: list[Polygon]
    pairs: list[tuple[Place, Place]]

    @property
    def corners(self) -> int:
        """How many corners the obstacles have together."""
        return int(shapely.get_num_coordinates(self.obstacles).sum()) - len(self.obstacles)

    @property
    def parcel(self) -> list[Place]:
        """The corners of the parcel, counterclockwise."""
        return [(0.0, 0.0), (self.side_m, 0.0), (self.side_m, self.side_m), (0.0, self.side_m)]

    @property
    def free_area(self) -> Polygon:
        """The parcel without its obstacles."""
        return Polygon(self.parcel, [obstacle.exterior for obstacle in self.obstacles])


def mixed_site(corners: int, pairs: int = 5) -> BenchSite:
    """Return a site with so many obstacle corners, 3 or more: half plain houses, a quarter L-shaped, a quarter ponds."""
    rng = np.random.default_rng([SEED, corners])
    side_m = 9.5 * math.sqrt(corners) + 12.0
    placed: list[Polygon] = []
    cells: dict[tuple[int, int], list[Polygon]] = {}
    left = corners
    while left:
        shape = _pond(rng, left) if left < 20 else _SHAPES[rng.choice(4)](rng)
        size = len(shape.exterior.coords) - 1
        for _ in range(400):
            obstacle = _dropped(rng, shape, side_m)
            i, j = (int(c // 30) for c in obstacle.centroid.coords[0])
            near = [q for a in (-1, 0, 1) for b in (-1, 0, 1) for q in cells.get((i + a, j + b), [])]
            if obstacle.is_valid and all(obstacle.distance(other) > GAP_M for other in near):
                cells.setdefault((i, j), []).append(obstacle)
                placed.append(obstacle)
                left -= size
                break
    return BenchSite(side_m=side_m, obstacles=placed, pairs=_far_pairs(rng, side_m, placed, pairs))


def _dropped(rng: np.random.Generator, shape: Polygon, side_m: float) -> Polygon:
    """Turn a shape and put it down anywhere well inside the parcel, to the millimetre."""
    turned = affinity.rotate(shape, rng.uniform(0, 360), origin=(0, 0))
    x, y = rng.uniform(16.0, side_m - 16.0, 2)
    corners = np.round(shapely.get_coordinates(affinity.translate(turned, x, y))[:-1], 3)
    return Polygon(corners)


def _far_pairs(
    rng: np.random.Generator, side_m: float, obstacles: list[Polygon], count: int
) -> list[tuple[Place, Place]]:
    """Pick pairs of places across the parcel, clear of the obstacles; the first joins opposite corners."""
    tree = shapely.STRtree(obstacles)
    pairs: list[tuple[Place, Place]] = []
    while len(pairs) < count:
        low, high = (0.02, 0.98) if pairs else (0.02, 0.06)
        start = np.round(rng.uniform(low, high, 2) * side_m, 3)
        goal = np.round(rng.uniform(low, high, 2) * side_m if pairs else side_m - start, 3)
        clear = not len(tree.query(shapely.points([start, goal]), predicate="dwithin", distance=0.3)[0])
        if clear and math.dist(start, goal) > 0.45 * side_m:
            pairs.append(((float(start[0]), float(start[1])), (float(goal[0]), float(goal[1]))))
    return pairs


def _house(rng: np.random.Generator) -> Polygon:
    wide, deep = rng.uniform(5, 20) / 2, rng.uniform(4, 14) / 2
    return shapely.box(-wide, -deep, wide, deep)


def _ell(rng: np.random.Generator) -> Polygon:
    wide, deep = rng.uniform(9, 22), rng.uniform(9, 18)
    arm, leg = deep * rng.uniform(0.3, 0.6), wide * rng.uniform(0.3, 0.6)
    ell = Polygon([(0, 0), (wide, 0), (wide, arm), (leg, arm), (leg, deep), (0, deep)])
    return affinity.translate(ell, -wide / 2, -deep / 2)


def _pond(rng: np.random.Generator, corners: int | None = None) -> Polygon:
    count = corners or int(rng.integers(8, 17))
    angle = (np.arange(count) + rng.uniform(-0.3, 0.3, count)) * 2 * math.pi / count
    reach = rng.uniform(3, 9) * rng.uniform(0.55, 1.3, count)
    return Polygon(np.c_[reach * np.cos(angle), reach * np.sin(angle)])


_SHAPES = (_house, _house, _ell, _pond)
