"""Random small scenes, and a plain search over points on triangle edges, whose route is a trench that could be dug.

The search knows nothing of cells and potentials. Every triangle lies in ground of one price; its links join points on its edges.
More links bore under patches, from any point on their edges to any other. A link that crosses an axis pays the toll; one that
is too flat beside it is left out.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import shapely
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import dijkstra
from shapely import LineString, MultiLineString, Point, box

from siteplan.route.scene import Bore, Charge, Crossed, Patch, Scene

SIDE_M = 30.0


def charge(price: float) -> Charge:
    return Charge(row="test", price=price)


def random_scene(seed: int) -> tuple[Scene, Point, Point]:
    """Some overlapping strips, boxes and rounds, some of which may be bored under or are shut; buildings; perhaps a line."""
    draw = np.random.default_rng(seed)
    site = box(0, 0, SIDE_M, SIDE_M)
    patches = tuple(
        patch
        for number in range(draw.integers(1, 4))
        if (patch := random_patch(draw, number, site)) is not None
    )
    buildings = [turned_box(draw, draw.uniform(3, 27, 2), 1, 4) for _ in range(draw.integers(0, 4))]
    free = site.difference(shapely.union_all(buildings))
    shut = shapely.union_all([patch.area for patch in patches if patch.shut])
    ends: list[Point] = []
    while len(ends) < 2:
        place = Point(draw.uniform(1, 29, 2))
        apart = not ends or ends[0].distance(place) > 12
        if apart and free.contains(place) and not shut.intersects(place):
            ends.append(place)
    crossed = (random_line(draw),) if draw.uniform() < 0.6 else ()
    return Scene(free=free, dig=charge(0.6), restore=charge(0.4), patches=patches, crossed=crossed), *ends


def random_patch(draw: np.random.Generator, number: int, site: shapely.Polygon) -> Patch | None:
    kind, weight = draw.integers(3), float(draw.choice([1.3, 2, 4, 6]))
    if kind == 0:
        line = LineString(draw.uniform(-5, 35, (draw.integers(2, 4), 2)))
        area = line.buffer(draw.uniform(0.5, 3), cap_style="flat", join_style="mitre")
    elif kind == 1:
        area = turned_box(draw, draw.uniform(3, 27, 2), 2, 7)
    else:
        area = Point(draw.uniform(3, 27, 2)).buffer(draw.uniform(2, 6), quad_segs=2)
    if draw.uniform() < 0.5:
        area = area.intersection(site)
    if area.geom_type != "Polygon" or not area.is_valid or area.area < 1:
        return None
    bore = Bore(
        pits=charge(float(draw.choice([0, 2, 8]))),
        per_m=charge(float(draw.choice([0.5, 1.5, 3]))),
        least=charge(float(draw.choice([0, 5]))),
        longest_m=float(draw.choice([5, 100])),
    )
    return Patch(
        feature=str(number),
        area=area,
        dig=charge(weight - 0.4) if draw.uniform() < 0.8 else None,
        restore=charge(float(draw.uniform(0.4, 3))) if draw.uniform() < 0.3 else None,
        bore=bore if draw.uniform() < 0.5 else None,
        shut=bool(draw.uniform() < 0.2),
    )


def random_line(draw: np.random.Generator) -> Crossed:
    """A line across the site or part of it, straight or with a bend, with or without a least angle."""
    axis = LineString(draw.uniform(-10, 40, (draw.integers(2, 4), 2)))
    return Crossed(
        feature="line",
        axis=axis,
        zone=axis.buffer(1.0, cap_style="flat", join_style="mitre"),
        toll=charge(float(draw.choice([0, 1, 4, 15]))),
        least_angle_deg=float(draw.choice([0, 45, 70])),
    )


def turned_box(draw: np.random.Generator, middle: np.ndarray, least: float, most: float) -> shapely.Polygon:
    x0, x1, y0, y1 = draw.uniform(least, most, 4)
    upright = box(middle[0] - x0, middle[1] - y0, middle[0] + x1, middle[1] + y1)
    return shapely.affinity.rotate(upright, draw.uniform(0, 90))


def reference_trench(
    scene: Scene, start: Point, goal: Point, per_edge: int
) -> tuple[float, LineString | None]:
    """Price of the cheapest trench over points on the edges of triangles, so many on each, and the trench."""
    triangles, rates = triangles_of(scene)
    places: list[np.ndarray] = [np.array([[p.x, p.y] for p in (start, goal)])]
    share = np.linspace(0, 1, per_edge)[:, None]
    members: list[np.ndarray] = []
    for number, corners in enumerate(triangles):
        edges = [corners[k] * (1 - share) + corners[(k + 1) % 3] * share for k in range(3)]
        inside = [p for p in (start, goal) if shapely.Polygon(corners).distance(p) < 1e-9]
        here = np.vstack([*edges, np.array([[p.x, p.y] for p in inside]).reshape(-1, 2)])
        places.append(here)
        members.append(np.full(len(here), number))
    every = np.round(np.vstack(places), 8)
    nodes, number = np.unique(every, axis=0, return_inverse=True)
    number = number.reshape(-1)
    one, other, price = [], [], []
    of_triangle = np.split(number[2:], np.cumsum([len(m) for m in members])[:-1])
    for mine, rate in zip(of_triangle, rates, strict=True):
        if math.isfinite(rate):
            its = np.unique(mine)
            a, b = (its[k] for k in np.triu_indices(len(its), 1))
            one.append(a), other.append(b)
            price.append(rate * np.hypot(*(nodes[a] - nodes[b]).T))
    for a, b, cost in bores_of(scene, nodes):
        one.append(a), other.append(b), price.append(cost)
    a, b, cost = map(np.concatenate, (one, other, price))
    cost = cost + tolls_of(scene, nodes[a], nodes[b])
    cost[too_flat(scene, nodes[a], nodes[b])] = math.inf
    order = np.lexsort((cost, b, a))
    a, b, cost = a[order], b[order], cost[order]
    first = np.r_[True, (a[1:] != a[:-1]) | (b[1:] != b[:-1])] & np.isfinite(cost)
    graph = coo_matrix((cost[first], (a[first], b[first])), shape=(len(nodes), len(nodes))).tocsr()
    reached, before = dijkstra(graph, directed=False, indices=number[0], return_predecessors=True)
    if not np.isfinite(reached[number[1]]):
        return math.inf, None
    way = [number[1]]
    while way[-1] != number[0]:
        way.append(before[way[-1]])
    return float(reached[number[1]]), LineString(nodes[way[::-1]])


def triangles_of(scene: Scene) -> tuple[list[np.ndarray], list[float]]:
    """Triangles of the free ground, each of one price."""
    outlines = shapely.boundary(
        np.array([scene.free, *(patch.area for patch in scene.patches)], dtype=object)
    )
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(shapely.union_all(outlines))))
    corners, rates = [], []
    for face in faces:
        inner = face.representative_point()
        if not scene.free.contains(inner):
            continue
        on = [patch for patch in scene.patches if patch.area.contains(inner)]
        dig = max((patch.dig.price for patch in on if patch.dig), default=scene.dig.price)
        restore = max((patch.restore.price for patch in on if patch.restore), default=scene.restore.price)
        rate = math.inf if any(patch.shut for patch in on) else dig + restore
        for triangle in shapely.get_parts(shapely.constrained_delaunay_triangles(face)):
            corners.append(shapely.get_coordinates(triangle)[:3])
            rates.append(rate)
    return corners, rates


def bores_of(scene: Scene, nodes: np.ndarray) -> list[tuple[np.ndarray, np.ndarray, np.ndarray]]:
    found = []
    for patch in scene.patches:
        if patch.bore is None:
            continue
        near = np.flatnonzero(shapely.distance(patch.area.boundary, shapely.points(nodes)) < 1e-5)
        a, b = (near[k] for k in np.triu_indices(len(near), 1))
        length_m = np.hypot(*(nodes[a] - nodes[b]).T)
        able = length_m <= patch.bore.longest_m
        a, b, length_m = a[able], b[able], length_m[able]
        lines = shapely.linestrings(np.stack([nodes[a], nodes[b]], axis=1))
        within = shapely.intersection(scene.free, patch.area).buffer(1e-5)
        shapely.prepare(within)
        able = shapely.covers(within, lines)
        a, b, length_m = a[able], b[able], length_m[able]
        cost = patch.bore.pits.price + np.maximum(patch.bore.least.price, patch.bore.per_m.price * length_m)
        found.append((a, b, cost))
    return found


def tolls_of(scene: Scene, tails: np.ndarray, heads: np.ndarray) -> np.ndarray:
    paid = np.zeros(len(tails))
    lines = shapely.linestrings(np.stack([tails, heads], axis=1))
    for crossed in scene.crossed:
        over = shapely.intersects(lines, crossed.axis)
        met = shapely.intersection(lines[over], crossed.axis)
        paid[over] += crossed.toll.price * shapely.get_num_geometries(met) * ~shapely.is_empty(met)
    return paid


def too_flat(scene: Scene, tails: np.ndarray, heads: np.ndarray) -> np.ndarray:
    flat = np.zeros(len(tails), bool)
    way = heads - tails
    length_m = np.maximum(np.hypot(*way.T), 1e-12)
    lines = shapely.linestrings(np.stack([tails, heads], axis=1))
    for crossed in scene.crossed:
        if crossed.least_angle_deg > 0:
            inside = shapely.intersects(lines, crossed.zone)
            places = shapely.get_coordinates(crossed.axis)
            for tail, head in pairwise(places):
                along = (head - tail) / math.dist(tail, head)
                flat |= inside & (
                    np.abs(way @ along) > length_m * math.cos(math.radians(crossed.least_angle_deg))
                )
    return flat


def walls(*lines: list[tuple[float, float]]) -> MultiLineString:
    return MultiLineString(lines)
