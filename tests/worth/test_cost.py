"""Cost of a usable block: by hand, closed form against simulation, no mean where there is none."""

from __future__ import annotations

import math

import numpy as np
import pytest

from workbench.errors import Refusal
from workbench.inference.decision.trial_costs import mean_that_holds
from workbench.worth.cost import paying_remedies, usable_cost
from workbench.worth.draws import draw_all, simulated_error
from workbench.worth.family_prices import BUY_THEN_INSPECT, INSPECT_THEN_BUY
from workbench.worth.fit_share import COUNTED, MODELLED, FitShare

PLAIN = """
worth.currency = "GBP"
families.a.price = 100
"""
WITH_MACHINING = f"{PLAIN}worth.machining = 30\nworth.machining_saves = 0.4\n"
WITH_HOURS = f"{PLAIN}worth.hours = 2\nworth.hour_costs = 20\n"


def test_twenty_inspected_seventeen_usable(prices_of, judged) -> None:
    """Price over share is 117.65; expected is 121.21, since the share may be lower."""
    prices = prices_of(PLAIN)
    draws = draw_all([prices.of("a")], judged(a=(17, 20)), basis=COUNTED, seed=1)
    cost = usable_cost(prices.of("a"), draws)
    assert cost.mean == pytest.approx(121.21, abs=5e-3)
    assert cost.mean_error == 0
    mean, error = mean_that_holds(cost.long_run)
    assert mean == pytest.approx(cost.mean, abs=4 * error)


def test_all_amounts_by_hand(prices_of, judged) -> None:
    """Works: (900 + 60 + 120 - 540) x (a + b - 1) / (a - 1) + 540 with a = 6.5, b = 3.5."""
    prices = prices_of()
    draws = draw_all([prices.of("works")], judged(works=(6, 9)), basis=COUNTED, seed=1)
    cost = usable_cost(prices.of("works"), draws, limit=3)
    assert cost.mean == pytest.approx(540 * 9 / 5.5 + 540)
    none = (3.5 / 10) * (4.5 / 11) * (5.5 / 12)
    assert cost.chance_of_none == pytest.approx(none)
    tried = 1 + 3.5 / 10 + (3.5 / 10) * (4.5 / 11)
    assert cost.mean_outlay == pytest.approx(1080 * tried - 540 * (tried - (1 - none)))
    assert np.mean(~cost.spending.succeeded) == pytest.approx(none, abs=0.005)
    assert cost.spending.spent.mean() == pytest.approx(cost.mean_outlay, rel=0.01)
    assert set(np.unique(cost.spending.trials)) == {1, 2, 3}


def test_none_of_three_fit_has_no_mean_but_an_answer(prices_of, judged) -> None:
    prices = prices_of()
    draws = draw_all([prices.of("works")], judged(works=(0, 3)), basis=COUNTED, seed=1)
    cost = usable_cost(prices.of("works"), draws, limit=3)
    assert cost.mean is None
    assert cost.hours == 0
    assert math.isfinite(cost.median)
    assert cost.interval().low < cost.median < cost.interval().high
    assert cost.mean_outlay is not None
    assert cost.chance_of_none == pytest.approx(3.5 / 4 * 4.5 / 5 * 5.5 / 6)
    assert cost.blocks.quantile(0.9) > 100


def test_putting_right_what_fails_gives_a_mean(prices_of, judged) -> None:
    prices = prices_of(WITH_MACHINING)
    draws = draw_all([prices.of("a")], judged(a=(0, 3)), basis=COUNTED, seed=1)
    cost = usable_cost(prices.of("a"), draws)
    assert cost.mean is not None
    assert cost.without_remedies is None
    mean, error = mean_that_holds(cost.spending.spent)
    assert mean == pytest.approx(cost.mean, abs=4 * error)


