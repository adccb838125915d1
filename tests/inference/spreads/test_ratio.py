"""Ratio of spreads by drawing blocks: swap, unit, coverage, refusals."""

import math

import numpy as np
import pytest

from workbench.errors import Refusal
from workbench.inference.spreads.ratio import spread_ratio

GENERATOR = np.random.default_rng(5)
WIDE, NARROW = GENERATOR.normal(5, 0.6, 40), GENERATOR.normal(7, 0.3, 35)


def test_estimate_is_the_ratio_and_units_cancel() -> None:
    found = spread_ratio(WIDE, NARROW, seed=1)
    assert found.estimate == pytest.approx(WIDE.std(ddof=1) / NARROW.std(ddof=1))
    inches = spread_ratio(WIDE / 25.4 + 3, NARROW / 25.4, seed=1).interval()
    assert (inches.low, inches.high) == pytest.approx((found.interval().low, found.interval().high))
    assert found.warning is None


def test_swapped_families_invert_the_interval() -> None:
    forward = spread_ratio(WIDE, NARROW, seed=1, resamples=20_000)
    back = spread_ratio(NARROW, WIDE, seed=2, resamples=20_000)
    assert back.estimate == pytest.approx(1 / forward.estimate)
    assert back.interval().low == pytest.approx(1 / forward.interval().high, rel=0.03)


def test_error_of_the_logarithm_for_normal_blocks() -> None:
    """The variance of log s tends to 1 / (2 (n - 1)) for normal blocks."""
    generator = np.random.default_rng(4)
    own, other = generator.normal(size=(2, 1500))
    found = spread_ratio(own, other, seed=1, resamples=200).logarithm
    assert found.own_error == pytest.approx(math.sqrt(2 / (2 * 1499)), rel=0.07)


@pytest.mark.parametrize(("shape", "least"), [("normal", 0.90), ("laplace", 0.88)])
def test_coverage(shape: str, least: float) -> None:
    """Named 95 %; for heavy tails the F interval would cover about 80 %."""
    generator = np.random.default_rng(21)
    hits = 0
    for seed in range(200):
        own, other = getattr(generator, shape)(size=(2, 40))
        hits += spread_ratio(own, other, seed=seed, resamples=300).interval().contains(1.0)
    assert least < hits / 200 < 0.98


def test_few_blocks_are_answered_with_a_warning() -> None:
    found = spread_ratio(WIDE[:5], NARROW[:6], seed=1)
    interval = found.interval(0.95, "percentile")
    assert "With 5 blocks" in found.warning
    assert 0 <= interval.low < found.estimate < interval.high <= math.inf


def test_refusals() -> None:
    with pytest.raises(Refusal, match="the candidate holds 4 numbers; at least 5"):
        spread_ratio(WIDE[:4], NARROW, seed=1)
    with pytest.raises(Refusal, match="All 6 numbers of the reference are equal"):
        spread_ratio(WIDE, [2] * 6, seed=1)
    with pytest.raises(Refusal, match="Confidence must lie"):
        spread_ratio(WIDE, NARROW, seed=1).interval(0)
