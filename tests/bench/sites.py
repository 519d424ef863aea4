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
    """A square parcel with obstacles that do not touch, and pairs of places to join, metres."""

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
    def land(self) -> Polygon:
        """The parcel as a shape."""
        return Polygon(self.parcel)

    @property
    def free_area(self) -> Polygon:
        """The parcel without its obstacles."""
        return Polygon(self.parcel, [obstacle.exterior for obstacle in self.obstacles])


def mixed_site(corners: int, pairs: int = 5) -> BenchSite:
    """Return a site with so many obstacle corners, 3 or more: half plain houses, a quarter L-shaped, a quarter ponds.

    The obstacles keep ``GAP_M`` apart.
    """
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


def dense_site(corners: int, pairs: int = 5) -> BenchSite:
    """Return a site with about so many corners: blocks side by side, hardly turned, that take about half the ground."""
    rng = np.random.default_rng([SEED, corners, 1])
    count, pitch_m = math.isqrt(corners // 4), 10.0
    obstacles = []
    for x, y in _lattice(count, pitch_m):
        wide, deep = rng.uniform(6.5, 8.2, 2) / 2
        block = affinity.rotate(shapely.box(-wide, -deep, wide, deep), rng.uniform(-7, 7), origin=(0, 0))
        obstacles.append(_set_down(block, x + rng.uniform(-0.2, 0.2), y + rng.uniform(-0.2, 0.2)))
    return _laid_out(rng, count * pitch_m + 10.0, obstacles, pairs)


def walls_site(corners: int, pairs: int = 5) -> BenchSite:
    """Return a site with about so many corners: long walls across, cut by doors a metre wide."""
    rng = np.random.default_rng([SEED, corners, 2])
    count, pitch_m = max(2, round(math.sqrt(corners / 8))), 8.0
    side_m = count * pitch_m + 8.0
    obstacles = []
    for row in range(1, count + 1):
        y = row * pitch_m + rng.uniform(-1.0, 1.0)
        doors = np.sort(rng.uniform(4.0, side_m - 4.0, 2 * count))
        doors = doors[np.diff(doors, prepend=0.0) > 2.2]
        for begin, end in zip([0.5, *doors], [*doors, side_m], strict=True):
            wall = [
                (begin + 0.5, y),
                (end - 0.5, y + rng.uniform(-0.3, 0.3)),
                (end - 0.5, y + 0.9),
                (begin + 0.5, y + 0.9),
            ]
            obstacles.append(_set_down(Polygon(wall), 0.0, 0.0))
    return _laid_out(rng, side_m, obstacles, pairs)


def ponds_site(corners: int, pairs: int = 5) -> BenchSite:
    """Return a site with about so many corners: oval ponds of 48 corners, so that most lines run along many of them."""
    rng = np.random.default_rng([SEED, corners, 3])
    count, pitch_m = max(1, round(math.sqrt(corners / 48))), 18.0
    angle = np.arange(48) * 2 * math.pi / 48
    obstacles = []
    for x, y in _lattice(count, pitch_m):
        wide = 7.0 * rng.uniform(0.85, 1.1)
        pond = Polygon(np.c_[wide * np.cos(angle), 7.0 * np.sin(angle)])
        obstacles.append(_set_down(pond, x + rng.uniform(-0.8, 0.8), y + rng.uniform(-0.8, 0.8)))
    return _laid_out(rng, count * pitch_m + 10.0, obstacles, pairs)


def _lattice(count: int, pitch_m: float) -> list[Place]:
    middles = [5.0 + (n + 0.5) * pitch_m for n in range(count)]
    return [(x, y) for x in middles for y in middles]


def _laid_out(rng: np.random.Generator, side_m: float, obstacles: list[Polygon], pairs: int) -> BenchSite:
    chosen = _far_pairs(rng, side_m, obstacles, pairs)
    return BenchSite(side_m=side_m, obstacles=obstacles, pairs=chosen)


def _dropped(rng: np.random.Generator, shape: Polygon, side_m: float) -> Polygon:
    """Turn a shape and put it down anywhere well inside the parcel, to the millimetre."""
    turned = affinity.rotate(shape, rng.uniform(0, 360), origin=(0, 0))
    return _set_down(turned, *rng.uniform(16.0, side_m - 16.0, 2))


def _set_down(shape: Polygon, x: float, y: float) -> Polygon:
    """Move a shape, and round its corners to the millimetre."""
    return Polygon(np.round(shapely.get_coordinates(affinity.translate(shape, x, y))[:-1], 3))


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

SITES = {"mixed": mixed_site, "dense": dense_site, "walls": walls_site, "ponds": ponds_site}
