"""Noncentral t: special cases known in closed form, far tails, the interval of a noncentrality."""

import math

import numpy as np
import pytest
from scipy import stats

from workbench.errors import Refusal
from workbench.inference.noncentral import noncentral_t_cdf, noncentrality_interval, spread_nodes


@pytest.mark.parametrize("df", [0.5, 1, 2, 5, 30, 1000, 1e6])
def test_moments_of_an_estimated_spread(df: float) -> None:
    """The mean of s^2 is sigma^2, its variance 2 sigma^4 / df."""
    s, weights = spread_nodes(df)
    assert weights @ s**2 == pytest.approx(1, abs=1e-11)
    assert weights @ s**4 == pytest.approx(1 + 2 / df, rel=1e-10)


@pytest.mark.parametrize("up_to", [0.0, 0.3, 1.0, 1.7, 50.0])
def test_kept_spreads_have_their_probability(up_to: float) -> None:
    s, weights = spread_nodes(7, up_to=up_to)
    assert weights.sum() == pytest.approx(stats.chi2.cdf(7 * up_to**2, 7), abs=1e-14)
    assert (s[weights > 0] <= up_to * (1 + 1e-12)).all()
    assert spread_nodes(math.inf, up_to=0.9)[1].sum() == 0


@pytest.mark.parametrize("df", [1, 2, 7.5, 60, math.inf])
def test_without_noncentrality_it_is_student(df: float) -> None:
    t = np.array([-8, -2, 0, 0.3, 3])
    assert noncentral_t_cdf(t, df, 0) == pytest.approx(stats.t.cdf(t, df), abs=1e-13)


@pytest.mark.parametrize(("t", "df", "shift"), [(-1.96, 1198, 8.6), (-2, 58, 9.0)])
def test_far_tails_where_the_ready_routine_has_no_number(t, df, shift) -> None:
    assert math.isnan(stats.nct.cdf(t, df, shift))
    assert 0 <= float(noncentral_t_cdf(t, df, shift)) < 1e-12


def test_at_zero_it_is_normal() -> None:
    """P(T <= 0) = P(Z <= -noncentrality), whatever the spread."""
    assert float(noncentral_t_cdf(0, 4, 1.3)) == pytest.approx(stats.norm.cdf(-1.3), abs=1e-14)


@pytest.mark.parametrize("t", [-30.0, -1.0, 0.0, 2.5, 400.0])
@pytest.mark.parametrize("confidence", [0.5, 0.95, 0.999])
def test_the_interval_leaves_equal_tails(t: float, confidence: float) -> None:
    found = noncentrality_interval(t, 9, confidence)
    tail = (1 - confidence) / 2
    assert float(noncentral_t_cdf(t, 9, found.high)) == pytest.approx(tail, rel=1e-6)
    assert 1 - float(noncentral_t_cdf(t, 9, found.low)) == pytest.approx(tail, rel=1e-6)


def test_refusals() -> None:
    with pytest.raises(Refusal, match="degrees of freedom are 0"):
        spread_nodes(0)
    with pytest.raises(Refusal, match="degrees of freedom are nan"):
        noncentral_t_cdf(1, math.nan, 0)
    with pytest.raises(Refusal, match="Confidence must lie"):
        noncentrality_interval(1, 5, 1)
