"""Difference of two spreads: the F test, its interval, heavy tails, a shared uncertainty."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from workbench.errors import Refusal
from workbench.inference.means.welch import Summary
from workbench.inference.spreads.difference import spread_difference, unlike_spreads
from workbench.inference.spreads.equality import variance_ratio


def test_against_the_handbook_of_nist() -> None:
    """NIST/SEMATECH e-Handbook 1.3.5.9, ceramic strength: F = 1.123037 (from memory)."""
    found = spread_difference(
        Summary(n=240, mean=0, sd=65.54909), Summary(n=240, mean=0, sd=61.85425)
    )
    assert found.ratio**2 == pytest.approx(1.123037, rel=1e-6)
    assert found.p_value() == pytest.approx(0.3704, abs=2e-4)


@given(
    own=st.floats(0.05, 20), n=st.integers(2, 300), m=st.integers(2, 300), other=st.floats(0.05, 20)
)
@settings(max_examples=40, deadline=None, derandomize=True)
def test_at_margin_0_it_is_the_f_test_of_scipy(own: float, n: int, m: int, other: float) -> None:
    found = spread_difference(Summary(n=n, mean=0, sd=own), Summary(n=m, mean=0, sd=other))
    f = (own / other) ** 2
    assert found.p_above(0) == pytest.approx(stats.f.sf(f, n - 1, m - 1), rel=1e-6, abs=1e-12)
    assert found.p_below(0) == pytest.approx(stats.f.cdf(f, n - 1, m - 1), rel=1e-6, abs=1e-12)
    back = spread_difference(Summary(n=m, mean=0, sd=other), Summary(n=n, mean=0, sd=own))
    for margin in (0.3 * own, -0.3 * other):
        assert back.p_below(-margin) == pytest.approx(found.p_above(margin), abs=2e-4)


@pytest.mark.parametrize(("n", "m"), [(3, 48), (6, 5), (40, 2)])
@pytest.mark.parametrize("shared", [0.0, 0.07])
def test_the_interval_is_that_of_the_distribution_drawn(n: int, m: int, shared: float) -> None:
    """Draws of both true spreads, as the chi-squares leave them open, are the witness."""
    generator = np.random.default_rng(3)
    found = spread_difference(Summary(n=n, mean=1, sd=0.3), Summary(n=m, mean=5, sd=0.2))
    drawn = 0.3 / np.sqrt(generator.chisquare(n - 1, 400_000) / (n - 1))
    drawn -= 0.2 / np.sqrt(generator.chisquare(m - 1, 400_000) / (m - 1))
    drawn += shared * generator.standard_normal(drawn.size)
    low, high = np.quantile(drawn, [0.05, 0.95])
    ends = found.widened(shared).interval(0.9)
    assert (ends.low, ends.high) == pytest.approx((low, high), rel=0.02, abs=0.003)


@given(margin=st.floats(-0.5, 0.5), sd=st.floats(0.05, 1), n=st.integers(3, 30))
@settings(max_examples=30, deadline=None, derandomize=True)
def test_the_interval_leaves_out_a_margin_exactly_when_p_says_so(
    margin: float, sd: float, n: int
) -> None:
    found = spread_difference(Summary(n=n, mean=0, sd=sd), Summary(n=12, mean=0, sd=0.3))
    p = found.p_value(margin)
    if abs(p - 0.05) > 1e-6:
        assert found.interval(0.95).contains(margin) == (p > 0.05)


def test_a_unit_and_a_shift_change_nothing() -> None:
    generator = np.random.default_rng(8)
    own, other = generator.normal(5, 0.6, 12), generator.normal(7, 0.3, 9)
    metric, inches = (
        spread_difference(own, other),
        spread_difference(own / 25.4 + 3, other / 25.4 - 1),
    )
    assert inches.p_value(0.1 / 25.4) == pytest.approx(metric.p_value(0.1), rel=1e-8)
    assert inches.interval().high * 25.4 == pytest.approx(metric.interval().high, rel=1e-8)


def test_heavy_tails_lessen_the_freedom_and_normal_ones_do_not() -> None:
    """For normal blocks in endless number the kurtosis is 3 and the freedom n - 1."""
    light = np.linspace(-1, 1, 20)
    heavy = np.r_[light, 6.0, -6.0]
    assert spread_difference(light, light[:9]).candidate_degrees_of_freedom == pytest.approx(19)
    robust, plain = spread_difference(heavy, light), spread_difference(heavy, light, robust=False)
    assert plain.candidate_degrees_of_freedom == pytest.approx(21)
    assert robust.candidate_degrees_of_freedom < 10
    assert robust.p_value() > plain.p_value()
    assert "Shoemaker" in robust.method
    assert plain.p_value() == pytest.approx(variance_ratio(heavy, light).p_value(), rel=1e-7)


@pytest.mark.parametrize(
    ("shape", "n", "m"), [("normal", 5, 20), ("laplace", 15, 15), ("exponential", 20, 20)]
)
def test_false_alarms_stay_near_their_level_whatever_the_shape(shape: str, n: int, m: int) -> None:
    """The F test itself calls 16 % of equal Laplace spreads unequal, and 21 % of exponential."""
    generator = np.random.default_rng(17)
    draw = getattr(generator, shape)
    found = [unlike_spreads(draw(size=n), draw(size=m)) < 0.05 for _ in range(1500)]
    assert np.mean(found) < 0.085


def test_a_family_of_one_or_of_equal_blocks() -> None:
    assert unlike_spreads([1.0], [1.0, 2.0, 3.0]) == 1.0
    assert unlike_spreads([1.0, 1.0], [1.0, 2.0, 3.0]) == 0.0
    assert unlike_spreads([1.0, 1.0], [2.0, 2.0]) == 1.0
    assert unlike_spreads(Summary(n=1, mean=1, sd=0), [1.0, 2.0]) == 1.0


def test_refusals() -> None:
    with pytest.raises(Refusal, match="the candidate holds 1 number; at least 2"):
        spread_difference([1.0], [1.0, 2.0])
    with pytest.raises(Refusal, match="the reference counts 1 block"):
        spread_difference([1.0, 2.0], Summary(n=1, mean=0, sd=0.3))
    with pytest.raises(Refusal, match="All 3 blocks of the candidate are equal"):
        spread_difference([2.0] * 3, [1.0, 2.0])
    with pytest.raises(Refusal, match="0 or more, not -1"):
        spread_difference([1.0, 2.0], [1.0, 3.0]).widened(-1.0)
    assert math.isnan(spread_difference([1.0, 2.0], [1.0, 3.0]).degrees_of_freedom)
