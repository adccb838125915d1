"""Means compared by drawing blocks: scipy, swap, unit, p with interval, refusals."""

import math

import numpy as np
import pytest
from scipy.stats import ttest_ind

from workbench.errors import Refusal
from workbench.inference.resampling.comparison import compare_means

GENERATOR = np.random.default_rng(5)
OWN, OTHER = GENERATOR.normal(5, 0.3, 30), GENERATOR.normal(4.8, 0.3, 40)


def test_for_normal_blocks_it_comes_near_welch() -> None:
    found = compare_means(OWN, OTHER, seed=1)
    welch = ttest_ind(OWN, OTHER, equal_var=False)
    ends = welch.confidence_interval(0.95)
    assert found.estimate == pytest.approx(OWN.mean() - OTHER.mean())
    assert (found.interval().low, found.interval().high) == pytest.approx(
        (ends.low, ends.high), abs=0.02
    )
    assert found.p_value() == pytest.approx(welch.pvalue, abs=0.01)
    assert found.warning is None


@pytest.mark.parametrize("margin", [-0.2, 0.0, 0.05, 0.11, 0.3])
def test_the_interval_leaves_out_a_margin_exactly_when_p_says_so(margin: float) -> None:
    found = compare_means(OWN, OTHER, seed=2)
    assert found.interval().contains(margin) == (found.p_value(margin) > 0.05)


def test_swap_unit_and_seed() -> None:
    found = compare_means(OWN, OTHER, seed=3)
    assert compare_means(OWN, OTHER, seed=3).p_value(0.1) == found.p_value(0.1)
    inches = compare_means(OWN / 25.4 + 1, OTHER / 25.4 + 1, seed=3)
    assert inches.interval().low * 25.4 == pytest.approx(found.interval().low, rel=1e-6)
    back = compare_means(OTHER, OWN, seed=4)
    assert back.estimate == -found.estimate
    assert back.p_value() == pytest.approx(found.p_value(), abs=0.03)


def test_coverage_of_skewed_blocks() -> None:
    generator = np.random.default_rng(7)
    held = [
        compare_means(generator.exponential(size=20), generator.exponential(size=25), seed=seed)
        .interval(0.9)
        .contains(0.0)
        for seed in range(150)
    ]
    assert 0.83 < np.mean(held) < 0.96


def test_refusals() -> None:
    with pytest.raises(Refusal, match="the candidate holds 4 numbers; at least 5"):
        compare_means(OWN[:4], OTHER, seed=1)
    with pytest.raises(Refusal, match="All 6 numbers of the reference are equal"):
        compare_means(OWN, [2.0] * 6, seed=1)
    with pytest.raises(Refusal, match="the blocks do not differ"):
        compare_means([1.0, 1.0, 1.0, 1.0, 1.0, 9.0], [2.0, 2.0, 2.0, 2.0, 2.0, 3.0], seed=1)
    assert "With 5 blocks" in compare_means(OWN[:5], OTHER, seed=1).warning
    assert math.isnan(compare_means(OWN, OTHER, seed=1).degrees_of_freedom)