def test_inspecting_first_costs_the_fee_each_and_the_block_once(prices_of, judged) -> None:
    prices = prices_of(PLAIN + "families.a.inspection_before_buying = 10\n").of("a")
    draws = draw_all([prices], judged(a=(6, 9)), basis=COUNTED, seed=1)
    cost = usable_cost(prices, draws)
    assert cost.way == INSPECT_THEN_BUY
    assert cost.mean == pytest.approx(100 + 10 * 9 / 5.5)
    assert usable_cost(prices, draws, way=BUY_THEN_INSPECT).mean == pytest.approx(100 * 9 / 5.5)


def test_hours_are_counted(prices_of, judged) -> None:
    prices = prices_of(WITH_HOURS).of("a")
    draws = draw_all([prices], judged(a=(6, 9)), basis=COUNTED, seed=1)
    cost = usable_cost(prices, draws)
    assert cost.hours == pytest.approx(2 * 9 / 5.5)
    assert cost.mean == pytest.approx(140 * 9 / 5.5)


def test_counts_and_money_of_several_blocks(prices_of, judged) -> None:
    prices = prices_of(PLAIN).of("a")
    draws = draw_all([prices], judged(a=(8, 10)), basis=COUNTED, seed=1)
    cost = usable_cost(prices, draws, wanted=4)
    enough = cost.blocks.quantile(0.9)
    assert cost.spent(0.9) == pytest.approx(100 * enough)
    over = cost.over(100 * enough)
    assert over.value == pytest.approx(
        cost.blocks.chance_of_more_than(int(enough)), abs=4 * over.error
    )


def test_by_model_and_by_count_side_by_side(prices_of) -> None:
    """Draws of the very beta that the count gives answer as the count does."""
    draws_of_share = np.random.default_rng(3).beta(6.5, 3.5, 20_000)
    share = FitShare(family="a", duty="d", passed=6, inspected=9, draws=draws_of_share)
    assert share.bases == (COUNTED, MODELLED)
    prices = prices_of(PLAIN).of("a")
    counted, modelled = (
        usable_cost(prices, draw_all([prices], {"a": share}, basis=basis, seed=2))
        for basis in share.bases
    )
    assert modelled.mean_error > 0
    assert modelled.mean == pytest.approx(counted.mean, abs=6 * modelled.mean_error)
    assert modelled.median == pytest.approx(counted.median, rel=0.02)
    assert modelled.blocks.quantile(0.9) == counted.blocks.quantile(0.9)


def test_a_mean_hanging_on_few_draws_of_a_model_is_not_given(prices_of) -> None:
    heavy = np.random.default_rng(3).beta(0.6, 2, 5000)
    share = FitShare(family="a", duty="d", passed=0, inspected=3, draws=heavy)
    prices = prices_of(PLAIN).of("a")
    cost = usable_cost(prices, draw_all([prices], {"a": share}, basis=MODELLED, seed=2))
    assert cost.mean is None
    assert cost.without_remedies is None
    certain = FitShare(family="a", duty="d", passed=0, inspected=3, draws=np.zeros(5000))
    hopeless = usable_cost(prices, draw_all([prices], {"a": certain}, basis=MODELLED, seed=2))
    assert hopeless.mean is None
    assert hopeless.median == math.inf
    assert hopeless.over(1e9).value == 1


def test_ranges_widen_what_is_not_known(prices_of, judged) -> None:
    known, ranged = (
        prices_of(f'worth.currency = "GBP"\nfamilies.a = {{ price = {price} }}').of("a")
        for price in ("100", "{ low = 50, likely = 100, high = 150 }")
    )
    shares = judged(a=(90, 100))
    one, other = (
        usable_cost(prices, draw_all([prices], shares, basis=COUNTED, seed=1))
        for prices in (known, ranged)
    )
    assert other.mean == pytest.approx(one.mean)
    assert other.interval().half_width > 2 * one.interval().half_width


