"""Buy, look or walk away: by hand, by order of values, by basis, refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from workbench.errors import Refusal
from workbench.inference.decision.options import InformationValue
from workbench.worth.draws import draw_all
from workbench.worth.fit_share import COUNTED, MODELLED, FitShare
from workbench.worth.information import (
    BUY,
    INSPECT,
    WALK_AWAY,
    LookingValue,
    value_of_looking,
)

ONE = """
worth = { currency = "GBP", inspection = 10 }
families.a.price = 100
"""
TWO = """
worth = { currency = "GBP", inspection = 20, resale_share = 0.5 }
families.works.price = 900
families.trophy.price = 1500
"""


def looking(prices, shares, basis: str = COUNTED, **stated) -> LookingValue:
    families = list(prices.families.values())
    draws = draw_all(families, shares, basis=basis, seed=1, trials=10_000)
    return value_of_looking(families, draws, **stated)


def test_one_block_bought_once_by_hand(prices_of, judged) -> None:
    """One try at 110, a usable block worth 200, 1 of 2 fit: a = b = 1.5.

    Buying pays 200 / 2 - 110 = -10, so walk away. After one more that is fit the share is 2.5 / 4:
    125 - 110 = 15, at a chance of one half: the look is worth 7.5 and costs 10.
    """
    found = looking(prices_of(ONE), judged(a=(1, 2)), usable_block=200.0, limit=1, most=2)
    assert dict(found.choices)[WALK_AWAY] == 0
    assert found.best_now == WALK_AWAY
    first = found.looks[0]
    assert (first.value, first.fee, first.chance_of_change) == pytest.approx((7.5, 10, 0.5))
    assert found.best_look is None
    assert found.action == WALK_AWAY


def test_a_cheaper_look_is_taken(prices_of, judged) -> None:
    prices = prices_of(ONE.replace("inspection = 10", "inspection = 1"))
    found = looking(prices, judged(a=(1, 2)), usable_block=200.0, limit=1, most=3)
    assert found.action == INSPECT
    assert found.best_look is not None
    assert found.best_look.net == max(look.net for look in found.looks) > 0


def test_a_clear_case_is_bought_now(prices_of, judged) -> None:
    found = looking(prices_of(ONE), judged(a=(30, 30)), usable_block=200.0, limit=3)
    assert found.action == BUY
    assert found.value_now == pytest.approx(200 - 110, abs=5)


def test_without_a_worth_there_is_no_walking_away(prices_of, judged) -> None:
    """What a usable block costs decides; a limit plays no part."""
    shares = judged(works=(3, 6), trophy=(5, 6))
    found = looking(prices_of(TWO), shares)
    assert WALK_AWAY not in dict(found.choices)
    assert looking(prices_of(TWO), shares, limit=2).choices == found.choices
    works = (920 - 450) * 6 / 2.5 + 450
    assert dict(found.choices)["works: buy, then inspect"] == pytest.approx(-works)


def test_no_mean_is_never_chosen_but_may_be_after_a_look(prices_of, judged) -> None:
    found = looking(prices_of(TWO), judged(works=(1, 6), trophy=(0, 1)), most=6)
    assert dict(found.choices)["trophy: buy, then inspect"] == -math.inf
    assert found.best_now == "works: buy, then inspect"
    values = [look.value for look in found.looks if look.family == "trophy"]
    assert values[-1] > 0


def test_inspection_first_counts_as_a_choice_of_its_own(prices_of, judged) -> None:
    text = ONE + "families.a.inspection_before_buying = 15\n"
    found = looking(prices_of(text), judged(a=(2, 6)), usable_block=150.0)
    assert [name for name, _ in found.choices] == [
        "a: buy, then inspect",
        "a: inspect, then buy",
        WALK_AWAY,
    ]


def test_a_family_without_a_fee_is_named(prices_of, judged) -> None:
    text = 'worth.currency = "GBP"\nfamilies.a.price = 100\n'
    found = looking(prices_of(text), judged(a=(2, 6)), usable_block=150.0)
    assert found.without_fee == ("a",)
    assert found.looks == ()
    assert found.best_look is None


@given(st.integers(0, 6), st.integers(0, 6), st.sampled_from([None, 1600.0, 2500.0]))
@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_more_blocks_are_never_worth_less(prices_of, judged, works, trophy, worth) -> None:
    shares = judged(works=(works, 6), trophy=(max(trophy, 1), 6))
    found = looking(prices_of(TWO), shares, usable_block=worth, limit=3, most=5)
    assert isinstance(found.perfect, InformationValue)
    for family in ("works", "trophy"):
        values = [look.value for look in found.looks if look.family == family]
        assert all(low <= high + 1e-8 for low, high in zip([0.0, *values], values, strict=False))
        assert values[-1] <= found.perfect.value + 1e-6


def test_by_model_as_by_count_within_its_error(prices_of) -> None:
    """Draws of the betas that the counts give answer as the counts do."""
    generator = np.random.default_rng(3)
    shares = {
        name: FitShare(
            family=name,
            duty="d",
            passed=passed,
            inspected=6,
            draws=generator.beta(passed + 0.5, 6.5 - passed, 40_000),
        )
        for name, passed in (("works", 3), ("trophy", 5))
    }
    counted, modelled = (
        looking(prices_of(TWO), shares, basis, usable_block=1700.0, limit=3, most=3)
        for basis in (COUNTED, MODELLED)
    )
    assert modelled.best_now == counted.best_now
    assert isinstance(counted.perfect, InformationValue)
    assert isinstance(modelled.perfect, InformationValue)
    assert modelled.perfect.value == pytest.approx(
        counted.perfect.value, abs=4 * modelled.perfect.error
    )
    for exact, simulated in zip(counted.looks, modelled.looks, strict=True):
        assert simulated.value == pytest.approx(exact.value, abs=4 * simulated.error + 1e-9)


def test_no_finite_choice_is_refused(prices_of, judged) -> None:
    with pytest.raises(Refusal, match="lose without bound"):
        looking(prices_of(TWO), judged(works=(0, 3), trophy=(0, 2)))
    bounded = looking(
        prices_of(TWO), judged(works=(0, 3), trophy=(0, 2)), usable_block=2000.0, limit=3
    )
    assert math.isfinite(bounded.value_now)
