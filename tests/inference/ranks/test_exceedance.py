"""Chances of exceeding, Cliff's delta, shares beyond the best: swap, unit, coverage, refusals."""

import math

import numpy as np
import pytest
from scipy import stats

from workbench.errors import Refusal
from workbench.inference.means.welch import Summary
from workbench.inference.ranks.exceedance import beyond_best, chance_of_exceeding, cliffs_delta
from workbench.inference.ranks.mann_whitney import mann_whitney

DECKS, WORKS = (9.9, 10.4, 10.0, 10.7, 9.2), (9.1, 9.45, 8.8, 9.0, 9.3, 10.1)


def test_swapped_families_mirror_the_chance() -> None:
    forward, back = chance_of_exceeding(DECKS, WORKS), chance_of_exceeding(WORKS, DECKS)
    assert back.estimate == pytest.approx(1 - forward.estimate)
    found, other = forward.interval(), back.interval()
    assert (other.low, other.high) == pytest.approx((1 - found.high, 1 - found.low))
    delta, turned = cliffs_delta(DECKS, WORKS), cliffs_delta(WORKS, DECKS)
    assert turned.estimate == pytest.approx(-delta.estimate)
    assert turned.interval().low == pytest.approx(-delta.interval().high)


def test_unit_and_origin_do_not_matter() -> None:
    metric, inches = (np.array(DECKS), np.array(WORKS)), None
    inches = tuple(row / 25.4 + 1 for row in metric)
    assert chance_of_exceeding(*inches).interval().low == pytest.approx(
        chance_of_exceeding(*metric).interval().low
    )
    assert cliffs_delta(*inches) == cliffs_delta(*metric)
    assert beyond_best(*inches).count == beyond_best(*metric).count


def test_coverage_of_the_chance_with_unequal_spreads() -> None:
    generator = np.random.default_rng(2)
    truth = stats.norm.cdf(0.8 / math.hypot(1.0, 0.5))
    hits = [
        chance_of_exceeding(generator.normal(0.8, 1.0, 8), generator.normal(0, 0.5, 12))
        .interval(0.9)
        .contains(truth)
        for _ in range(600)
    ]
    assert np.mean(hits) == pytest.approx(0.9, abs=0.045)


def test_delta_is_twice_the_chance_less_one() -> None:
    """And the chance by pairs is U over the number of pairs."""
    chance = mann_whitney(DECKS, WORKS).probability
    assert cliffs_delta(DECKS, WORKS).estimate == pytest.approx(2 * chance - 1)
    assert cliffs_delta([0.1 + 0.2, 1], [0.3, 0.5]).estimate == pytest.approx(0.25)


def test_coverage_of_delta() -> None:
    generator = np.random.default_rng(3)
    truth = 2 * stats.norm.cdf(0.7 / math.sqrt(2)) - 1
    hits = [
        cliffs_delta(generator.normal(0.7, 1, 15), generator.normal(0, 1, 15))
        .interval(0.9)
        .contains(truth)
        for _ in range(600)
    ]
    assert np.mean(hits) == pytest.approx(0.9, abs=0.045)


def test_beyond_the_best_counts_strictly() -> None:
    found = beyond_best([9, 10, 11, 12], [8, 11, 7])
    assert (found.best, found.count.yes, found.estimate) == (11, 1, 0.25)
    light = beyond_best([9, 10, 11, 12], [10, 11], larger_is_better=False)
    assert (light.best, light.count.yes) == (10, 1)
    interval = found.interval(0.9, "clopper-pearson")
    expected = stats.binomtest(1, 4).proportion_ci(0.9)
    assert (interval.low, interval.high) == pytest.approx((expected.low, expected.high))


def test_refusals() -> None:
    with pytest.raises(Refusal, match="Neither family shows any spread"):
        chance_of_exceeding(Summary(n=3, mean=1, sd=0), Summary(n=3, mean=2, sd=0))
    with pytest.raises(Refusal, match="no spread to judge by"):
        cliffs_delta([5, 6, 7], [1, 2])
    with pytest.raises(Refusal, match="the candidate holds 1 number"):
        cliffs_delta([5], WORKS)
    with pytest.raises(Refusal, match="the reference holds 0 numbers"):
        beyond_best(DECKS, [])
    with pytest.raises(Refusal, match="the candidate holds inf"):
        beyond_best([math.inf], WORKS)
    for answer in (
        chance_of_exceeding(DECKS, WORKS),
        cliffs_delta(DECKS, WORKS),
        beyond_best(DECKS, WORKS),
    ):
        with pytest.raises(Refusal, match="Confidence must lie"):
            answer.interval(1)
