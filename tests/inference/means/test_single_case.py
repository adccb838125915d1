"""A single block: mirror, unit, intervals against p, false alarms, refusals."""

import math

import numpy as np
import pytest
from scipy.stats import norm, t

from workbench.errors import Refusal
from workbench.inference.means.single_case import single_case
from workbench.inference.means.welch import Summary

WORKS = (9.1, 9.4, 8.8, 9.0, 9.3, 9.2)


def test_mirrored_values_swap_the_shares() -> None:
    forward = single_case(9.9, WORKS)
    back = single_case(-9.9, [-value for value in WORKS])
    assert back.share_below == pytest.approx(1 - forward.share_below)
    assert back.p_value == pytest.approx(forward.p_value)
    found, other = forward.share_below_interval(), back.share_below_interval()
    assert (other.low, other.high) == pytest.approx((1 - found.high, 1 - found.low))


def test_unit_and_origin_do_not_matter() -> None:
    moved = single_case(9.9 / 25.4 + 3, np.array(WORKS) / 25.4 + 3)
    plain = single_case(9.9, WORKS)
    assert moved.p_value == pytest.approx(plain.p_value)
    assert moved.share_below_interval().low == pytest.approx(plain.share_below_interval().low)


@pytest.mark.parametrize("confidence", [0.5, 0.9, 0.95, 0.99])
def test_the_difference_interval_agrees_with_p(confidence: float) -> None:
    found = single_case(9.9, WORKS)
    assert found.difference.p_value() == found.p_value
    low = found.difference.interval(confidence).low
    assert (low > 0) == (found.p_value < 1 - confidence)


def test_a_block_at_the_mean_is_at_the_middle() -> None:
    found = single_case(float(np.mean(WORKS)), WORKS)
    assert found.share_below == pytest.approx(0.5)
    assert found.share_below_interval().low == pytest.approx(1 - found.share_below_interval().high)


def test_false_alarms_keep_their_level_for_a_member_of_the_family() -> None:
    generator = np.random.default_rng(9)
    alarms = [
        single_case(row[0], row[1:]).p_value < 0.05 for row in generator.normal(size=(3000, 6))
    ]
    assert np.mean(alarms) == pytest.approx(0.05, abs=0.016)


def test_coverage_of_the_share_below() -> None:
    """A block at the family's true lower tenth."""
    generator = np.random.default_rng(10)
    tenth = -1.2815515655446004
    hits = [
        single_case(tenth, row).share_below_interval(0.9).contains(0.1)
        for row in generator.normal(size=(500, 8))
    ]
    assert np.mean(hits) == pytest.approx(0.9, abs=0.05)


@pytest.mark.parametrize(("n", "times"), [(3, 2.0), (12, 1.0), (12, 3.0), (50, 0.5)])
def test_how_often_an_interval_misses_a_family_that_varies_otherwise(n: int, times: float) -> None:
    """Against a simulation, by t of scipy."""
    generator = np.random.default_rng(n)
    studies = 40_000
    family = generator.standard_normal((studies, n))
    apart = times * generator.standard_normal(studies) - family.mean(axis=1)
    reach = t.ppf(0.975, n - 1) * family.std(axis=1, ddof=1) * math.sqrt(1 + 1 / n)
    found = single_case(0.3, Summary(n=n, mean=0.0, sd=1.0)).missed(times)
    assert found == pytest.approx(float((abs(apart) > reach).mean()), abs=0.009)


def test_no_wider_it_misses_as_often_as_it_says_and_wider_more() -> None:
    case = single_case(0.3, Summary(n=8, mean=0.0, sd=1.0))
    assert case.missed(1.0, 0.9) == pytest.approx(0.1)
    assert case.missed(0.5) < 0.05 < case.missed(1.5) < case.missed(3.0) < 1
    with pytest.raises(Refusal, match="more than 0 times another, not 0"):
        case.missed(0.0)


def test_refusals() -> None:
    with pytest.raises(Refusal, match="The block's value is nan"):
        single_case(math.nan, WORKS)
    with pytest.raises(Refusal, match="the family holds 1 number"):
        single_case(9.0, [9.1])
    with pytest.raises(Refusal, match="All 4 blocks of the family are equal"):
        single_case(9.0, Summary(n=4, mean=9, sd=0))
    with pytest.raises(Refusal, match="Confidence must lie"):
        single_case(9.0, WORKS).share_below_interval(1)


@pytest.mark.parametrize("away", [-40.0, -8.0, 0.0, 8.0, 40.0])
def test_the_interval_of_a_share_holds_its_estimate_however_far_out(away: float) -> None:
    """Two blocks: the estimate is the t's, which has heavy tails, the interval noncentral t's."""
    found = single_case(9.0 + away, (8.9, 9.1))
    assert found.share_below_interval().contains(found.share_below)
    exact = found.standardised_interval()
    ends = found.share_below_interval()
    assert ends.low <= norm.cdf(exact.low) < norm.cdf(exact.high) + 1e-15
    assert ends.high >= norm.cdf(exact.high)
