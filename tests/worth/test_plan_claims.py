"""What to measure next, on the invented demo study: open claims only, consistent with verdicts."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import pytest

from workbench.claims.judge import Bench, judge
from workbench.errors import Refusal
from workbench.study import DEFAULT_SEED, Study, open_study
from workbench.worth.plan_claims import BLOCKS, ClaimPlan, PlanAnswer, plan_claims
from workbench.worth.plan_json import plan_json
from workbench.worth.plan_words import plan_sentence
from workbench.worth.prices import Prices, load_prices

DEMO = Path(__file__).parents[2] / "data" / "demo"
MEASURING = """
[worth]
currency = "GBP"
hour_costs = 25
[worth.measuring]
block = 80
place = 1
calibration_block = 60
calibration_leaves = 0.01
block_hours = 0.5
"""
NOBODY_READ = """
[[claim]]
id = "longer"
statement = "It is longer."
quantity = "length"
figure = "mean"
candidate = "trophy"
reference = "works"
direction = "greater"
unit = "mm"
scope = "family"
"""


@pytest.fixture(scope="module")
def demo(tmp_path_factory) -> Study:
    folder = tmp_path_factory.mktemp("demo") / "demo"
    shutil.copytree(DEMO, folder)
    settings = folder / "study.toml"
    text = settings.read_text(encoding="utf-8")
    without_money = text[: text.index("[worth]")]
    unlimited = re.sub(r"(?m)^(further_block|blocks_exist) = .*$", "", without_money)
    settings.write_text(unlimited + MEASURING, encoding="utf-8")
    with (folder / "claims.toml").open("a", encoding="utf-8") as claims:
        claims.write(NOBODY_READ)
    return open_study(folder)


@pytest.fixture(scope="module")
def bench(demo) -> Bench:
    return bench_of(demo)


def test_a_plan_and_the_verdict_say_where_another_spread_is_planned_with(
    found, answer, verdicts
) -> None:
    alike = "Both families are taken to vary alike, as 3 Trophy blocks tell too little"
    told = {id: alike in plan_sentence(plan, answer.prices) for id, plan in found.items()}
    judged_apart = {
        id
        for id, plan in found.items()
        if plan.study is not None and plan.study.own_now and plan.study.candidate.blocks < 5
    }
    assert judged_apart == {"trophy-walls-thicker"}
    assert {id for id, said in told.items() if said} == judged_apart
    assert {one.claim for one in verdicts if alike in one.next_step} == judged_apart


def bench_of(study: Study) -> Bench:
    return Bench(study.ledger, study.records, study.settings, seed=DEFAULT_SEED)


@pytest.fixture(scope="module")
def verdicts(demo, bench):
    return judge(demo.ledger, demo.records, demo.settings, seed=DEFAULT_SEED, bench=bench).verdicts


@pytest.fixture(scope="module")
def answer(bench, verdicts) -> PlanAnswer:
    return plan_claims(bench, verdicts, load_prices(bench.settings))


@pytest.fixture(scope="module")
def found(answer) -> dict[str, ClaimPlan]:
    return {plan.claim: plan for plan in answer.plans}


def test_only_open_claims_are_planned(verdicts, found) -> None:
    assert set(found) == {v.claim for v in verdicts if v.outcome == "unresolved"}


def test_as_many_blocks_as_the_verdict_says(demo, verdicts, found) -> None:
    """Blocks of one price, read as those at hand: the verdict's “more of each” is a plan too."""
    plan = found["trophy-walls-thicker"]
    step = next(v.next_step for v in verdicts if v.claim == plan.claim)
    each = int(re.search(r"(\d+) more of each", step)[1])
    assert plan.plans[0] is not None
    blocks = plan.plans[0].plan.candidate + plan.plans[0].plan.reference
    assert 2 * each * 0.9 <= blocks <= 2 * each * 1.1


