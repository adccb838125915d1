"""Premium against ordinary: swapping, currencies, break-even to the cent, the map, refusals."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from workbench.errors import Refusal
from workbench.inference.decision.three_point import ThreePoint
from workbench.worth.break_even import BreakEvenPrice, break_even_prices, break_even_share
from workbench.worth.compare import CostComparison, compare
from workbench.worth.cost import expected_cost, usable_cost
from workbench.worth.draws import draw_all
from workbench.worth.family_prices import FamilyPrices, likely_amounts
from workbench.worth.fit_share import COUNTED, MODELLED, FitShare

FIXED = """
worth = { currency = "GBP", shipping = 60, inspection = 120, resale_share = 0.6 }
families.works = { price = 900 }
families.trophy = { price = 4200 }
"""


def compared(prices, shares, basis: str = COUNTED, seed: int = 1) -> CostComparison:
    families = list(prices.families.values())
    draws = draw_all(families, shares, basis=basis, seed=seed)
    return compare(prices.of("trophy"), prices.of("works"), draws)


def priced(prices: FamilyPrices, price: float) -> FamilyPrices:
    known = dataclasses.replace(prices.price, range=ThreePoint.exactly(price))
    return dataclasses.replace(prices, price=known)


def test_difference_of_the_closed_forms(prices_of, judged) -> None:
    """By hand: trophy (4380 - 2520) x 3 / 2.5 + 2520, works (1080 - 540) x 12 / 1.5 + 540."""
    found = compared(prices_of(FIXED), judged(works=(2, 12), trophy=(3, 3)))
    assert found.mean == pytest.approx((1860 * 3 / 2.5 + 2520) - (540 * 12 / 1.5 + 540))
    assert found.mean_error == 0


def test_swapping_the_families_turns_every_sign(prices_of, judged) -> None:
    prices, shares = prices_of(), judged(works=(4, 12), trophy=(5, 6))
    draws = draw_all(list(prices.families.values()), shares, basis=COUNTED, seed=1)
    one = compare(prices.of("trophy"), prices.of("works"), draws)
    other = compare(prices.of("works"), prices.of("trophy"), draws)
    assert other.mean == pytest.approx(-one.mean)
    assert np.array_equal(other.differences, -one.differences)
    assert other.cheaper.value == pytest.approx(1 - one.cheaper.value)
    assert other.interval().low == pytest.approx(-one.interval().high, rel=1e-3)


def test_another_currency_scales_the_money_and_not_the_odds(prices_of, judged) -> None:
    shares = judged(works=(4, 12), trophy=(5, 6))
    pounds = compared(prices_of(FIXED), shares)
    in_other = prices_of(
        FIXED.replace('"GBP"', '"GBP", rates = { EUR = 0.5 }').replace(
            "price = 4200", 'currency = "EUR", price = 8400'
        )
    )
    same = compared(in_other, shares)
    assert same.mean == pytest.approx(pounds.mean)
    assert same.cheaper == pounds.cheaper
    assert same.share_needed == pytest.approx(pounds.share_needed)


@pytest.mark.parametrize("first", [False, True])
def test_the_decision_turns_at_the_break_even_price_to_the_cent(prices_of, judged, first) -> None:
    fee = ", inspection_before_buying = 333.33" if first else ""
    prices = prices_of(FIXED.replace("price = 4200", f"price = 4200{fee}"))
    shares = judged(works=(4, 12), trophy=(5, 7))
    draws = draw_all(list(prices.families.values()), shares, basis=COUNTED, seed=1)
    found = compare(prices.of("trophy"), prices.of("works"), draws)
    assert isinstance(found.break_even, BreakEvenPrice)
    last = found.break_even.cheaper_up_to
    assert last == pytest.approx(found.break_even.price, abs=0.01)
    at, beyond, below = (
        compare(priced(prices.of("trophy"), last + cents), prices.of("works"), draws).mean
        for cents in (0.0, 0.01, -0.01)
    )
    assert below < at <= 1e-9 < beyond


def test_even_at_the_break_even_share(prices_of, judged) -> None:
    prices = prices_of(FIXED)
    found = compared(prices, judged(works=(2, 12), trophy=(3, 3)))
    share = found.share_needed
    costs = prices.of("trophy").costs(likely_amounts([prices.of("trophy")]))
    assert costs.per_success(np.array([share]))[0] == pytest.approx(found.ordinary.mean)
    assert costs.per_success(np.array([share + 0.01]))[0] < found.ordinary.mean
    belief = found.premium.blocks.share
    assert found.chance_of_share == pytest.approx(1 - belief.below(share))


def test_no_share_and_any_share(prices_of) -> None:
    trophy = prices_of(FIXED).of("trophy")
    assert break_even_share(trophy, 4000.0) is None
    assert break_even_share(trophy, 4380.0) == pytest.approx(1)
    with_first = dataclasses.replace(trophy, remedies=prices_of(REMEDIED).of("trophy").remedies)
    assert break_even_share(with_first, 1e6) == 0


REMEDIED = """
worth = { currency = "GBP", machining = 200, machining_saves = 0.5 }
families.trophy = { price = 4200 }
"""


def test_a_remedy_moves_the_share_needed(prices_of) -> None:
    prices = prices_of(REMEDIED).of("trophy")
    share = break_even_share(prices, 5000.0)
    costs = prices.costs(likely_amounts([prices]))
    assert costs.per_success(np.array([share]))[0] == pytest.approx(5000)


def test_map_of_price_and_share(prices_of) -> None:
    """On the curve, price and share together meet the target."""
    trophy = prices_of(FIXED).of("trophy")
    shares = np.array([0.3, 0.6, 0.9, 1.0])
    curve = break_even_prices(trophy, 4860.0, shares)
    assert np.all(np.diff(curve) > 0)
    for share, price in zip(shares, curve, strict=True):
        at = priced(trophy, float(price))
        cost = at.costs(likely_amounts([at])).per_success(np.array([share]))[0]
        assert cost == pytest.approx(4860)


def test_draws_of_the_break_even_price_tell_the_odds(prices_of, judged) -> None:
    """The chance to be cheaper at the stated price is that the break-even price lies above it."""
    found = compared(prices_of(FIXED), judged(works=(4, 12), trophy=(5, 6)))
    assert isinstance(found.break_even, BreakEvenPrice)
    assert found.break_even.chance_cheaper(4200.0).value == pytest.approx(found.cheaper.value)
    assert found.break_even.chance_cheaper(found.break_even.even_odds).value == pytest.approx(
        0.5, abs=1e-4
    )
    assert found.break_even.interval().contains(found.break_even.even_odds)


def test_no_mean_no_break_even_of_means_but_of_odds(prices_of, judged) -> None:
    for shares in (judged(works=(0, 3), trophy=(5, 6)), judged(works=(5, 6), trophy=(0, 3))):
        found = compared(prices_of(FIXED), shares)
        assert found.mean is None
        assert isinstance(found.break_even, BreakEvenPrice)
        assert found.break_even.price is None
        assert found.break_even.cheaper_up_to is None
        assert np.isfinite(found.break_even.even_odds)


def test_luck_makes_one_purchase_less_sure_than_the_average(prices_of, judged) -> None:
    found = compared(prices_of(FIXED), judged(works=(40, 80), trophy=(78, 80)))
    assert found.cheaper.value < found.cheaper_this_once.value < 0.5


def test_extras_are_taken_off_only_where_priced(prices_of, judged) -> None:
    text = """
