"""Convex covers and lines of sight, against plain geometry."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely import LineString, Point, Polygon, box

from siteplan.route.proof.convex import blockers_of, convex_cover
from siteplan.route.proof.sightlines import all_cut_by, clear, cut_by, one_cuts_all, tangents

SEEDS = range(12)


def blots(seed: int, side_m: float = 20.0) -> shapely.geometry.base.BaseGeometry:
    """Some boxes and rounds, merged."""
    draw = np.random.default_rng(seed)
    shapes = []
    for _ in range(int(draw.integers(2, 7))):
        x, y = draw.uniform(0, side_m, 2)
        if draw.uniform() < 0.5:
            upright = box(x, y, x + draw.uniform(1, 6), y + draw.uniform(1, 6))
            shapes.append(shapely.affinity.rotate(upright, draw.uniform(0, 90)))
        else:
            shapes.append(Point(x, y).buffer(draw.uniform(1, 4), quad_segs=3))
    return shapely.set_precision(shapely.union_all(shapes), 1e-6)


@pytest.mark.parametrize("seed", SEEDS)
def test_pieces_are_convex_and_cover_the_area(seed: int) -> None:
    area = blots(seed)
    pieces = [Polygon(piece) for piece in convex_cover(area)]
    for piece in pieces:
        assert piece.exterior.is_ccw
        assert piece.convex_hull.area == pytest.approx(piece.area, rel=1e-9)
    assert shapely.union_all(pieces).symmetric_difference(area).area < 1e-6


@pytest.mark.parametrize("seed", SEEDS)
def test_no_line_slips_through_the_cracks(seed: int) -> None:
    """A segment across the area crosses the inside of some piece, even along a diagonal of the triangles."""
    area = blots(seed)
    pieces = convex_cover(area)
    corners = shapely.get_coordinates(area)
    wide = area.bounds[2] - area.bounds[0] + 9.0
    tested = 0
    for one in corners[::3]:
        for other in corners[1::4]:
            way = other - one
            if np.hypot(*way) < 1e-6:
                continue
            ends = np.array([one - wide * way / np.hypot(*way), one + wide * way / np.hypot(*way)])
            if LineString(ends).intersection(area.buffer(-1e-3)).length > 0.1:
                table = tangents(ends, pieces)
                assert not clear(cut_by(ends, np.array([0]), np.array([1]), table))[0]
                tested += 1
    assert tested > 10


@pytest.mark.parametrize("seed", SEEDS)
def test_sight_within_a_region(seed: int) -> None:
    """Two points of a region see each other if and only if the segment stays in it."""
    region = box(0, 0, 20, 20).difference(blots(seed))
    blockers = blockers_of(region)
    draw = np.random.default_rng(seed)
    points = [Point(xy) for xy in draw.uniform(0, 20, (60, 2))]
    points = [point for point in points if region.contains(point)] + [
        Point(xy) for xy in shapely.get_coordinates(region)
    ]
    at = shapely.get_coordinates(points)
    table = tangents(at, blockers)
    one, other = np.triu_indices(len(at), 1)
    seen = clear(cut_by(at, one, other, table))
    lines = shapely.linestrings(np.stack([at[one], at[other]], axis=1))
    assert seen[shapely.covers(region, lines)].all()
    inside = shapely.length(shapely.intersection(region.buffer(1e-4), lines))
    assert not seen[shapely.length(lines) - inside > 1e-3].any()
    assert (seen == clear(all_cut_by(at, table)[one, other])).all()


def test_a_line_along_the_hull_across_a_gap_is_cut() -> None:
    region = box(0, 0, 9, 3).difference(box(3, 1, 6, 3))
    at = np.array([[1.0, 3.0], [8.0, 3.0], [1.0, 0.0], [8.0, 0.0]])
    table = tangents(at, blockers_of(region))
    seen = clear(cut_by(at, np.array([0, 2]), np.array([1, 3]), table))
    assert seen.tolist() == [False, True]


@pytest.mark.parametrize("seed", SEEDS)
def test_one_blocker_that_cuts_the_corners_cuts_everything_between(seed: int) -> None:
    """The shadow lemma, on random cells."""
    draw = np.random.default_rng(seed)
    blocker = Polygon(draw.uniform(8, 12, (6, 2))).convex_hull
    pieces = convex_cover(blocker)
    cut = 0
    for _ in range(200):
        ends = np.repeat(draw.uniform(0, 20, (2, 2)), 2, axis=0) + draw.uniform(-1, 1, (4, 2))
        cells = LineString(ends[:2]), LineString(ends[2:])
        if any(cell.intersects(blocker) for cell in cells):
            continue
        table = tangents(ends, pieces)
        bits = [
            cut_by(ends, np.array([i]), np.array([j]), table) for i, j in ((0, 2), (0, 3), (1, 2), (1, 3))
        ]
        if one_cuts_all(bits)[0]:
            cut += 1
            for s, t in draw.uniform(0, 1, (20, 2)):
                between = LineString(
                    [cells[0].interpolate(s, normalized=True), cells[1].interpolate(t, normalized=True)]
                )
                assert between.intersects(blocker)
    assert cut > 0
