"""Error bands against published constants and against a Monte Carlo with a general-purpose library."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from siteplan.site.evidence import R95_PER_SIGMA, Z95_ONE_SIDED, Evidence, one_sided_m, pair_sigma_m
from tests.check.scenes import FT, well_to


def test_radius_of_95_percent() -> None:
    """FGDC-STD-007.3-1998, appendix 3-A: 2.4477 sigma, 1.7308 RMSE for a circular error."""
    assert pytest.approx(2.4477, abs=5e-5) == R95_PER_SIGMA
    assert stats.rayleigh.ppf(0.95) == pytest.approx(R95_PER_SIGMA, abs=5e-5)
    assert stats.norm.ppf(0.95) == pytest.approx(Z95_ONE_SIDED, abs=5e-5)


@pytest.mark.parametrize(
    ("one", "other", "clear_from_ft"),
    [
        (Evidence(method="phone", shared_m=16 * FT), Evidence(method="stated"), 61),
        (Evidence(method="phone", shared_m=16 * FT), Evidence(method="phone", shared_m=16 * FT), 65),
        (Evidence(method="traced", shared_m=6 * FT), Evidence(method="traced", shared_m=6 * FT), 56),
        (Evidence(method="stated"), Evidence(method="record", edge_m=3 * FT), 53),
    ],
)
def test_what_a_50_ft_verdict_needs(one: Evidence, other: Evidence, clear_from_ft: float) -> None:
    """Read at least this to call 50 ft clear, one-sided 95 %: the band against 200,000 draws, and the whole foot by hand.

    The hand figures: 50 + 1.645 sigma, sigma from R95 = 2.4477 sigma per axis, rounded to the foot.
    """
    band = one_sided_m(pair_sigma_m(one, other), 0.95)
    assert 50 + band / FT == pytest.approx(clear_from_ft, abs=0.6)
    rng = np.random.default_rng(1)
    places = rng.normal(size=(200_000, 2)) * one.shared_m / R95_PER_SIGMA
    others = rng.normal(size=(200_000, 2)) * other.shared_m / R95_PER_SIGMA
    edge = rng.normal(size=200_000) * other.edge_m / Z95_ONE_SIDED
    true_m = 200 * FT
    measured = np.hypot(true_m + places[:, 0] - others[:, 0], places[:, 1] - others[:, 1]) + edge
    assert np.quantile(measured - true_m, 0.95) == pytest.approx(band, rel=0.03)


def test_verdicts_straddle_the_band() -> None:
    """A field edge known to 3 ft: 53.1 ft is clear of 50 ft, 52.9 ft is too close, 46.9 ft is short."""
    edge = Evidence(method="record", edge_m=3 * FT)
    verdicts = [well_to(feet * FT, other=edge).verdict for feet in (53.1, 52.9, 46.9)]
    assert verdicts == ["clear", "too close to call", "short"]
