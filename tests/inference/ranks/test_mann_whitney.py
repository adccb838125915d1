"""Mann-Whitney: against full enumeration, swap, unit, interval against p, refusals."""

import math
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from workbench.errors import Refusal
from workbench.inference.ranks.mann_whitney import mann_whitney, rank_sum_chances

ROW = st.lists(st.integers(0, 6), min_size=1, max_size=5)
DECKS, WORKS = (9.9, 10.4, 10.0, 10.7), (9.1, 9.45, 8.8, 9.0, 9.3, 10.1)


@given(own=ROW, other=ROW)
@settings(max_examples=60, deadline=None)
def test_tails_are_those_of_every_dealing(own: list[int], other: list[int]) -> None:
    ranks = stats.rankdata(own + other)
    sums = np.array([sum(deal) for deal in combinations(ranks, len(own))])
    seen = ranks[: len(own)].sum()
    found = mann_whitney(own, other)
    assert found.p_above(0) == pytest.approx(np.mean(sums >= seen - 1e-9))
    assert found.p_below(0) == pytest.approx(np.mean(sums <= seen + 1e-9))


def test_without_ties_scipy_agrees() -> None:
    generator = np.random.default_rng(3)
    own, other = generator.normal(size=12), generator.normal(0.4, 1, 17)
    for side, p in (("greater", "p_above"), ("less", "p_below")):
        expected = stats.mannwhitneyu(own, other, alternative=side, method="exact").pvalue
        assert getattr(mann_whitney(own, other), p)(0.0) == pytest.approx(expected, rel=1e-10)


def test_many_blocks_follow_the_normal_limit() -> None:
    generator = np.random.default_rng(5)
    own, other = generator.integers(0, 30, 150), generator.integers(2, 32, 140)
    found = mann_whitney(own, other)
    expected = stats.mannwhitneyu(own, other, method="asymptotic").pvalue
    assert not found.exact
    assert found.p_value() == pytest.approx(expected, rel=1e-9)
    assert found.interval().contains(found.estimate)
    assert found.interval().attained == pytest.approx(0.95, abs=1e-3)


@given(own=ROW, other=ROW, shift=st.integers(-3, 3))
@settings(max_examples=40, deadline=None)
def test_swapped_families_change_the_sign(own, other, shift) -> None:
    forward, back = mann_whitney(own, other), mann_whitney(other, own)
    assert back.estimate == pytest.approx(-forward.estimate)
    assert back.p_value(-shift) == pytest.approx(forward.p_value(shift))
    assert back.p_above(-shift) == pytest.approx(forward.p_below(shift))
    assert back.interval(0.8).low == pytest.approx(-forward.interval(0.8).high)
    assert back.probability == pytest.approx(1 - forward.probability)


@pytest.mark.parametrize("confidence", [0.5, 0.8, 0.9, 0.95])
def test_the_interval_ends_where_p_says(confidence: float) -> None:
    found = mann_whitney(DECKS, WORKS)
    interval = found.interval(confidence)
    for outside, inside in (
        (interval.low - 1e-6, interval.low + 1e-6),
        (interval.high + 1e-6, interval.high - 1e-6),
    ):
        assert found.p_value(outside) <= 1 - confidence
        assert found.p_value(inside) > 1 - confidence
    assert interval.attained >= confidence


def test_inches_give_the_same_p() -> None:
    metric = mann_whitney(DECKS, WORKS)
    inches = mann_whitney(np.array(DECKS) / 25.4, np.array(WORKS) / 25.4)
    assert inches.p_value(0.31 / 25.4) == metric.p_value(0.31)


def test_a_tie_is_a_tie_in_any_unit() -> None:
    """9.9 - 0.6 ties with 9.3, though not in binary; nor do 0.1 + 0.2 and 0.3 differ."""
    for margin in (0.6, 0.45, 0.55):
        thick, thin = np.array(DECKS), np.array(WORKS)
        inches = mann_whitney(thick / 25.4, thin / 25.4)
        assert inches.p_value(margin / 25.4) == mann_whitney(DECKS, WORKS).p_value(margin)
    assert mann_whitney([0.1 + 0.2], [0.3]).probability == 0.5


def test_too_few_blocks_leave_the_interval_open() -> None:
    found = mann_whitney([10.0, 11.0], [8.0, 9.0])
    assert found.p_value() == pytest.approx(1 / 3)
    assert found.interval().low == -math.inf
    assert found.interval().attained == 1


def test_all_equal_says_nothing() -> None:
    assert mann_whitney([3, 3, 3], [3, 3]).p_value() == 1
    assert mann_whitney([3] * 200, [3] * 200).p_value() == 1


def test_chances_of_small_sums() -> None:
    """Two of 0, 1, 2, 3: sums 1, 2, 3 (twice), 4, 5."""
    chances = rank_sum_chances(np.arange(4), 2)
    assert chances == pytest.approx(np.array([0, 1, 1, 2, 1, 1]) / 6)


@pytest.mark.parametrize("drawn", [1, 3, 6, 7])
@pytest.mark.parametrize("scores", [[0, 1, 1, 4, 6, 6, 9], [5, 0, 2, 2, 2, 8, 1], [3] * 7])
def test_chances_are_those_of_all_dealings_counted(scores, drawn) -> None:
    sums = [sum(chosen) for chosen in combinations(scores, drawn)]
    chances = rank_sum_chances(np.array(scores), drawn)
    counted = [sums.count(at) / len(sums) for at in range(len(chances))]
    assert chances == pytest.approx(np.array(counted))
    assert max(sums) == len(chances) - 1


def test_refusals() -> None:
    with pytest.raises(Refusal, match="the candidate holds 0 numbers"):
        mann_whitney([], WORKS)
    with pytest.raises(Refusal, match="the reference holds nan at place 2"):
        mann_whitney(DECKS, [1, math.nan])
    with pytest.raises(Refusal, match="Confidence must lie"):
        mann_whitney(DECKS, WORKS).interval(1)
