"""Agreement of two methods: swap and unit, intervals that hold, refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.errors import Refusal
from workbench.inference.measuring.agreement import agreement, proportional_bias

FIRST = np.array([5.1, 6.3, 7.2, 5.5, 6.0, 8.1, 7.7, 6.6])
SECOND = np.array([5.0, 6.6, 7.0, 5.2, 6.1, 7.6, 7.5, 6.7])


def test_swapping_the_methods_flips_the_bias() -> None:
    forth, back = agreement(FIRST, SECOND), agreement(SECOND, FIRST)
    assert back.bias.estimate == pytest.approx(-forth.bias.estimate)
    assert back.bias.p_value() == pytest.approx(forth.bias.p_value())
    assert back.limits().low.estimate == pytest.approx(-forth.limits().high.estimate)
    assert back.limits().low.low == pytest.approx(-forth.limits().high.high)
    swapped = proportional_bias(SECOND, FIRST)
    straight = proportional_bias(FIRST, SECOND)
    assert swapped.slope == pytest.approx(-straight.slope)
    assert swapped.p_value == pytest.approx(straight.p_value)


@settings(max_examples=30, deadline=None)
@given(factor=st.sampled_from([1 / 25.4, 1000.0]), shift=st.floats(-5, 5))
def test_unit_and_a_common_shift_do_not_matter(factor: float, shift: float) -> None:
    here = agreement(FIRST, SECOND)
    there = agreement((FIRST + shift) * factor, (SECOND + shift) * factor)
    assert there.bias.estimate == pytest.approx(factor * here.bias.estimate, rel=1e-6)
    assert there.bias.p_value() == pytest.approx(here.bias.p_value(), rel=1e-6)
    assert there.limits().high.high == pytest.approx(factor * here.limits().high.high, rel=1e-6)


def test_interval_of_the_bias_excludes_nothing_exactly_when_p_says_so() -> None:
    found = agreement(FIRST, SECOND)
    for confidence in (0.5, 0.8, 0.95, 0.99):
        inside = found.bias.interval(confidence).contains(0.0)
        assert inside == (found.bias.p_value() > 1 - confidence)


def test_limits_cover_the_share_they_name_and_their_intervals_hold() -> None:
    """Simulated: 12 pairs, true limits -1.96 and 1.96, intervals at 90 %."""
    generator, trials, held = np.random.default_rng(9), 400, 0
    for _ in range(trials):
        difference = generator.normal(0, 1, 12)
        base = generator.normal(10, 2, 12)
        limits = agreement(base + difference, base).limits(0.90)
        held += limits.high.contains(1.959964)
    assert held / trials == pytest.approx(0.90, abs=3 * math.sqrt(0.09 / trials))


def test_places_of_a_block_are_not_independent() -> None:
    """Simulated: 8 blocks of 10 places; the error of the bias is that between blocks."""
    generator, trials = np.random.default_rng(10), 400
    block = np.repeat(np.arange(8), 10)
    held = naive = 0
    for _ in range(trials):
        difference = generator.normal(0, 0.3, 8)[block] + generator.normal(0, 0.2, 80)
        base = generator.normal(10, 1, 80)
        held += agreement(base + difference, base, block).bias.interval(0.90).contains(0.0)
        naive += agreement(base + difference, base).bias.interval(0.90).contains(0.0)
    assert held / trials == pytest.approx(0.90, abs=3 * math.sqrt(0.09 / trials))
    assert naive / trials < 0.6


def test_groups_of_equal_size_give_the_error_of_their_means() -> None:
    block = np.repeat(np.arange(4), 2)
    found = agreement(FIRST, SECOND, block)
    means = (FIRST - SECOND).reshape(4, 2).mean(axis=1)
    assert found.bias.estimate == pytest.approx(means.mean())
    assert found.bias.standard_error == pytest.approx(means.std(ddof=1) / 2)
    assert found.bias.degrees_of_freedom == 3
    assert found.sd == pytest.approx(math.hypot(found.within_sd, found.between_sd))


def test_unlike_repeatability_alone_makes_a_slope() -> None:
    """The warning of the docstring: no growing bias, yet the noisier method seems to stretch."""
    generator = np.random.default_rng(12)
    true = generator.normal(10, 1, 400)
    noisy, quiet = true + generator.normal(0, 1, 400), true + generator.normal(0, 0.1, 400)
    assert proportional_bias(noisy, quiet).slope > 0.3


def test_what_is_refused() -> None:
    with pytest.raises(Refusal, match="the first method holds 2 numbers; at least 3"):
        agreement([1.0, 2.0], [1.0, 2.0])
    with pytest.raises(Refusal, match="8 of one and 3 of the other"):
        agreement(FIRST, SECOND[:3])
    with pytest.raises(Refusal, match="All 8 numbers of the differences are equal"):
        agreement(FIRST, FIRST)
    with pytest.raises(Refusal, match="8 pairs in 8 groups do not tell"):
        agreement(FIRST, SECOND, np.arange(8))
    with pytest.raises(Refusal, match="8 pairs in 1 groups do not tell"):
        agreement(FIRST, SECOND, np.zeros(8))
    with pytest.raises(Refusal, match="2 of one and 8 of the other"):
        agreement(FIRST, SECOND, [1, 2])
    with pytest.raises(Refusal, match="The factor must be above 0"):
        agreement(FIRST, SECOND).limits(factor=0.0)
    with pytest.raises(Refusal, match="Confidence must lie between 0 and 1"):
        agreement(FIRST, SECOND).limits(coverage=1.0)
    with pytest.raises(Refusal, match="the means of the pairs are equal"):
        proportional_bias([1.0, 2.0, 3.0], [3.0, 2.0, 1.0])
    with pytest.raises(Refusal, match="on a line without any scatter"):
        proportional_bias(FIRST, FIRST)
