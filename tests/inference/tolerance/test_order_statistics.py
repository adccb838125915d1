"""Distribution-free tolerance limits: simulated confidence, counts, refusals."""

import math

import numpy as np
import pytest

from workbench.errors import Refusal
from workbench.inference.tolerance.order_statistics import blocks_needed, ranked_tolerance


@pytest.mark.parametrize("side", ["both", "lower", "upper"])
def test_the_attained_confidence_is_that_seen_in_simulation(side) -> None:
    samples = np.random.default_rng(3).uniform(size=(4_000, 150))
    found = [ranked_tolerance(row, 0.9, 0.9, side) for row in samples]
    held = np.mean([min(f.high, 1) - max(f.low, 0) >= 0.9 for f in found])
    attained = found[0].attained
    assert attained >= 0.9
    assert abs(held - attained) < 4 * math.sqrt(attained * (1 - attained) / 4_000)


def test_the_count_needed_is_the_least_that_is_not_refused() -> None:
    for side in ("both", "lower"):
        n = blocks_needed(0.8, 0.9, side)
        assert ranked_tolerance(np.arange(n), 0.8, 0.9, side).attained >= 0.9
        with pytest.raises(Refusal, match=f"{n - 1} blocks give no limits .* {n} are needed"):
            ranked_tolerance(np.arange(n - 1), 0.8, 0.9, side)


def test_any_rising_scale_gives_the_same_limits() -> None:
    values = np.random.default_rng(4).normal(size=100)
    plain, bent = ranked_tolerance(values, 0.9, 0.9), ranked_tolerance(np.exp(values), 0.9, 0.9)
    assert (bent.low, bent.high) == pytest.approx((math.exp(plain.low), math.exp(plain.high)))


def test_more_blocks_leave_more_out() -> None:
    few = ranked_tolerance(np.arange(59), side="lower")
    many = ranked_tolerance(np.arange(5_900), side="lower")
    assert few.low == 0
    assert many.low > 200


def test_refusals() -> None:
    with pytest.raises(Refusal, match=r"48 blocks give no limits .* 93 are needed for 95% .* 95%"):
        ranked_tolerance(np.arange(48))
    with pytest.raises(Refusal, match="A rank is a whole number"):
        blocks_needed(rank=0)
    with pytest.raises(Refusal, match="would be needed"):
        blocks_needed(1 - 1e-10)
