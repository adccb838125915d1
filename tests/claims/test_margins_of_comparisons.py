"""Margins on every kind of comparison: p against the deciding interval, swap, unit, no sameness."""

from __future__ import annotations

import numpy as np
import pytest

from workbench.claims.rules import Decision, decide
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


def held(comparison: object, direction: str, margin: float, confidence: float = 0.95) -> Decision:
    given = {"direction": direction, "margin": margin, "confidence": confidence}
    return decide(comparison, **given)  # type: ignore[arg-type]


@pytest.mark.parametrize("name", COMPARISONS)
@pytest.mark.parametrize("confidence", [0.8, 0.9, 0.95])
def test_p_is_small_exactly_when_a_claim_is_decided(name: str, confidence: float) -> None:
    """Superior by a margin, not worse by more than one, equivalent within one."""
    for margin in (0.013, 0.121, 0.333, 0.471, 0.777, 0.911):
        for direction, held_to in (("greater", margin), ("greater", -margin), ("same", margin)):
            found = held(COMPARISONS[name], direction, held_to, confidence)
            decided = found.outcome != "unresolved"
            assert (found.deciding_p < 1 - confidence) == decided, (direction, held_to, found)


def test_equivalence_takes_the_narrower_interval() -> None:
    """Two one-sided tests at 5 % each are the interval at 90 %."""
    found, expected = held(NESTED, "same", 2.0).inner, NESTED.interval(0.90)
    assert found is not None
    assert (found.low, found.high) == pytest.approx((expected.low, expected.high))


def test_swapped_families_mirror_equivalence() -> None:
    forward = held(pooled(DECKS, WORKS), "same", 1.9)
    back = held(pooled(WORKS, DECKS), "same", 1.9)
    assert back.p_value == pytest.approx(forward.p_value)
    assert back.outcome == forward.outcome


def test_no_difference_found_is_not_sameness() -> None:
    """Two noisy pairs: nothing is shown either way."""
    apart = pooled([9.0, 11.0], [8.5, 11.4])
    assert apart.p_value() > 0.9
    assert held(apart, "same", 0.5).outcome == "unresolved"
    assert held(apart, "greater", 0.0).outcome == "unresolved"


def test_inches_give_the_same_p() -> None:
    inches = pooled(np.array(DECKS) / 25.4, np.array(WORKS) / 25.4)
    for direction, margin in (("greater", 0.7), ("greater", -0.7), ("same", 0.7)):
        metric = held(pooled(DECKS, WORKS), direction, margin).p_value
        assert held(inches, direction, margin / 25.4).p_value == pytest.approx(metric)
