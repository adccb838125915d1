"""The largest of several t's: limits known in closed form, simulation, refusals."""

import math

import numpy as np
import pytest
from scipy import stats

from workbench.errors import Refusal
from workbench.inference.means.max_t import max_t_cdf, max_t_quantile, range_cdf, range_quantile


@pytest.mark.parametrize("loading", [0.0, 0.5, 0.97, 0.999])
@pytest.mark.parametrize("df", [2, 9, math.inf])
def test_one_alone_is_student(loading: float, df: float) -> None:
    alone = 1 - 2 * stats.t.sf(1.7, df)
    assert max_t_cdf(1.7, [loading], df) == pytest.approx(alone, abs=1e-9)
    one_sided = max_t_cdf(1.7, [loading], df, two_sided=False)
    assert one_sided == pytest.approx(stats.t.cdf(1.7, df), abs=1e-9)


def test_independent_and_known_spread_multiply() -> None:
    found = max_t_cdf(2.0, [0.0, 0.0, 0.0], math.inf)
    assert found == pytest.approx((1 - 2 * stats.norm.sf(2.0)) ** 3, abs=1e-12)


def test_unequal_loadings_against_simulation() -> None:
    generator = np.random.default_rng(12)
    loadings, size = np.array([0.3, 0.6, 0.9]), 200_000
    shared = generator.normal(size=(size, 1))
    z = np.sqrt(1 - loadings**2) * generator.normal(size=(size, 3)) + loadings * shared
    t = z / np.sqrt(generator.chisquare(6, (size, 1)) / 6)
    for two_sided, reached in ((True, np.abs(t).max(axis=1)), (False, t.max(axis=1))):
        share = max_t_cdf(2.2, loadings, 6, two_sided=two_sided)
        assert np.mean(reached <= 2.2) == pytest.approx(share, abs=4 * 0.5 / math.sqrt(size))


def test_quantile_undoes_the_probability_and_order_does_not_matter() -> None:
    for two_sided in (True, False):
        for confidence in (0.3, 0.9, 0.999):
            bound = max_t_quantile(confidence, [0.2, 0.8], 5, two_sided=two_sided)
            back = max_t_cdf(bound, [0.8, 0.2], 5, two_sided=two_sided)
            assert back == pytest.approx(confidence, abs=1e-9)


def test_two_sided_is_never_within_a_bound_below_zero() -> None:
    assert max_t_cdf(-1.0, [0.5], 5) == 0


@pytest.mark.parametrize("families", [2, 3, 10])
@pytest.mark.parametrize("df", [2, 7.3, 60])
def test_range_against_scipy(families: int, df: float) -> None:
    for bound in (0.5, 2.0, 4.5):
        expected = stats.studentized_range.cdf(bound, families, df)
        assert range_cdf(bound, families, df) == pytest.approx(expected, abs=1e-9)


def test_range_of_two_is_the_t_of_their_difference() -> None:
    bound = range_quantile(0.95, 2, 11)
    assert bound == pytest.approx(math.sqrt(2) * stats.t.ppf(0.975, 11))
    assert range_cdf(-1.0, 2, 11) == 0


def test_range_refused() -> None:
    for families in (1, 2.5):
        with pytest.raises(Refusal, match="A range needs 2 families or more"):
            range_cdf(2.0, families, 5)
    with pytest.raises(Refusal, match="Confidence must lie"):
        range_quantile(0.0, 3, 5)


@pytest.mark.parametrize("loadings", [[], [1.0], [-0.1], [math.nan]])
def test_loadings_refused(loadings) -> None:
    with pytest.raises(Refusal, match="Loadings lie from 0 to below 1"):
        max_t_cdf(2.0, loadings, 5)


def test_confidence_refused() -> None:
    with pytest.raises(Refusal, match="Confidence must lie"):
        max_t_quantile(1.0, [0.5], 5)
