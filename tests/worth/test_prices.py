"""Money as stated: currencies, ranges, dates, what is missing, what is odd, what is refused."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from workbench.errors import Refusal
from workbench.records.faults import FaultsError
from workbench.records.settings import load_settings
from workbench.worth.family_prices import INSPECT_THEN_BUY, likely_amounts
from workbench.worth.prices import Prices, load_prices

DEMO = Path(__file__).parents[2] / "data" / "demo"


def codes(prices: Prices) -> list[str]:
    return [notice.code for notice in prices.notices]


def test_what_is_stated_once_holds_for_all(prices_of) -> None:
    prices = prices_of()
    assert prices.currency == "GBP"
    assert (prices.duty, prices.give_up_after, prices.ordinary) == ("high_power", 3, "works")
    works, trophy = prices.of("works"), prices.of("trophy")
    assert works.shipping == trophy.shipping
    assert (trophy.price.range.low, trophy.price.range.high) == (3800, 5000)
    assert trophy.price.range.shape == "triangular"
    assert prices.dates == (date(2026, 3, 1), date(2026, 3, 1))
    assert codes(prices) == []


def test_money_of_one_block(prices_of) -> None:
    works = prices_of().of("works")
    costs = works.costs(likely_amounts([works]))
    assert costs.outlay == 900 + 60 + 120
    assert costs.salvage == pytest.approx(540)
    assert works.look(likely_amounts([works])) == 120


def test_a_family_goes_before_the_general(prices_of) -> None:
    prices = prices_of("""
worth = { currency = "GBP", shipping = 60, resale = 300, hours = 2, hour_costs = 20 }
families.a = { price = 900, shipping = 10, resale_share = 0.5, hours = 1 }
families.b = { price = 800, resale = 100 }
families.c = { price = 700 }
""")
    amounts = likely_amounts(prices.families.values())
    a, b, c = (prices.of(name).costs(amounts) for name in "abc")
    assert (a.outlay, a.salvage) == (900 + 10 + 20, 450)
    assert (b.outlay, b.salvage) == (800 + 60 + 40, 100)
    assert (c.outlay, c.salvage) == (700 + 60 + 40, 300)


def test_remedies_one_after_the_other(prices_of) -> None:
    """Half are machined for 100, half of the rest sleeved for 200: 3 in 4 saved at 133 each."""
    prices = prices_of("""
worth = { currency = "GBP", machining = 100, machining_saves = 0.5 }
families.a = { price = 900, sleeving = 200, sleeving_saves = 0.5 }
families.b = { price = 900, machining_saves = 0 }
""")
    amounts = likely_amounts(prices.families.values())
    costs = prices.of("a").costs(amounts)
    assert costs.rescued == pytest.approx(0.75)
    assert costs.rework == pytest.approx((0.5 * 100 + 0.25 * 200) / 0.75)
    assert prices.of("b").costs(amounts).rescued == 0


def test_a_remedy_helps_the_duties_it_is_stated_for(prices_of) -> None:
    prices = prices_of("""
fitness = { street = {}, boosted = {} }
worth = { currency = "GBP", machining = 100, machining_saves = 0.5 }
families.a = { price = 900, sleeving = 200, sleeving_saves = { street = 0.5 } }
""")
    assert prices.for_duty("street").of("a").rescued() == pytest.approx(0.75)
    boosted = prices.for_duty("boosted").of("a")
    assert boosted.rescued() == pytest.approx(0.5)
    assert [remedy.name for remedy in boosted.remedies] == ["machining"]


def test_inspected_first_a_failing_block_is_never_paid_for(prices_of) -> None:
    prices = prices_of("""
worth = { currency = "GBP", shipping = 60, inspection = 120, inspection_before_buying = 150 }
families.a = { price = 900 }
""")
    costs = prices.of("a").costs(likely_amounts([prices.of("a")]), INSPECT_THEN_BUY)
    assert costs.outlay - costs.salvage == 150
    assert costs.outlay == 900 + 60 + 150
    assert len(prices.of("a").ways) == 2


def test_a_second_currency_at_the_stated_rate(prices_of) -> None:
    prices = prices_of("""
