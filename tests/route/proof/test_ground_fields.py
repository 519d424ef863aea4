"""The prices of the ground over cells, against trenches over points on the edges of triangles."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from ground_reference import random_scene, reference_trench
from shapely import Point

from siteplan.route.proof.ground import Search
from siteplan.route.proof.ground_fields import GroundFields
from siteplan.route.proof.link_prices import shapes_of
from siteplan.route.proof.places import Places

BEYOND = 1.3
ON_EDGE = 4


def cells_between(
    rng: np.random.Generator, ground: shapely.Polygon, ends: tuple[Point, Point], count: int
) -> np.ndarray:
    """Triangles of all sizes in the free ground, over whatever there is, not far from the straight line."""
    start, goal = (np.array(end.coords[0]) for end in ends)
    found: list[np.ndarray] = []
    while len(found) < count:
        middle = start + rng.uniform() * (goal - start) + rng.normal(0.0, 2.0, 2)
        cell = middle + rng.uniform(-1, 1, (3, 2)) * rng.choice([0.05, 0.5, 3.0])
        if ground.covers(shapely.Polygon(cell)):
            found.append(cell)
    return np.array(found)


@pytest.mark.parametrize("seed", range(9))
def test_no_trench_by_way_of_a_place_in_a_cell_costs_less_than_told(seed: int) -> None:
    """Trenches up to 30 % above the cheapest one are looked at, a place for each cell, with the cheapest ways on to both ends."""
    rng = np.random.default_rng([seed, 41])
    scene, start, goal = random_scene(seed)
    direct, _ = reference_trench(scene, start, goal, ON_EDGE)
    most = BEYOND * direct
    search = Search(scene, start, goal, best=most, margin=0.0)
    fields = GroundFields(search.potentials(12_000))
    shut = shapely.union_all([patch.area for patch in scene.patches if patch.shut])
    cells = cells_between(rng, scene.free.difference(shut), (start, goal), 12)
    places = Places([])
    told = fields.of(shapes_of(places, places.add(cells.reshape(-1, 2)).reshape(-1, 3)))
    looked_at, share = 0, []
    for k, cell in enumerate(cells):
        weight = rng.dirichlet([0.7] * 3)
        place = Point(weight @ cell)
        paid = [reference_trench(scene, end, place, ON_EDGE)[0] for end in (start, goal)]
        if sum(paid) > most:
            continue
        looked_at += 1
        least = [float(weight @ each[k]) for each in told]
        for price, bound in zip(paid, least, strict=True):
            assert bound <= price * (1 + 1e-9) + 1e-6
        share.append(sum(least) / sum(paid))
    assert looked_at >= 2
    assert math.isfinite(max(share))
    assert max(share) > 0.8
