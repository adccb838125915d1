"""The whole answer: who is answered, who is refused, what is said, and that it is plain JSON."""

from __future__ import annotations

import json

import numpy as np
import pytest

from workbench.errors import Refusal
from workbench.worth.answer import answer_worth
from workbench.worth.as_json import worth_json
from workbench.worth.fit_share import COUNTED, MODELLED, FitShare, JudgedShares
from workbench.worth.information import LookingValue
from workbench.worth.sentences import cost_sentence

TRIALS = 10_000
THREE = """
[worth]
currency = "GBP"
ordinary = "works"
shipping = 60
inspection = 120
resale_share = 0.6
give_up_after = 3
budget = 4000
usable_block = 5000
hours = 2
[families.works]
label = "Works"
price = 900
[families.trophy]
label = "Trophy"
price = { low = 3800, likely = 4200, high = 5000 }
beyond = [{ what = "rarity" }]
[families.deepdeck]
label = "Deep deck"
"""


@pytest.fixture
def shares(judged):
    street = judged(works=(11, 12), trophy=(3, 3), deepdeck=(4, 4))
    power = judged(works=(2, 12), trophy=(3, 3), deepdeck=(4, 4))
    racing = judged(works=(0, 3), trophy=(2, 3))
    return JudgedShares(shares={"street": street, "high_power": power, "racing": racing})


def test_a_family_without_a_price_is_refused_and_the_rest_answered(prices_of, shares) -> None:
    answer = answer_worth(prices_of(THREE), shares, duty="high_power", trials=TRIALS)
    found = {family.family: family for family in answer.families}
    assert found["deepdeck"].refusal is not None
    assert found["deepdeck"].refusal.code == "missing_price"
    assert found["works"].refusal is None
    assert [cost.basis for cost in found["works"].costs] == [COUNTED]
    assert [pair.comparison.premium.family for pair in answer.pairs] == ["trophy"]
    assert answer.pairs[0].sensitivity is not None


def test_the_answer_differs_by_duty(prices_of, shares) -> None:
    answer = answer_worth(prices_of(THREE), shares, duty="high_power", trials=TRIALS)
    cheaper = {pair.duty: pair.comparison.cheaper.value for pair in answer.duties}
    assert list(cheaper) == ["street", "high_power", "racing"]
    assert cheaper["street"] < cheaper["high_power"] < cheaper["racing"]


def test_the_duty_of_the_study_or_the_only_one(prices_of, shares) -> None:
    prices = prices_of(THREE)
    only = JudgedShares(shares={"street": shares.shares["street"]})
    assert answer_worth(prices, only, trials=TRIALS).duty == "street"
    stated = prices_of(THREE.replace("[worth]\n", '[worth]\nduty = "racing"\n'))
    assert answer_worth(stated, shares, trials=TRIALS).duty == "racing"
    with pytest.raises(Refusal, match="judged were “street”, “high_power”, “racing”"):
        answer_worth(prices, shares, trials=TRIALS)


def test_a_duty_no_block_was_judged_for(prices_of, shares) -> None:
    with pytest.raises(Refusal, match=r"No block was judged for the duty “rasing” .*“racing”"):
        answer_worth(prices_of(THREE), shares, duty="rasing", trials=TRIALS)
    with pytest.raises(Refusal, match="no block could be judged for any"):
        answer_worth(
            prices_of(THREE), JudgedShares(shares={"street": {}}), duty="street", trials=TRIALS
        )


def test_a_family_not_judged_for_the_duty(prices_of, shares) -> None:
    text = THREE + "price = 1450\n"
    answer = answer_worth(prices_of(text), shares, duty="racing", trials=TRIALS)
    found = {family.family: family for family in answer.families}
    assert found["deepdeck"].refusal is not None
    assert found["deepdeck"].refusal.code == "no_block_judged"


def test_none_of_three_says_so(prices_of, shares) -> None:
    answer = answer_worth(prices_of(THREE), shares, duty="racing", trials=TRIALS)
    works = next(family for family in answer.families if family.family == "works")
    assert works.costs[0].mean is None
    said = cost_sentence(works.costs[0], "GBP", 0.95, 4000.0)
    assert "no expected cost of a usable Works block can be given" in said
    assert "leaves nothing with odds of 72 in a hundred" in said
    assert "A budget of 4000.00 GBP" in said
    plain = worth_json(answer)
    assert plain["families"][0]["costs"][0]["mean"] is None
    assert plain["families"][0]["sentence"].startswith("None of 3 Works blocks")


def test_by_count_and_by_model(prices_of, shares) -> None:
    generator = np.random.default_rng(1)
    model = {
        name: FitShare(
            family=name,
            duty="high_power",
            passed=share.passed,
            inspected=share.inspected,
            draws=generator.beta(8, 3, 4000),
        )
        for name, share in shares.shares["high_power"].items()
    }
    answer = answer_worth(
        prices_of(THREE), JudgedShares(shares={"high_power": model}), trials=TRIALS
    )
    assert [cost.basis for cost in answer.families[0].costs] == [COUNTED, MODELLED]
    assert [pair.basis for pair in answer.pairs] == [COUNTED, MODELLED]
    assert [look.basis for look in answer.looking if isinstance(look, LookingValue)] == [
        COUNTED,
        MODELLED,
    ]


def test_plain_json_with_every_number_finite_or_null(prices_of, shares) -> None:
    for duty in shares.duties:
        answer = answer_worth(prices_of(THREE), shares, duty=duty, trials=TRIALS, seed=3)
        plain = worth_json(answer)
        assert json.loads(json.dumps(plain, allow_nan=False)) == plain
        assert (plain["duty"], plain["seed"], plain["trials"]) == (duty, 3, TRIALS)
        assert plain["pairs"][0]["cheaper"]["error"] >= 0
        assert plain["pairs"][0]["beyond"] == [{"what": "rarity", "worth": None}]
        assert "nothing of it is priced here" in plain["pairs"][0]["sentence"]
        assert {notice["code"] for notice in plain["prices"]["notices"]} == {
            "hours_not_priced",
            "undated_prices",
        }


def test_same_seed_same_answer(prices_of, shares) -> None:
    one, other, third = (
        worth_json(
            answer_worth(prices_of(THREE), shares, duty="high_power", trials=TRIALS, seed=seed)
        )
        for seed in (1, 1, 2)
    )
    assert one == other
    assert one != third


def test_what_looking_says(prices_of, shares) -> None:
    plain = worth_json(answer_worth(prices_of(THREE), shares, duty="racing", trials=TRIALS))
    found = plain["looking"][0]
    assert found["action"] in found["sentence"] or "inspect" in found["sentence"]
    assert len(found["looks"]) == 24
    no_way_out = THREE.replace("usable_block = 5000\n", "")
    none_fit = JudgedShares(
        shares={
            "racing": {
                name: FitShare(family=name, duty="racing", passed=0, inspected=2)
                for name in ("works", "trophy")
            }
        }
    )
    refused = worth_json(answer_worth(prices_of(no_way_out), none_fit, trials=TRIALS))
    assert refused["looking"][0]["refusal"]["code"] == "no_finite_value"
    assert refused["pairs"][0]["break_even_price"]["price"] is None
