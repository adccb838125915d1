"""Effect sizes: swap, unit, interval against p, coverage, refusals."""

import math

import numpy as np
import pytest

from workbench.errors import Refusal
from workbench.inference.means.effects import hedges, percent_difference, standardised
from workbench.inference.means.pooled import pooled
from workbench.inference.means.welch import Summary, welch

DECKS, WORKS = (9.9, 10.4, 10.0, 10.7), (9.1, 9.4, 8.8, 9.0, 9.3, 10.1)


def test_percent_goes_with_the_ratio() -> None:
    found = percent_difference(DECKS, WORKS)
    assert found.estimate == pytest.approx(100 * (np.mean(DECKS) / np.mean(WORKS) - 1))
    inches = percent_difference(np.array(DECKS) / 25.4, np.array(WORKS) / 25.4)
    assert inches.interval().high == pytest.approx(found.interval().high)
    for confidence in (0.5, 0.9, 0.99):
        low = found.interval(confidence).low
        assert found.p_value(low) == pytest.approx(1 - confidence)


def test_swapped_families_change_the_sign() -> None:
    forward, back = hedges(DECKS, WORKS), hedges(WORKS, DECKS)
    assert back.estimate == pytest.approx(-forward.estimate)
    assert back.interval().low == pytest.approx(-forward.interval().high)


def test_unit_and_origin_do_not_matter() -> None:
    moved = hedges(np.array(DECKS) / 25.4 + 4, np.array(WORKS) / 25.4 + 4)
    assert moved.estimate == pytest.approx(hedges(DECKS, WORKS).estimate)
    assert moved.interval().low == pytest.approx(hedges(DECKS, WORKS).interval().low)


@pytest.mark.parametrize("confidence", [0.5, 0.9, 0.95, 0.99])
def test_zero_is_inside_exactly_when_p_says(confidence: float) -> None:
    for apart in (pooled(DECKS, WORKS), pooled([9.2, 9.5, 9.1], WORKS)):
        found = standardised(apart, 0.5, apart.degrees_of_freedom).interval(confidence)
        assert found.contains(0.0) == (apart.p_value() > 1 - confidence)


def test_coverage_of_the_pooled_interval() -> None:
    generator = np.random.default_rng(6)
    hits = []
    for _ in range(500):
        found = hedges(generator.normal(1.2, 1, 5), generator.normal(0, 1, 8))
        hits.append(found.interval(0.9).contains(1.2))
    assert np.mean(hits) == pytest.approx(0.9, abs=0.05)


def test_a_given_spread_has_no_correction() -> None:
    apart = welch(Summary.of(DECKS), Summary.of(WORKS))
    found = standardised(apart, 0.5)
    assert found.correction == 1
    assert found.estimate == pytest.approx(apart.estimate / 0.5)
    assert found.standard_error == pytest.approx(apart.standard_error / 0.5)


def test_one_block_against_a_family_is_standardised_too() -> None:
    found = hedges(Summary(n=1, mean=11.0, sd=0.0), WORKS)
    assert found.uncorrected == pytest.approx((11.0 - np.mean(WORKS)) / np.std(WORKS, ddof=1))


def test_refusals() -> None:
    apart = pooled(DECKS, WORKS)
    for spread in (0, -1, math.nan, math.inf):
        with pytest.raises(Refusal, match="spread must be above 0 and finite"):
            standardised(apart, spread)
    with pytest.raises(Refusal, match="A spread with 1 degrees of freedom"):
        standardised(apart, 1.0, 1)
    with pytest.raises(Refusal, match=r"A spread with 1\.0 degrees of freedom"):
        hedges(Summary(n=1, mean=1, sd=0), [1, 2])
    with pytest.raises(Refusal, match="the candidate holds nan"):
        hedges([1, math.nan], WORKS)
    with pytest.raises(Refusal, match="Confidence must lie"):
        hedges(DECKS, WORKS).interval(1)
    with pytest.raises(Refusal, match="reference mean is 0"):
        percent_difference(DECKS, [-1, 1])
