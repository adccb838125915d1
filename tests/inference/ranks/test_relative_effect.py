"""Relative effect: counted pairs, swap, unit, interval against p, refusals."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from workbench.errors import Refusal
from workbench.inference.ranks.relative_effect import relative_effect

DECKS, WORKS = (9.9, 10.4, 10.0, 9.2, 9.7), (9.1, 9.45, 8.8, 9.0, 9.95, 9.3)
ROW = st.lists(st.integers(0, 9), min_size=3, max_size=9)


@given(own=ROW, other=ROW)
@settings(max_examples=60, deadline=None)
def test_it_counts_pairs_and_scipy_agrees(own: list[int], other: list[int]) -> None:
    pairs = np.sign(np.subtract.outer(own, other))
    placed = np.unique(pairs.sum(axis=0)).size + np.unique(pairs.sum(axis=1)).size
    if placed == 2:
        with pytest.raises(Refusal, match="placements do not vary"):
            relative_effect(own, other)
        return
    found = relative_effect(own, other)
    theirs = stats.brunnermunzel(other, own)
    assert found.estimate == pytest.approx((pairs.mean() + 1) / 2)
    assert found.statistic() == pytest.approx(theirs.statistic)
    assert found.p_value() == pytest.approx(theirs.pvalue)


def test_swapped_families_mirror_the_probability() -> None:
    forward, back = relative_effect(DECKS, WORKS), relative_effect(WORKS, DECKS)
    assert back.estimate == pytest.approx(1 - forward.estimate)
    assert back.p_value(0.3) == pytest.approx(forward.p_value(0.7))
    assert back.interval().low == pytest.approx(1 - forward.interval().high)


def test_any_rising_scale_gives_the_same() -> None:
    bent = relative_effect(np.exp(DECKS), np.exp(WORKS))
    assert bent.p_value() == pytest.approx(relative_effect(DECKS, WORKS).p_value())


@pytest.mark.parametrize("confidence", [0.3, 0.5, 0.7])
def test_the_interval_ends_where_p_says(confidence: float) -> None:
    found = relative_effect(DECKS, WORKS)
    interval = found.interval(confidence)
    assert found.p_value(interval.low) == pytest.approx(1 - confidence)
    assert interval.high < 1
    assert found.p_value(interval.high) == pytest.approx(1 - confidence)
    assert found.interval(0.9999).high == 1


def test_refusals() -> None:
    with pytest.raises(Refusal, match="placements do not vary"):
        relative_effect([5, 6, 7], [1, 2, 3])
    with pytest.raises(Refusal, match="the candidate holds 1 number"):
        relative_effect([5], WORKS)
    with pytest.raises(Refusal, match="the reference holds inf"):
        relative_effect(DECKS, [1, math.inf])
    with pytest.raises(Refusal, match="Confidence must lie"):
        relative_effect(DECKS, WORKS).interval(0)
