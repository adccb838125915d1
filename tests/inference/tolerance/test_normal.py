"""Normal tolerance limits: simulated confidence, limits of factors, invariance, refusals."""

import math

import numpy as np
import pytest
from scipy.special import ndtr, ndtri

from workbench.errors import Refusal
from workbench.inference.tolerance.normal import (
    half_widths,
    normal_tolerance,
    one_sided_factor,
    two_sided_factor,
)


def test_the_confidence_is_that_seen_in_simulation() -> None:
    samples = np.random.default_rng(1).standard_normal((40_000, 8))
    mean, sd = samples.mean(axis=1), samples.std(axis=1, ddof=1)
    both, one = two_sided_factor(8, 0.9, 0.95), one_sided_factor(8, 0.9, 0.95)
    held = ndtr(mean + both * sd) - ndtr(mean - both * sd) >= 0.9
    above = ndtr(mean + one * sd) >= 0.9
    for seen in (held.mean(), above.mean()):
        assert abs(seen - 0.95) < 4 * math.sqrt(0.05 * 0.95 / 40_000)


def test_factors_fall_to_the_normal_quantile() -> None:
    assert one_sided_factor(10**8, 0.95, 0.95) == pytest.approx(ndtri(0.95), abs=1e-3)
    assert two_sided_factor(10**8, 0.95, 0.95) == pytest.approx(ndtri(0.975), abs=1e-3)
    for factor in (one_sided_factor, two_sided_factor):
        values = [factor(n, 0.9, 0.95) for n in (2, 3, 5, 10, 40)]
        assert values == sorted(values, reverse=True)


def test_a_spread_known_better_makes_a_smaller_factor() -> None:
    assert two_sided_factor(10, 0.95, 0.95, degrees_of_freedom=100) < two_sided_factor(
        10, 0.95, 0.95
    )
    assert one_sided_factor(10, 0.95, 0.95, degrees_of_freedom=100) < one_sided_factor(
        10, 0.95, 0.95
    )


def test_half_widths_hold_their_share() -> None:
    away = np.array([0.0, -0.4, 0.4, 3.0])
    reach = half_widths(away, 0.9)
    assert ndtr(reach - away) - ndtr(-reach - away) == pytest.approx(np.full(4, 0.9))
    assert reach[1] == reach[2]


def test_limits_mirror_and_follow_the_unit() -> None:
    values = np.random.default_rng(2).normal(4.6, 0.3, 20)
    lower = normal_tolerance(values, side="lower")
    upper = normal_tolerance(-values, side="upper")
    assert (lower.high, upper.low) == (math.inf, -math.inf)
    assert upper.high == pytest.approx(-lower.low)
    both, inches = normal_tolerance(values), normal_tolerance(values / 25.4)
    assert (inches.low * 25.4, inches.high * 25.4) == pytest.approx((both.low, both.high))
    assert both.low < lower.low


def test_refusals() -> None:
    with pytest.raises(Refusal, match="All 5 values are equal"):
        normal_tolerance([4.6] * 5)
    with pytest.raises(Refusal, match="Coverage must lie between 0 and 1, not at 1"):
        normal_tolerance([4, 5, 6], 1.0)
    with pytest.raises(Refusal, match="Confidence must lie between 0 and 1"):
        normal_tolerance([4, 5, 6], 0.9, 0.0)
    with pytest.raises(Refusal, match="one of both, lower, upper, not 'left'"):
        normal_tolerance([4, 5, 6], side="left")
    with pytest.raises(Refusal, match="2 values or more, not 1"):
        two_sided_factor(1, 0.9, 0.9)