def test_same_seed_same_draws_whoever_is_asked_with(prices_of, judged) -> None:
    prices, shares = prices_of(), judged(works=(6, 9), trophy=(3, 3))
    together = draw_all(list(prices.families.values()), shares, basis=COUNTED, seed=5)
    alone = draw_all([prices.of("works")], shares, basis=COUNTED, seed=5)
    other_seed = draw_all([prices.of("works")], shares, basis=COUNTED, seed=6)
    assert np.array_equal(together.shares["works"], alone.shares["works"])
    assert not np.array_equal(other_seed.shares["works"], alone.shares["works"])
    assert together.amounts["worth.shipping"] == 60


def test_joint_draws_of_a_model_stay_together(prices_of) -> None:
    model = np.random.default_rng(3).beta(6.5, 3.5, 2000)
    shares = {
        name: FitShare(family=name, duty="d", passed=6, inspected=9, draws=model)
        for name in ("works", "trophy")
    }
    draws = draw_all(list(prices_of().families.values()), shares, basis=MODELLED, seed=5)
    assert np.array_equal(draws.shares["works"], draws.shares["trophy"])


def test_refusals(prices_of, judged) -> None:
    prices = prices_of(PLAIN).of("a")
    draws = draw_all([prices], judged(a=(6, 9)), basis=COUNTED, seed=1)
    with pytest.raises(Refusal, match="No a block was judged"):
        draw_all([prices], {}, basis=COUNTED, seed=1)
    with pytest.raises(Refusal, match="At least 10000 trials are needed, not 10"):
        draw_all([prices], judged(a=(6, 9)), basis=COUNTED, seed=1, trials=10)
    with pytest.raises(Refusal, match="no model of the share of “a”"):
        draw_all([prices], judged(a=(6, 9)), basis=MODELLED, seed=1)
    with pytest.raises(Refusal, match=r"one of .* not 'guessed'"):
        draw_all([prices], judged(a=(6, 9)), basis="guessed", seed=1)
    with pytest.raises(Refusal, match="are bought by"):
        usable_cost(prices, draws, way=INSPECT_THEN_BUY)
    with pytest.raises(Refusal, match="`limit` must be 1 or more"):
        usable_cost(prices, draws, limit=0)
    with pytest.raises(Refusal, match="between 0 and 1"):
        usable_cost(prices, draws).spent(1.0)


@pytest.mark.parametrize(
    ("stated", "message"),
    [
        ({"passed": 0, "inspected": 0}, "No block of the family “a” was judged for the duty “d”"),
        ({"passed": 4, "inspected": 3}, "4 blocks with the feature cannot be among 3"),
        ({"passed": 1, "inspected": 3, "draws": np.array([2.0])}, "from 0 to 1"),
    ],
)
def test_shares_no_inspection_gives(stated, message) -> None:
    with pytest.raises(Refusal, match=message):
        FitShare(family="a", duty="d", **stated)


def test_a_remedy_that_costs_more_than_it_saves_is_left_out(prices_of, judged) -> None:
    """Half are fit: by hand 100 / 0.5 = 200 a block, or 100 + 30 / 2 with all put right for 30."""
    share = judged(a=(200, 400))["a"].belief("counted")
    cheap = prices_of(f"{PLAIN}worth.machining = 30\nworth.machining_saves = 1\n").of("a")
    kept = paying_remedies(cheap, share)
    assert [remedy.name for remedy in kept.taken()] == ["machining"]
    assert kept.not_paying() == ()
    dear = prices_of(f"{PLAIN}worth.machining = 300\nworth.machining_saves = 1\n").of("a")
    left = paying_remedies(dear, share)
    assert left.taken() == ()
    assert left.not_paying() == ("machining",)


def test_of_two_remedies_the_dear_one_goes(prices_of, judged) -> None:
    text = (
        f"{PLAIN}worth.machining = 10\nworth.machining_saves = 0.5\n"
        "worth.sleeving = 900\nworth.sleeving_saves = 0.9\n"
    )
    share = judged(a=(20, 40))["a"].belief("counted")
    found = paying_remedies(prices_of(text).of("a"), share)
    assert [remedy.name for remedy in found.taken()] == ["machining"]
    assert found.not_paying() == ("sleeving",)


