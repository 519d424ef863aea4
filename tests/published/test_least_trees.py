"""The bound on open ground against published least trees (Euclidean Steiner trees): never above, and close."""

from __future__ import annotations

import pytest
import shapely

from siteplan.route.open_tree import open_tree_m

# Beasley, OR-Library, sets estein1 (Soukup and Chow) numbers 1; optimum from the listed improvement, 1 - SMT/MST, as copied in
# two public benchmark repositories. Square and triangle: closed forms.
PUBLISHED = [
    ([(0.7, 0.96), (0.88, 0.46), (0.88, 0.16), (0.19, 0.26), (0.19, 0.06)], 1.66439932),
    ([(0, 0), (1, 0), (0, 1), (1, 1)], 2.7320508076),
    ([(0, 0), (2, 0), (1, 1)], 2.7320508076),
]


@pytest.mark.parametrize(("places", "least"), PUBLISHED)
def test_never_above_the_published_least_tree(places: list[tuple[float, float]], least: float) -> None:
    bound = open_tree_m(shapely.points(places))
    assert bound <= least + 1e-7
    assert bound >= 0.94 * least