worth.currency = "GBP"
worth.rates.EUR = { rate = 0.86, quoted_on = 2026-02-01 }
worth.rates.USD = 0.8
families.a = { price = 900 }
families.b = { price = { low = 1000, likely = 1100, high = 1300 }, currency = "EUR" }
families.c = { price = { likely = 1000, currency = "USD" } }
""")
    assert prices.of("b").price.range.likely == pytest.approx(1100 * 0.86)
    assert prices.of("b").price.range.high == pytest.approx(1300 * 0.86)
    assert prices.of("c").price.range.mean == pytest.approx(800)
    assert prices.dates == (date(2026, 2, 1), date(2026, 2, 1))


def test_without_a_rate_that_family_is_refused_and_the_rest_answered(prices_of) -> None:
    prices = prices_of(
        """
worth.currency = "GBP"
families.a = { price = 900 }
families.b = { price = 1000, currency = "EUR" }
families.c = { label = "C" }
""",
        ("met",),
    )
    assert set(prices.families) == {"a"}
    assert {name: found.code for name, found in prices.refused.items()} == {
        "b": "no_rate",
        "c": "missing_price",
        "met": "missing_price",
    }
    with pytest.raises(Refusal, match=r"families\.b\.price is in EUR and the answer in GBP"):
        prices.of("b")
    with pytest.raises(Refusal, match=r"No price of C blocks is stated \(families\.c\.price\)"):
        prices.of("c")
    with pytest.raises(Refusal, match="No price of unheard blocks"):
        prices.of("unheard")


def test_a_general_amount_without_a_rate_refuses(prices_of) -> None:
    with pytest.raises(Refusal, match=r"worth\.budget is in EUR"):
        prices_of("""
worth = { currency = "GBP", budget = { likely = 5000, currency = "EUR" } }
families.a = { price = 900 }
""")


def test_odd_but_answered(prices_of) -> None:
    """A resale above the price is said, not refused; so is what is counted as nothing."""
    prices = prices_of("""
worth.currency = "GBP"
families.a = { price = 900, resale = 1000, hours = 3 }
families.b = { price = 900, shipping = 1, inspection = 1, resale_share = 1.2 }
""")
    assert codes(prices) == [
        "resale_above_price",
        "counted_as_nothing",
        "hours_not_priced",
        "resale_above_price",
        "undated_prices",
    ]
    assert "said to fetch more than it cost" in prices.notices[0].sentence
    assert "No shipping and no inspection of a blocks" in prices.notices[1].sentence


def test_beyond_the_duty_is_listed_and_priced_only_by_the_user(prices_of) -> None:
    prices = prices_of("""
worth.currency = "GBP"
[families.a]
price = 900
beyond = [{ what = "deeper deck" }, { what = "rarity", worth = 300 }]
""")
    deck, rarity = prices.of("a").beyond
    assert (deck.what, deck.worth) == ("deeper deck", None)
    assert rarity.worth is not None
    assert rarity.worth.range.mean == 300
    assert rarity.worth.key not in {money.key for money in prices.of("a").amounts}


def test_what_measuring_costs(prices_of) -> None:
    prices = prices_of("""
