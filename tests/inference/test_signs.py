"""Sign permutation and signed ranks: full enumeration, swap, unit, interval against p, refusals."""

import math
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from workbench.errors import Refusal
from workbench.inference.ranks.signed_rank import signed_rank
from workbench.inference.resampling.sign_permutation import sign_permutation

ROW = st.lists(st.integers(-6, 6), min_size=1, max_size=7).filter(any)
APART = (0.31, -0.05, 0.22, 0.47, 0.13, -0.11, 0.38)
TESTS = (sign_permutation, signed_rank)


@given(row=ROW, margin=st.integers(-2, 2))
@settings(max_examples=60, deadline=None)
def test_sign_permutation_is_every_arrangement(row: list[int], margin: int) -> None:
    apart = np.array(row) - margin
    sums = np.array([np.dot(signs, apart) for signs in product((-1, 1), repeat=len(row))])
    found = sign_permutation(row)
    assert found.p_above(margin) == pytest.approx(np.mean(sums >= apart.sum()))
    assert found.p_below(margin) == pytest.approx(np.mean(sums <= apart.sum()))


@given(row=ROW)
@settings(max_examples=60, deadline=None)
def test_signed_ranks_are_every_arrangement(row: list[int]) -> None:
    apart = np.array([value for value in row if value])
    ranks = stats.rankdata(np.abs(apart))
    sums = np.array([np.dot(kept, ranks) for kept in product((0, 1), repeat=apart.size)])
    seen = ranks[apart > 0].sum()
    found = signed_rank(row)
    assert found.statistic == seen
    assert found.p_above(0) == pytest.approx(np.mean(sums >= seen))
    assert found.p_below(0) == pytest.approx(np.mean(sums <= seen))


@pytest.mark.parametrize("test", TESTS)
@given(row=ROW, margin=st.integers(-2, 2))
@settings(max_examples=30, deadline=None)
def test_turned_differences_swap_the_sides(test, row: list[int], margin: int) -> None:
    forward, back = test(row), test([-value for value in row])
    assert back.estimate == pytest.approx(-forward.estimate)
    assert back.p_above(-margin) == pytest.approx(forward.p_below(margin))
    assert back.p_value(-margin) == pytest.approx(forward.p_value(margin))
    assert back.interval(0.7).low == pytest.approx(-forward.interval(0.7).high)


@pytest.mark.parametrize("test", TESTS)
@pytest.mark.parametrize("confidence", [0.5, 0.8, 0.9, 0.95])
def test_the_interval_ends_where_p_says(test, confidence: float) -> None:
    found = test(APART)
    interval = found.interval(confidence)
    assert interval.attained >= confidence
    for end, way in ((interval.low, -1), (interval.high, 1)):
        assert found.p_value(end + way * 1e-6) <= 1 - confidence + 1e-12
        assert found.p_value(end - way * 1e-6) > 1 - confidence


@pytest.mark.parametrize("test", TESTS)
def test_inches_give_the_same_p(test) -> None:
    assert test(np.array(APART) / 25.4).p_value(0.1 / 25.4) == test(APART).p_value(0.1)


@pytest.mark.parametrize("test", TESTS)
def test_too_few_pairs_leave_the_interval_open(test) -> None:
    found = test([0.4, 0.5, 0.7])
    assert found.p_value() == pytest.approx(0.25)
    assert found.interval().low == -math.inf
    assert found.interval().attained == 1


def test_many_pairs_are_drawn_from_the_seed() -> None:
    row = np.random.default_rng(2).normal(0.2, 1, 60)
    found = sign_permutation(row, seed=7)
    assert not found.exact
    assert found.p_value() == sign_permutation(row, seed=7).p_value()
    t = stats.ttest_1samp(row, 0).pvalue
    assert found.p_value() == pytest.approx(t, rel=0.1)
    assert found.interval().low == pytest.approx(
        stats.t.interval(0.95, 59, row.mean(), stats.sem(row))[0], abs=0.03
    )


def test_many_ranks_follow_the_normal_limit() -> None:
    row = np.random.default_rng(2).normal(0.1, 1, 400)
    found = signed_rank(row)
    theirs = stats.wilcoxon(row, method="asymptotic", correction=True)
    assert found.p_value() == pytest.approx(theirs.pvalue, rel=1e-9)
    assert found.interval().attained == pytest.approx(0.95, abs=1e-3)
    assert found.interval().contains(found.estimate)


@pytest.mark.parametrize("test", TESTS)
def test_refusals(test) -> None:
    with pytest.raises(Refusal, match="the differences holds 0 numbers"):
        test([])
    with pytest.raises(Refusal, match="nan at place 2"):
        test([1, math.nan])
    with pytest.raises(Refusal, match="Confidence must lie"):
        test(APART).interval(1)


def test_nothing_but_zeros_refused() -> None:
    with pytest.raises(Refusal, match="All 3 differences are 0"):
        signed_rank([0, 0, 0])