def test_with_the_blocks_that_exist(demo, verdicts) -> None:
    folder = demo.folder
    settings = folder / "study.toml"
    text = settings.read_text(encoding="utf-8")
    few = folder.parent / "few"
    shutil.copytree(folder, few)
    (few / "study.toml").write_text(
        text.replace("[families.trophy]\n", "[families.trophy]\nblocks_exist = 9\n"),
        encoding="utf-8",
    )
    study = open_study(few)
    prices = load_prices(study.settings)
    plans = plan_claims(bench_of(study), verdicts, prices, only="trophy-walls-thicker").plans
    assert len(plans) == 1
    assert plans[0].held_by == BLOCKS
    assert plans[0].with_more_blocks is not None
    said = plan_sentence(plans[0], prices)
    assert "cannot be settled with the blocks that exist" in said


def test_the_claim_settled_most_cheaply_comes_first(found) -> None:
    values = [plan.value for plan in found.values()]
    assert values == sorted(values, reverse=True)
    assert values[0] > 0


def test_words_and_plain_values(answer) -> None:
    plain = plan_json(answer)
    assert json.loads(json.dumps(plain, allow_nan=False)) == plain
    first = next(plan for plan in plain["plans"] if plan["claim"] == "trophy-walls-thicker")
    assert first["unstated"] == ["bore", "repeat"]
    said = first["sentence"]
    assert "To settle it with odds of 8 in ten: measure" in said
    assert "GBP and" in said
    assert "No money is stated for: a bore, a repeat. It counts as nothing." in said
    refused = [plan for plan in plain["plans"] if plan["refusal"]]
    assert [plan["claim"] for plan in refused] == ["longer"]
    assert refused[0]["sentence"].startswith("It cannot be planned: ")


def test_what_is_asked_beside_is_answered_for_the_claim(demo, bench, verdicts) -> None:
    prices = load_prices(demo.settings)
    answer = plan_claims(
        bench, verdicts, prices, only="trophy-walls-thicker", budget=1000.0, half_width=0.3
    )
    (plan,) = answer.plans
    assert plan.within_budget is not None
    assert plan.within_budget.money <= 1000
    assert plan.for_width is not None
    verdict = next(v for v in verdicts if v.claim == plan.claim)
    assert plan.now is not None
    assert plan.now.half_width == pytest.approx((verdict.high - verdict.low) / 2)
    plain = plan_json(answer)
    assert json.loads(json.dumps(plain, allow_nan=False)) == plain
    assert (plain["budget"], plain["half_width"]) == (1000.0, 0.3)
    assert plain["plans"][0]["within_budget"]["money"] == plan.within_budget.money


def test_refusals(demo, bench, verdicts) -> None:
    prices = load_prices(demo.settings)
    asked = (bench, verdicts)
    with pytest.raises(Refusal, match="No claim has the id “nothing”"):
        plan_claims(*asked, prices, only="nothing")
    decided = next(v.claim for v in verdicts if v.outcome != "unresolved")
    with pytest.raises(Refusal, match="already"):
        plan_claims(*asked, prices, only=decided)
    with pytest.raises(Refusal, match="in the unit of one claim"):
        plan_claims(*asked, prices, half_width=0.1)
    with pytest.raises(Refusal, match="A budget is 0 or more and finite, not -5"):
        plan_claims(*asked, prices, budget=-5.0)
    with pytest.raises(Refusal, match="A half-width is above 0 and finite, not nan"):
        plan_claims(*asked, prices, only="trophy-walls-thicker", half_width=float("nan"))
    bare = Prices(currency="GBP", families={}, refused={}, ordinary=None)
    with pytest.raises(Refusal, match="does not say what measuring costs"):
        plan_claims(*asked, bare)


def test_other_figures_are_planned_by_whole_blocks(demo, verdicts, found) -> None:
    """The verdict's own plan, for one family alone, is reached: as many Trophy blocks or fewer."""
    for claim in ("trophy-walls-even", "trophy-thinnest-thicker"):
        step = next(v.next_step for v in verdicts if v.claim == claim)
        alone = int(re.search(r"(\d+) more Trophy blocks", step)[1])
        plan = found[claim].plans[0]
        assert plan is not None
        assert plan.power >= 0.8
        assert plan.plan.candidate + plan.plan.reference <= 1.1 * alone + 1
        assert (plan.plan.bores, plan.plan.places, plan.plan.repeats) == (4, 12, 1)
