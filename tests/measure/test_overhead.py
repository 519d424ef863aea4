"""How overhead lines lie to the dig, by hand: a trench along y = 0, lines beside it at known distances."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely import LineString

from siteplan.measure.overhead import overhead_lines
from siteplan.site.evidence import Evidence
from tests.document.sample_plan import FOOT, sample_plan, thing


@pytest.mark.parametrize(
    ("away_ft", "error_ft", "lies"),
    [(0, 0, "over"), (20, 0, "near"), (20.1, 0, "elsewhere"), (26, 6.1, "near"), (26.2, 6.1, "elsewhere")],
)
def test_an_error_of_the_drawing_counts_against_the_line(away_ft: float, error_ft: float, lies: str) -> None:
    """10 ft of ground each side of the trench and 10 ft beyond: near up to 20 ft, up to 26.1 ft with an error of 6.1 ft."""
    plan = sample_plan()
    reach = replace(plan.layout.reaches[0], path=LineString([(0, 0), (50, 0)]))
    y = away_ft * FOOT
    wire = thing(
        "wire",
        "overhead_line",
        "Wire",
        LineString([(10, y), (40, y)]) if y else LineString([(10, -5), (10, 5)]),
        Evidence(method="traced", private_m=error_ft * FOOT),
    )
    (found,) = overhead_lines(
        replace(plan.site, features=(wire,)),
        replace(plan.layout, reaches=(reach,)),
        strip_m=10 * FOOT,
        near_m=10 * FOOT,
    )
    assert found.lies == lies
    assert found.away_m == pytest.approx(y)
