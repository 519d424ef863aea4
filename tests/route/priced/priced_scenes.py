"""Small priced scenes: by hand, and random ones; made-up prices."""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely import LineString, Point, box
from shapely.affinity import rotate
from shapely.geometry.base import BaseGeometry

from siteplan.route.approach import Approach
from siteplan.route.scene import Bore, Charge, Crossed, Patch, Scene

SIDE_M = 40.0


def charge(price: float, row: str = "row") -> Charge:
    return Charge(row=row, price=price)


def bore(pits: float, per_m: float, least: float = 0.0, longest_m: float = 50.0) -> Bore:
    return Bore(
        pits=charge(pits, "pits"),
        per_m=charge(per_m, "per-m"),
        least=charge(least, "least"),
        longest_m=longest_m,
    )


def field(*patches: Patch, free: BaseGeometry | None = None, **more: object) -> Scene:
    """Plain ground of 40 m by 40 m at 20 + 10 a metre."""
    whole = free or box(0, 0, SIDE_M, SIDE_M)
    return Scene(free=whole, dig=charge(20, "dig"), restore=charge(10, "sod"), patches=patches, **more)  # type: ignore[arg-type]


def at(x: float, y: float) -> Approach:
    return Approach(feature="place", places=((Point(x, y), (0.0, 0.0)),), leg_m=0.0)


def random_scene(seed: int) -> Scene:
    """Up to five overlapping patches, some to be bored under, obstacles, lines that may be crossed, and bends."""
    rng = np.random.default_rng([seed, 52])
    patches = []
    for i in range(rng.integers(1, 6)):
        can_bore, can_dig, is_shut = rng.uniform(size=3) < (0.6, 0.7, 0.15)
        patches.append(
            Patch(
                feature=f"patch-{i}",
                area=_random_area(rng),
                dig=charge(rng.uniform(5, 90), f"dig-{i}") if can_dig else None,
                restore=charge(rng.uniform(5, 90), f"restore-{i}"),
                bore=bore(rng.uniform(20, 300), rng.uniform(5, 60), rng.uniform(0, 200), rng.uniform(4, 30))
                if can_bore
                else None,
                shut=bool(is_shut),
            )
        )
    free = box(0, 0, SIDE_M, SIDE_M)
    for _ in range(rng.integers(0, 4)):
        free = free.difference(_random_box(rng, 1, 4))
    crossed = []
    for i in range(rng.integers(0, 3)):
        axis = LineString(rng.uniform(-5, 45, (rng.integers(2, 4), 2)))
        zone = axis.buffer(rng.uniform(0.4, 0.8))
        angle_deg = float(rng.choice([0, 30, 45, 60]))
        toll = charge(rng.uniform(10, 200), f"toll-{i}")
        crossed.append(
            Crossed(feature=f"line-{i}", axis=axis, zone=zone, toll=toll, least_angle_deg=angle_deg)
        )
        patches.append(Patch(feature=f"zone-{i}", area=zone, dig=charge(rng.uniform(40, 100), f"hand-{i}")))
    price = rng.uniform(5, 60)
    bends = tuple(
        (limit_deg, charge(price * times, f"bend-{limit_deg:.0f}"))
        for limit_deg, times in ((22.5, 1.0), (45.0, 1.5), (90.0, 2.0), (180.0, 4.0))
    )
    priced = rng.uniform() < 0.7
    return field(*patches, free=free, crossed=tuple(crossed), bends=bends if priced else ())


def random_ends(scene: Scene, seed: int, apart_m: float = 15.0) -> tuple[np.ndarray, np.ndarray]:
    """Two places in the free ground, well apart."""
    rng = np.random.default_rng([seed, 77])
    while True:
        start, end = rng.uniform(1, SIDE_M - 1, (2, 2))
        if (
            math.dist(start, end) > apart_m
            and shapely.intersects_xy(scene.free, *np.array([start, end]).T).all()
        ):
            return start, end


def _random_area(rng: np.random.Generator) -> BaseGeometry:
    kind = rng.integers(3)
    if kind == 0:
        middle = LineString(rng.uniform(-5, 45, (rng.integers(2, 4), 2)))
        return middle.buffer(rng.uniform(0.5, 4), cap_style="flat", join_style="mitre")
    if kind == 1:
        return _random_box(rng, 2, 7)
    return Point(rng.uniform(3, 37, 2)).buffer(rng.uniform(2, 6), quad_segs=3)


def _random_box(rng: np.random.Generator, least: float, most: float) -> BaseGeometry:
    x, y = rng.uniform(3, 37, 2)
    wide, deep = rng.uniform(least, most, 2)
    return rotate(box(x - wide, y - deep, x + wide, y + deep), rng.uniform(0, 90))
