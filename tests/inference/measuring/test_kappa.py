"""Kappa: identities, statsmodels as witness, intervals that hold, refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from statsmodels.stats.inter_rater import aggregate_raters, cohens_kappa, fleiss_kappa

from workbench.errors import Refusal
from workbench.inference.measuring.kappa import several_observers, two_observers

grades = st.lists(st.integers(0, 3), min_size=12, max_size=40)


@settings(max_examples=40, deadline=None)
@given(first=grades, seed=st.integers(0, 1000))
@pytest.mark.parametrize("weights", ["none", "linear", "quadratic"])
def test_two_observers_against_statsmodels(weights: str, first: list[int], seed: int) -> None:
    generator = np.random.default_rng(seed)
    moved = np.where(
        generator.random(len(first)) < 0.4, generator.integers(0, 4, len(first)), first
    )
    table = np.zeros((4, 4))
    np.add.at(table, (first, moved), 1)
    assume(np.count_nonzero(table.sum(axis=0)) > 1)
    assume(np.count_nonzero(table.sum(axis=1)) > 1)
    found = two_observers(first, moved.tolist(), weights=weights, levels=range(4))  # type: ignore[arg-type]
    witness = cohens_kappa(table, wt=None if weights == "none" else weights)
    assert found.estimate == pytest.approx(witness.kappa, abs=1e-10)
    assert found.standard_error == pytest.approx(math.sqrt(max(witness.var_kappa, 0)), abs=1e-7)


def test_several_observers_against_statsmodels() -> None:
    generator = np.random.default_rng(1)
    ratings = generator.integers(0, 3, (4, 25))
    witness = fleiss_kappa(aggregate_raters(ratings.T)[0])
    assert several_observers(ratings.tolist()).estimate == pytest.approx(witness, abs=1e-12)


def test_swap_of_observers_and_names_of_grades_do_not_matter() -> None:
    first = ["no", "yes", "yes", "no", "no", "yes", "no", "no"]
    second = ["no", "yes", "no", "no", "yes", "yes", "no", "no"]
    forth, back = two_observers(first, second), two_observers(second, first)
    assert back.estimate == pytest.approx(forth.estimate)
    assert back.standard_error == pytest.approx(forth.standard_error)
    renamed = two_observers(
        ["web" if grade == "yes" else "none" for grade in first],
        ["web" if grade == "yes" else "none" for grade in second],
    )
    assert renamed.estimate == pytest.approx(forth.estimate)
    reversed_order = two_observers(
        [1, 2, 3, 3, 2], [1, 3, 3, 2, 2], weights="linear", levels=[3, 2, 1]
    )
    assert reversed_order.estimate == pytest.approx(
        two_observers([1, 2, 3, 3, 2], [1, 3, 3, 2, 2], weights="linear").estimate
    )


def test_full_agreement_is_one_and_opposition_is_minus_one() -> None:
    same = two_observers([1, 2, 1, 2], [1, 2, 1, 2])
    assert (same.estimate, same.standard_error) == (1.0, 0.0)
    assert two_observers([1, 2, 1, 2], [2, 1, 2, 1]).estimate == pytest.approx(-1.0)
    assert several_observers([[1, 2, 1, 2]] * 3).estimate == pytest.approx(1.0)


def test_two_grades_need_no_weights() -> None:
    first, second = [0, 1, 1, 0, 1, 0, 0, 1], [0, 1, 0, 0, 1, 1, 0, 1]
    plain = two_observers(first, second)
    for weights in ("linear", "quadratic"):
        weighted = two_observers(first, second, weights=weights)  # type: ignore[arg-type]
        assert weighted.estimate == pytest.approx(plain.estimate)
        assert weighted.standard_error == pytest.approx(plain.standard_error)


def test_rare_grades_make_a_low_kappa_of_high_agreement() -> None:
    first = [0] * 48 + [1, 0]
    second = [0] * 48 + [0, 1]
    found = two_observers(first, second)
    assert found.observed == pytest.approx(0.96)
    assert found.estimate < 0


@pytest.mark.parametrize("kind", ["two", "several"])
def test_intervals_hold_the_truth(kind: str) -> None:
    """Simulated at 90 %: two grades, each observer right four times in five, 60 things."""
    generator, trials, held = np.random.default_rng(5), 400, 0
    right = 0.8
    agreed = right**2 + (1 - right) ** 2
    truth = (agreed - 0.5) / 0.5
    for _ in range(trials):
        true = generator.integers(0, 2, 60)
        seen = [np.where(generator.random(60) < right, true, 1 - true).tolist() for _ in range(3)]
        found = two_observers(*seen[:2]) if kind == "two" else several_observers(seen)
        held += found.interval(0.90).contains(truth)
    assert held / trials == pytest.approx(0.90, abs=3.5 * math.sqrt(0.09 / trials))


def test_interval_stays_within_its_bounds() -> None:
    found = two_observers([1, 2, 1, 2, 1, 1], [1, 2, 1, 2, 1, 2])
    assert found.interval(0.999).high == 1.0


def test_what_is_refused() -> None:
    with pytest.raises(Refusal, match="one graded 4 and another 3"):
        two_observers([1, 2, 1, 2], [1, 2, 1])
    with pytest.raises(Refusal, match="3 things or more, not 2"):
        two_observers([1, 2], [1, 2])
    with pytest.raises(Refusal, match="Everything was given one grade"):
        two_observers([1, 1, 1], [1, 1, 1])
    with pytest.raises(Refusal, match="give `levels`"):
        two_observers(["poor", "good", "fair"], ["poor", "good", "fair"], weights="linear")
    with pytest.raises(Refusal, match="“bad” is not among the grades poor, good"):
        two_observers(["poor", "good", "bad"], ["poor", "good", "good"], levels=["poor", "good"])
    with pytest.raises(Refusal, match="none, linear or quadratic, not 'cubic'"):
        two_observers([1, 2, 3], [1, 2, 3], weights="cubic")  # type: ignore[arg-type]
    with pytest.raises(Refusal, match="Agreement needs two observers, not 1"):
        several_observers([[1, 2, 3]])
    with pytest.raises(Refusal, match="All but one thing were given one grade"):
        several_observers([[1, 1, 2], [1, 1, 2]])
