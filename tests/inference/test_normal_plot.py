"""The normal quantile plot and its band, against fresh simulation and printed normal scores."""

from __future__ import annotations

import numpy as np
import pytest

from workbench.errors import Refusal
from workbench.inference.normal_plot import MOST_RANKS, normal_plot


def test_band_holds_as_a_whole_for_fresh_normal_samples() -> None:
    """Samples from another generator, in another unit and place, stay inside 19 times in 20.

    The band of standardised values does not depend on the sample, so one band serves for all.
    """
    plot = normal_plot(np.arange(12.0), 0.95, seed=3)
    low, high = (plot.low - plot.mean) / plot.sd, (plot.high - plot.mean) / plot.sd
    fresh = np.random.RandomState(5).normal(40, 7, (4000, 12))
    scaled = (fresh - fresh.mean(axis=1, keepdims=True)) / fresh.std(axis=1, ddof=1, keepdims=True)
    scaled.sort(axis=1)
    inside = ((scaled >= low) & (scaled <= high)).all(axis=1).mean()
    assert inside == pytest.approx(0.95, abs=0.015)


def test_each_rank_alone_is_cut_off_alike() -> None:
    plot = normal_plot(np.arange(12.0), 0.95, seed=3)
    low, high = (plot.low - plot.mean) / plot.sd, (plot.high - plot.mean) / plot.sd
    fresh = np.random.RandomState(6).normal(size=(20000, 12))
    scaled = (fresh - fresh.mean(axis=1, keepdims=True)) / fresh.std(axis=1, ddof=1, keepdims=True)
    scaled.sort(axis=1)
    below, above = (scaled < low).mean(axis=0), (scaled > high).mean(axis=0)
    assert np.ptp(np.concatenate([below, above])) < 0.01


def test_positions_are_near_the_expected_normal_scores() -> None:
    """Harter (1961), Biometrika 48: expected normal order statistics for n = 5, from memory."""
    plot = normal_plot([1.0, 2.0, 3.0, 4.0, 5.0], seed=1)
    assert plot.theoretical == pytest.approx([-1.163, -0.495, 0.0, 0.495, 1.163], abs=0.02)


def test_unit_change_scales_the_band() -> None:
    values = np.random.default_rng(1).normal(12, 0.3, 30)
    millimetres, inches = normal_plot(values, seed=2), normal_plot(values / 25.4, seed=2)
    assert millimetres.low == pytest.approx(25.4 * inches.low)
    assert millimetres.high == pytest.approx(25.4 * inches.high)
    assert millimetres.outside == inches.outside


def test_band_widens_with_confidence_and_is_the_same_for_the_same_seed() -> None:
    values = np.random.default_rng(1).normal(12, 0.3, 30)
    usual, wide = normal_plot(values, 0.9, seed=2), normal_plot(values, 0.99, seed=2)
    assert (wide.low <= usual.low).all()
    assert (wide.high >= usual.high).all()
    assert (normal_plot(values, 0.9, seed=2).low == usual.low).all()


def test_a_skewed_sample_leaves_the_band() -> None:
    values = np.random.default_rng(1).exponential(1.0, 60)
    assert normal_plot(values, seed=2).outside > 0


def test_many_values_give_a_readable_number_of_points_with_both_ends() -> None:
    values = np.random.default_rng(1).normal(size=3000)
    plot = normal_plot(values, seed=2, draws=200)
    assert plot.n == 3000
    assert plot.ordered.size == MOST_RANKS
    assert plot.ordered[[0, -1]].tolist() == [values.min(), values.max()]


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ([1.0, 2.0, 3.0, 4.0], "at least 5"),
        ([1.0] * 6, "no spread"),
        ([1.0, 2.0, 3.0, float("nan"), 5.0], "finite"),
    ],
)
def test_refusals(values: list[float], said: str) -> None:
    with pytest.raises(Refusal, match=said):
        normal_plot(values, seed=1)
