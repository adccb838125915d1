"""What moves the choice: one input alone, heavy tails, swapped families, currencies."""

from __future__ import annotations

import pytest

from workbench.errors import Refusal
from workbench.worth.compare import compare
from workbench.worth.draws import draw_all
from workbench.worth.fit_share import COUNTED
from workbench.worth.sensitivity import DECISION, DIFFERENCE, CostSensitivity, cost_sensitivity

RANGED = """
worth = { currency = "GBP", shipping = { low = 20, likely = 60, high = 100 }, resale_share = 0.6 }
families.works.price = 900
families.trophy.price = { low = 3000, likely = 4200, high = 6000 }
"""


def sensitivity(prices, shares, premium="trophy", ordinary="works") -> CostSensitivity:
    draws = draw_all(list(prices.families.values()), shares, basis=COUNTED, seed=1)
    one, other = prices.of(premium), prices.of(ordinary)
    return cost_sensitivity(one, other, draws, compare(one, other, draws))


def test_with_many_blocks_the_price_decides(prices_of, judged) -> None:
    found = sensitivity(prices_of(RANGED), judged(works=(300, 400), trophy=(390, 400)))
    assert found.outcome == DIFFERENCE
    assert found.swings[0].name == "families.trophy.price"
    assert not isinstance(found.indices, Refusal)
    assert found.indices[0].name == "families.trophy.price"
    assert found.indices[0].first == pytest.approx(1, abs=0.05)


def test_with_few_blocks_the_share_decides_and_only_the_decision_has_a_variance(
    prices_of, judged
) -> None:
    found = sensitivity(prices_of(RANGED), judged(works=(1, 6), trophy=(3, 3)))
    assert found.outcome == DECISION
    assert found.swings[0].name == "share.works"
    assert found.swings[0].turns
    assert not isinstance(found.indices, Refusal)
    assert found.indices[0].name == "share.works"
    assert all(-5 * index.first_error <= index.first <= 1.05 for index in found.indices)


def test_swapping_turns_the_swings(prices_of, judged) -> None:
    shares = judged(works=(30, 40), trophy=(39, 40))
    one = sensitivity(prices_of(RANGED), shares)
    other = sensitivity(prices_of(RANGED), shares, "works", "trophy")
    assert [swing.name for swing in one.swings] == [swing.name for swing in other.swings]
    for first, second in zip(one.swings, other.swings, strict=True):
        assert second.at_low == pytest.approx(-first.at_low)
        assert second.middle == pytest.approx(-first.middle)


def test_another_currency(prices_of, judged) -> None:
    """Every amount ten times as large: swings ten times as wide, indices the same."""
    shares = judged(works=(30, 40), trophy=(39, 40))
    one = sensitivity(prices_of(RANGED), shares)
    tenfold = """
worth = { currency = "X", shipping = { low = 200, likely = 600, high = 1000 }, resale_share = 0.6 }
families.works.price = 9000
families.trophy.price = { low = 30000, likely = 42000, high = 60000 }
"""
    other = sensitivity(prices_of(tenfold), shares)
    for first, second in zip(one.swings, other.swings, strict=True):
        assert second.width == pytest.approx(10 * first.width)
    assert not isinstance(one.indices, Refusal)
    assert not isinstance(other.indices, Refusal)
    for first, second in zip(one.indices, other.indices, strict=True):
        assert second.total == pytest.approx(first.total)


def test_a_decision_that_never_turns_has_no_indices(prices_of, judged) -> None:
    """Dearer in every draw, with a tail too heavy for a variance: nothing moves the decision."""
    text = 'worth.currency = "GBP"\nfamilies.works.price = 1\nfamilies.trophy.price = 1e9'
    found = sensitivity(prices_of(text), judged(works=(6, 6), trophy=(0, 3)))
    assert isinstance(found.indices, Refusal)
    assert found.indices.code == "no_spread"
    assert not any(swing.turns for swing in found.swings)