def test_each_way_of_buying_has_the_remedies_that_pay_in_it(prices_of, judged) -> None:
    """Half are fit. Bought first, all put right for 30: 100 + 30 / 2, against 100 / 0.5 without.

    Inspected first, for 10: 10 E(1/p) + 100 without, as a failing block is not paid for, against
    10 + 100 + 30 / 2; E(1/p) is (a + b - 1) / (a - 1) with a = b = 200.5.
    """
    text = (
        f"{PLAIN}worth.machining = 30\nworth.machining_saves = 1\n"
        "families.a.inspection_before_buying = 10\n"
    )
    shares = judged(a=(200, 400))
    prices = paying_remedies(prices_of(text).of("a"), shares["a"].belief(COUNTED))
    assert prices.not_paying(BUY_THEN_INSPECT) == ()
    assert prices.not_paying(INSPECT_THEN_BUY) == ("machining",)
    cost = usable_cost(prices, draw_all([prices], shares, basis=COUNTED, seed=1))
    assert cost.way == BUY_THEN_INSPECT
    assert dict(cost.by_way) == pytest.approx(
        {BUY_THEN_INSPECT: 115, INSPECT_THEN_BUY: 10 * 400 / 199.5 + 100}
    )


def test_where_none_is_fit_any_remedy_that_gives_a_mean_is_kept(prices_of, judged) -> None:
    share = judged(a=(0, 3))["a"].belief("counted")
    assert paying_remedies(prices_of(WITH_MACHINING).of("a"), share).taken()


def test_what_one_purchase_takes_block_by_block(prices_of, judged) -> None:
    """Simulated another way: each block fails, is machined, sleeved or sold on, one by one."""
    text = (
        f"{PLAIN}worth.machining = 10\nworth.machining_saves = 0.2\n"
        "worth.sleeving = 60\nworth.sleeving_saves = 0.4\nworth.resale_share = 0.5\n"
    )
    shares = judged(a=(8, 20))
    money = prices_of(text).of("a")
    draws = draw_all([money], shares, basis=COUNTED, seed=1)
    found = usable_cost(money, draws, limit=3)
    generator = np.random.default_rng(2)
    size = 100_000
    passes = generator.beta(8.5, 12.5, size)
    spent, left = np.zeros(size), np.ones(size, dtype=bool)
    for _ in range(3):
        fit = generator.random(size) < passes
        machined = ~fit & (generator.random(size) < 0.2)
        sleeved = ~fit & ~machined & (generator.random(size) < 0.4)
        usable = fit | machined | sleeved
        spent += left * (100 + 10 * machined + 60 * sleeved - 50 * ~usable)
        left &= ~usable
    assert found.chance_of_none == pytest.approx(left.mean(), abs=0.002)
    assert found.mean_outlay == pytest.approx(spent.mean(), abs=0.8)
    for budget in (105, 112, 155, 165, 215):
        over = found.over(budget)
        assert over.value == pytest.approx(np.mean(spent > budget), abs=5 * over.error + 0.005)


def test_trials_of_one_model_draw_count_as_one() -> None:
    """The spread of 300 simulated means about each other is the error printed with one."""
    generator = np.random.default_rng(7)
    means, errors = [], []
    for _ in range(300):
        model = generator.normal(size=200)
        places = generator.integers(200, size=5_000)
        draws = model[places] + 0.5 * generator.normal(size=5_000)
        means.append(draws.mean())
        errors.append(simulated_error(draws, places))
    assert np.mean(errors) == pytest.approx(np.std(means), rel=0.12)
    alone = generator.normal(size=5_000)
    assert simulated_error(alone, None) == pytest.approx(1 / 5_000**0.5, rel=0.05)
    assert simulated_error(alone, np.arange(5_000)) == pytest.approx(simulated_error(alone, None))
