"""Error bands against published constants and against a Monte Carlo with a general-purpose library."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats
from shapely import Point

from siteplan.check.chance import spread
from siteplan.check.pair_error import pair_error
from siteplan.site.catalogue import methods
from siteplan.site.evidence import R95_PER_SIGMA, Z95_ONE_SIDED, Evidence, one_sided_m, pair_sigma_m
from siteplan.site.net import error_ellipse
from tests.check.scenes import FT, well_to


def test_radius_of_95_percent() -> None:
    """FGDC-STD-007.3-1998, appendix 3-A: 2.4477 sigma, 1.7308 RMSE for a circular error."""
    assert pytest.approx(2.4477, abs=5e-5) == R95_PER_SIGMA
    assert stats.rayleigh.ppf(0.95) == pytest.approx(R95_PER_SIGMA, abs=5e-5)
    assert stats.norm.ppf(0.95) == pytest.approx(Z95_ONE_SIDED, abs=5e-5)


def test_circular_normal_constants() -> None:
    """NRC 1995 report on the Global Positioning System, definitions appendix: CEP, DRMS, R95 and R99.7 of a circular error."""
    radius = stats.rayleigh
    cep = radius.ppf(0.5)
    assert cep == pytest.approx(1.1774, abs=5e-5)
    assert R95_PER_SIGMA / cep == pytest.approx(2.08, abs=0.006)
    assert radius.ppf(0.997) / cep == pytest.approx(2.9, abs=0.006)
    assert math.sqrt(2) / cep == pytest.approx(1.2, abs=0.006)
    assert radius.cdf(2 * math.sqrt(2)) == pytest.approx(0.98, abs=0.006)
    assert radius.cdf(math.sqrt(2)) == pytest.approx(0.632, abs=0.006)


@pytest.mark.parametrize(
    ("north_cm", "east_cm", "correlation", "circle_cm"),
    [
        (1.09, 1.16, -0.29902673, 2.79),
        (1.05, 1.43, 0.14941036, 3.12),
        (0.38, 0.37, -0.10178715, 0.92),
        (0.05, 0.09, -0.162529, 0.19),
    ],
)
def test_circle_of_95_percent(north_cm: float, east_cm: float, correlation: float, circle_cm: float) -> None:
    """Network accuracies on NOAA NGS data sheets GV0652, PY1050, EH0846, DM4642: 95 % circle from SD_N, SD_E and correlation."""
    across = correlation * north_cm * east_cm
    covariance = np.array([[east_cm**2, across], [across, north_cm**2]])
    assert error_ellipse(covariance).radius_m == pytest.approx(circle_cm, abs=0.01)


SEEN = Evidence(method="stated")
OWN_FT = 2 * (Evidence(method="stated", private_m=R95_PER_SIGMA * FT, outing="photo"),)
"""Both ends clicked in one photo, each to 1 ft: here one sigma each way, as the table of that row must mean it."""


def of_mean_error(mean_ft: float) -> Evidence:
    """A position by its mean radial error: sigma sqrt(pi / 2) of a circular error (Rayleigh)."""
    return Evidence(method="stated", shared_m=mean_ft / math.sqrt(math.pi / 2) * R95_PER_SIGMA * FT)


def known(method: str) -> Evidence:
    """As ``layers/methods.toml`` has it, without what each position is out by alone."""
    return Evidence(method=method, shared_m=methods()[method].shared_m)


@pytest.mark.parametrize(
    ("one", "other", "clear_from_ft", "short_below_ft", "within_ft"),
    [
        pytest.param(
            SEEN, Evidence(method="taped", edge_m=0.5 * FT), 50.5, 49.5, 0.01, id="tape, 0.5 ft overall"
        ),
        pytest.param(
            *2 * (Evidence(method="rtk", private_m=0.15 * FT),), 50.15, 49.85, 0.01, id="RTK, both ends"
        ),
        pytest.param(
            SEEN, Evidence(method="record", edge_m=3 * FT), 53, 47, 0.01, id="tape to a field edge of 3 ft"
        ),
        pytest.param(*2 * (known("traced"),), 56, 44, 0.5, id="county photo, independent"),
        pytest.param(*OWN_FT, 52.5, 47.5, 0.25, id="county photo, both ends in one image"),
        pytest.param(known("phone"), SEEN, 61, 39, 0.5, id="phone, one end"),
        pytest.param(*2 * (known("phone"),), 65, 35, 0.5, id="phone, both ends"),
        pytest.param(*2 * (known("traced_web"),), 82, 18, 1.0, id="web imagery, 20 ft RMSE"),
        pytest.param(*2 * (of_mean_error(23),), 93, 7, 0.5, id="phone near trees, mean error 23 ft"),
    ],
)
def test_what_a_50_ft_verdict_needs(
    one: Evidence, other: Evidence, clear_from_ft: float, short_below_ft: float, within_ft: float
) -> None:
    """Read at least this to call 50 ft clear, and below that to call it short, one-sided 95 %: hand figures of trade practice.

    Checked as verdicts against a straight edge, a little on either side of the hand figure, and the band against 200,000
    draws by a general-purpose library.
    """
    for feet, verdict in (
        (clear_from_ft + within_ft, "clear"),
        (clear_from_ft - within_ft, "too close to call"),
        (short_below_ft + within_ft, "too close to call"),
        (short_below_ft - within_ft, "short"),
    ):
        assert well_to(feet * FT, well=one, other=other).verdict == verdict
    band = one_sided_m(pair_sigma_m(one, other), 0.95)
    rng = np.random.default_rng(1)
    radii = [one.private_m, other.private_m, *([] if one.outing else [one.shared_m, other.shared_m])]
    off = sum(rng.normal(size=(200_000, 2)) * radius / R95_PER_SIGMA for radius in radii)
    edge = rng.normal(size=200_000) * other.edge_m / Z95_ONE_SIDED
    assert np.quantile(off[:, 0] + edge, 0.95) == pytest.approx(band, rel=0.02)


def test_two_points_read_farther_apart_than_they_are() -> None:
    """Where the phone table meets a point instead of an edge, a long reading is worth less: Rice, scipy.stats.rice.

    Two wells truly 50 ft apart, phone near trees both ends: 92.7 ft by the normal distribution is read 7 % of the time.
    """
    tree = of_mean_error(23)
    sigma_ft = pair_sigma_m(tree, tree) / FT
    rice = stats.rice(50 / sigma_ft, scale=sigma_ft)
    assert rice.sf(50 + 1.6449 * sigma_ft) == pytest.approx(0.073, abs=0.001)
    wells = Point(0, 0), Point(95 * FT, 0)
    assert spread(*wells, 0.0, pair_error(tree, tree), [50 * FT]).chance(50 * FT) < 0.95
    far = Point(0, 0), Point(rice.ppf(0.96) * FT, 0)
    assert spread(*far, 0.0, pair_error(tree, tree), [50 * FT]).chance(50 * FT) > 0.95


def test_verdicts_straddle_the_band() -> None:
    """A field edge known to 3 ft: 53.1 ft is clear of 50 ft, 52.9 ft is too close, 46.9 ft is short."""
    edge = Evidence(method="record", edge_m=3 * FT)
    verdicts = [well_to(feet * FT, other=edge).verdict for feet in (53.1, 52.9, 46.9)]
    assert verdicts == ["clear", "too close to call", "short"]