worth.currency = "GBP"
worth.measuring = { block = 40, place = 1.5, place_hours = 0.05, calibration_block = 80 }
families.a = { price = 900, blocks_exist = 6, further_block = 90 }
""")
    assert set(prices.measuring) == {"block", "place", "calibration_block"}
    assert prices.measuring_hours["place"] == 0.05
    assert prices.blocks_exist == {"a": 6}
    assert prices.further_block["a"].range.mean == 90


def test_nothing_stated_refuses_every_family(prices_of) -> None:
    prices = prices_of('families.a.label = "A"')
    assert prices.families == {}
    assert prices.ordinary is None
    assert prices.refused["a"].code == "missing_price"


@pytest.mark.parametrize(
    ("text", "key", "code", "sentence"),
    [
        ("families.a.price = 900", "families.a.price", "no_currency", "state “worth.currency”"),
        (
            "families.a = {price = 1, currency = 'EUR'}\nfamilies.b = {price = 1, currency='GBP'}",
            "worth.currency",
            "two_currencies",
            "in EUR and GBP; state the currency of the answer",
        ),
        ("worth.shipping = -1", "worth.shipping", "bad_value", "must be 0 or more"),
        ("families.a.resale = -5", "families.a.resale", "bad_value", "must be 0 or more"),
        (
            "worth.shipping = {low = 9, likely = 3, high = 10}",
            "worth.shipping",
            "bad_value",
            "rise from low to likely to high, not 9, 3, 10",
        ),
        ("worth.shiping = 3", "worth.shiping", "unknown_key", "did you mean “shipping”"),
        ("families.a.inspecton = 3", "families.a.inspecton", "unknown_key", "“inspection”"),
        ("worth.shipping = {likly = 3}", "worth.shipping.likly", "unknown_key", "“likely”"),
        ("worth.give_up_after = 0", "worth.give_up_after", "bad_value", "greater than or equal"),
        ("worth.give_up_after = 2.5", "worth.give_up_after", "bad_value", "whole number"),
        ("worth.range_shape = 'flat'", "worth.range_shape", "bad_value", "triangular"),
        ("worth.machining = 3", "worth.machining_saves", "missing_key", "beside “machining”"),
        ("families.a.sleeving_saves = 0.1", "families.a.sleeving", "missing_key", "sleeving_saves"),
        ("worth.machining_saves = 1.1", "worth.machining_saves", "bad_value", "from 0 to 1"),
        ("worth.machining_saves = 'x'", "worth.machining_saves", "bad_value", "table of shares"),
        (
            "fitness.street = {}\nworth.machining = 3\nworth.machining_saves.streat = 0.1",
            "worth.machining_saves.streat",
            "unknown_duty",
            "street",
        ),
        (
            "worth = {resale = 3, resale_share = 0.5, currency = 'GBP'}",
            "worth.resale_share",
            "two_resales",
            "not both",
        ),
        ("worth.resale_share = 60", "worth.resale_share", "bad_value", "as 0.6 for 60%"),
        ("fitness.street = {}\nworth.duty = 'streat'", "worth.duty", "unknown_duty", "street"),
        ("worth.rates = {EUR = 0}", "worth.rates.EUR.rate", "bad_value", "greater than 0"),
        ("worth.rates = {EUR = 'x'}", "worth.rates.EUR", "bad_value", "a table of rate"),
        ("worth.currency = 'GBP'\nworth.rates.GBP = 2", "worth.rates.GBP", "bad_value", "no rate"),
        (
            "worth.ordinary = 'wroks'\nfamilies.works.price=1",
            "worth.ordinary",
            "unknown_family",
            "works",
        ),
        ("worth.quoted_on = 'May'", "worth.quoted_on", "bad_value", "must be a date"),
        ("families.a.beyond = [{wat = 'x'}]", "families.a.beyond[1].wat", "unknown_key", "“what”"),
        ("families.a.blocks_exist = 0", "families.a.blocks_exist", "bad_value", "or equal to 1"),
    ],
)
def test_faults_name_their_key(prices_of, text, key, code, sentence) -> None:
    with pytest.raises(FaultsError) as caught:
        prices_of(text)
    found = {fault.column: fault for fault in caught.value.faults}
    assert key in found
    assert found[key].code == code
    assert sentence in found[key].sentence


def test_every_fault_at_once(prices_of) -> None:
    with pytest.raises(FaultsError) as caught:
        prices_of("worth.shipping = -1\nworth.budget = 'x'\nfamilies.a.resale = -5")
    assert [fault.column for fault in caught.value.faults] == [
        "worth.shipping",
        "worth.budget",
        "families.a.resale",
    ]


def test_the_demo_study_states_its_money() -> None:
    prices = load_prices(load_settings(DEMO))
    assert prices.currency == "GBP"
    assert set(prices.families) == {"works", "deepdeck", "trophy"}
    assert set(prices.refused) == {"export"}  # known from print alone, and not for sale