worth.currency = "GBP"
families.works.price = 900
[families.trophy]
price = 4200
beyond = [{ what = "deeper deck" }, { what = "rarity", worth = 1000 }]
"""
    found = compared(prices_of(text), judged(works=(4, 12), trophy=(5, 6)))
    assert [extra.what for extra in found.extras] == ["deeper deck", "rarity"]
    assert found.extras_worth == 1000
    assert found.mean_beyond == pytest.approx(found.mean - 1000)


def test_by_joint_draws_of_a_model(prices_of) -> None:
    """One hidden quality moves both shares; the difference is narrower than of independent ones."""
    quality = np.random.default_rng(3).normal(size=5000)
    both = {
        "works": 1 / (1 + np.exp(-quality)),
        "trophy": 1 / (1 + np.exp(-1 - quality)),
    }
    shares = {
        name: FitShare(family=name, duty="d", passed=3, inspected=6, draws=values)
        for name, values in both.items()
    }
    broken = dict(shares)
    broken["works"] = dataclasses.replace(shares["works"], draws=both["works"][:4999])
    prices = prices_of("""
worth.currency = "GBP"
families.works.price = 900
families.trophy.price = 900
""")
    joint, apart = (compared(prices, found, MODELLED) for found in (shares, broken))
    assert joint.cheaper.value == 1
    assert apart.cheaper.value < 0.95


def test_rejects_that_earn_more_than_they_cost_have_no_break_even_price(prices_of, judged) -> None:
    text = FIXED.replace("resale_share = 0.6", "resale_share = 3.0")
    found = compared(prices_of(text), judged(works=(4, 12), trophy=(2, 6)))
    assert isinstance(found.break_even, Refusal)
    assert found.break_even.code == "price_does_not_matter"


@given(st.integers(0, 6), st.integers(0, 12), st.floats(200, 9000))
@settings(max_examples=15, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_a_dearer_premium_is_less_likely_the_cheaper(prices_of, judged, passed, of, price) -> None:
    shares = judged(works=(of, 12), trophy=(passed, 6))
    prices = prices_of(FIXED)
    draws = draw_all(list(prices.families.values()), shares, basis=COUNTED, seed=1, trials=10_000)
    works = prices.of("works")
    low, high = (
        compare(priced(prices.of("trophy"), price * by), works, draws) for by in (1.0, 1.1)
    )
    assert high.cheaper.value <= low.cheaper.value
    cost = usable_cost(priced(prices.of("trophy"), price), draws)
    assert cost.interval(0.5).low >= cost.interval(0.9).low


def test_expected_cost_of_fixed_amounts(prices_of, judged) -> None:
    works = prices_of(FIXED).of("works")
    belief = judged(works=(4, 12))["works"].belief(COUNTED)
    found = expected_cost(works.costs(likely_amounts([works])), belief)
    assert found == pytest.approx(540 * 12 / 3.5 + 540)
