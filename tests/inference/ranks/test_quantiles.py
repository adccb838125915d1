"""Quantiles by order statistics: attained confidence, invariance, open ends, refusals."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.errors import Refusal
from workbench.inference.ranks.quantiles import median_interval, quantile_interval


def test_attained_is_never_below_what_was_asked() -> None:
    values = np.arange(40)
    for confidence in (0.5, 0.8, 0.9, 0.95, 0.99):
        for share in (0.2, 0.5, 0.7):
            found = quantile_interval(values, share, confidence)
            assert found.attained >= confidence


def test_attained_is_the_coverage_seen_in_simulation() -> None:
    generator = np.random.default_rng(8)
    samples = generator.exponential(size=(4000, 12))
    found = [median_interval(row, 0.90) for row in samples]
    covered = np.mean([interval.contains(math.log(2)) for interval in found])
    assert abs(covered - found[0].attained) < 4 * math.sqrt(0.1 * 0.9 / 4000)


@given(st.lists(st.integers(-1000, 1000), min_size=6, max_size=40))
@settings(max_examples=40, deadline=None)
def test_any_rising_scale_gives_the_same_ends(values: list[int]) -> None:
    plain, bent = median_interval(values), median_interval([math.exp(v / 300) for v in values])
    assert (bent.low, bent.high) == pytest.approx(
        (math.exp(plain.low / 300), math.exp(plain.high / 300))
    )


@given(st.lists(st.integers(-1000, 1000), min_size=3, max_size=40), st.sampled_from([0.1, 0.3]))
@settings(max_examples=40, deadline=None)
def test_mirrored_values_give_the_mirrored_interval(values: list[int], share: float) -> None:
    plain = quantile_interval(values, share)
    mirrored = quantile_interval([-v for v in values], 1 - share)
    assert (mirrored.low, mirrored.high) == (-plain.high, -plain.low)
    assert mirrored.attained == pytest.approx(plain.attained)


def test_ends_are_open_when_the_blocks_are_too_few() -> None:
    found = median_interval([3, 4, 5, 6, 7])  # 5 blocks reach 93.75 % at most
    assert (found.low, found.high) == (-math.inf, math.inf)
    assert found.attained == 1
    closed = median_interval([3, 4, 5, 6, 7], 0.9375)
    assert (closed.low, closed.high) == (3, 7)
    assert closed.attained == pytest.approx(0.9375)


def test_refusals() -> None:
    with pytest.raises(Refusal, match="A share lies between 0 and 1, not at 1"):
        quantile_interval([1, 2, 3], 1)
    with pytest.raises(Refusal, match="holds 0 numbers"):
        median_interval([])
    with pytest.raises(Refusal, match="nan at place 1"):
        median_interval([math.nan, 1])
    with pytest.raises(Refusal, match="Confidence must lie"):
        median_interval([1, 2, 3], 1.5)
