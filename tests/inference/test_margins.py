"""Margin tests on every kind of comparison: p against the deciding interval, swap, refusals."""

import math

import numpy as np
import pytest

from workbench.errors import Refusal
from workbench.inference.margins import equivalent, not_worse, superior
from workbench.inference.means.paired import paired
from workbench.inference.means.pooled import pooled
from workbench.inference.means.welch import Summary, welch
from workbench.inference.ranks.mann_whitney import mann_whitney
from workbench.inference.ranks.signed_rank import signed_rank
from workbench.inference.resampling.permutation import permute_blocks
from workbench.inference.results import Difference
from workbench.inference.shares.count import Count
from workbench.inference.shares.difference import share_difference

DECKS, WORKS = (9.9, 10.4, 10.0, 10.7, 10.2, 9.6, 10.3), (9.1, 9.4, 8.8, 9.0, 9.3, 10.1, 9.2)
NESTED = Difference(estimate=0.8, standard_error=0.31, degrees_of_freedom=5.95, method="nested")
COMPARISONS = {
    "welch": welch(Summary.of(DECKS), Summary.of(WORKS)),
    "pooled": pooled(DECKS, WORKS),
    "nested": NESTED,
    "paired": paired(DECKS, WORKS),
    "shares": share_difference(Count(yes=14, of=20), Count(yes=9, of=22)),
    "ranks": mann_whitney(DECKS, WORKS),
    "signed ranks": signed_rank(np.subtract(DECKS, WORKS)),
    "permutation": permute_blocks(DECKS, WORKS, seed=1),
}


@pytest.mark.parametrize("name", COMPARISONS)
@pytest.mark.parametrize("confidence", [0.8, 0.9, 0.95])
def test_p_and_the_deciding_interval_agree(name: str, confidence: float) -> None:
    comparison = COMPARISONS[name]
    for margin in (0.013, 0.121, 0.333, 0.471, 0.777, 0.911):
        for tested in (
            superior(comparison, margin),
            not_worse(comparison, margin),
            equivalent(comparison, margin),
            equivalent(comparison, -0.05, margin),
        ):
            found = tested.interval(confidence)
            inside = found.low > tested.low and found.high < tested.high
            assert tested.holds(confidence) == inside, (tested.kind, margin, tested.p_value, found)


def test_equivalence_takes_the_narrower_interval() -> None:
    """Two one-sided tests at 5 % each are the interval at 90 %."""
    found, expected = equivalent(NESTED, 2.0).interval(0.95), NESTED.interval(0.90)
    assert (found.low, found.high) == pytest.approx((expected.low, expected.high))
    assert superior(NESTED).interval(0.95) == NESTED.interval(0.95)


def test_swapped_families_mirror_equivalence() -> None:
    forward = equivalent(pooled(DECKS, WORKS), -0.4, 1.9)
    back = equivalent(pooled(WORKS, DECKS), -1.9, 0.4)
    assert back.p_value == pytest.approx(forward.p_value)
    assert back.estimate == pytest.approx(-forward.estimate)


def test_no_difference_found_is_not_sameness() -> None:
    """Two noisy pairs: nothing is shown either way."""
    apart = pooled([9.0, 11.0], [8.5, 11.4])
    assert apart.p_value() > 0.9
    assert not equivalent(apart, 0.5).holds()
    assert not superior(apart).holds()


def test_inches_give_the_same_p() -> None:
    inches = pooled(np.array(DECKS) / 25.4, np.array(WORKS) / 25.4)
    for test in (superior, not_worse, equivalent):
        metric = test(pooled(DECKS, WORKS), 0.7).p_value
        assert test(inches, 0.7 / 25.4).p_value == pytest.approx(metric)


def test_refusals() -> None:
    for margin in (-0.1, math.nan, math.inf):
        with pytest.raises(Refusal, match="finite and 0 or above"):
            superior(NESTED, margin)
    for margin in (0, -0.1, math.nan):
        with pytest.raises(Refusal, match="finite and above 0"):
            not_worse(NESTED, margin)
        with pytest.raises(Refusal, match="finite and above 0"):
            equivalent(NESTED, margin)
    for low, high in ((0.5, 0.5), (1, -1), (-math.inf, 1), (0, math.nan)):
        with pytest.raises(Refusal, match="needs a low margin below a high one"):
            equivalent(NESTED, low, high)
    with pytest.raises(Refusal, match="Confidence must lie"):
        superior(NESTED).holds(1)
