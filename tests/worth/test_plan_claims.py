"""What to measure next, on the invented demo study: open claims only, consistent with verdicts."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import pytest

from workbench.errors import Refusal
from workbench.study import Study, open_study
from workbench.worth.plan_claims import BLOCKS, ClaimPlan, PlanAnswer, plan_claims
from workbench.worth.plan_words import plan_json, plan_sentence
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


@pytest.fixture(scope="module")
def demo(tmp_path_factory) -> Study:
    folder = tmp_path_factory.mktemp("demo") / "demo"
    shutil.copytree(DEMO, folder)
    settings = folder / "study.toml"
    text = settings.read_text(encoding="utf-8")
    without_money = text[: text.index("[worth]")]
    unlimited = re.sub(r"(?m)^(further_block|blocks_exist) = .*$", "", without_money)
    settings.write_text(unlimited + MEASURING, encoding="utf-8")
    return open_study(folder)


@pytest.fixture(scope="module")
def verdicts(demo):
    return demo.judge().verdicts


@pytest.fixture(scope="module")
def answer(demo, verdicts) -> PlanAnswer:
    prices = load_prices(demo.settings)
    return plan_claims(demo.ledger, verdicts, demo.records, demo.settings, prices)


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
    plans = plan_claims(
        study.ledger,
        verdicts,
        study.records,
        study.settings,
        prices,
        only="trophy-walls-thicker",
    ).plans
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
    first = plain["plans"][0]
    assert first["claim"] == "trophy-walls-thicker"
    assert first["unstated"] == ["bore", "repeat"]
    said = first["sentence"]
    assert "To settle it with 8 in ten: measure" in said
    assert "GBP and" in said
    assert "No money is stated for a bore and a repeat: counted as nothing." in said
    refused = [plan for plan in plain["plans"] if plan["refusal"]]
    assert all(plan["sentence"].startswith("It cannot be planned") for plan in refused)


def test_refusals(demo, verdicts) -> None:
    prices = load_prices(demo.settings)
    asked = (demo.ledger, verdicts, demo.records, demo.settings)
    with pytest.raises(Refusal, match="No claim has the id “nothing”"):
        plan_claims(*asked, prices, only="nothing")
    decided = next(v.claim for v in verdicts if v.outcome != "unresolved")
    with pytest.raises(Refusal, match="already"):
        plan_claims(*asked, prices, only=decided)
    bare = Prices(currency="GBP", families={}, refused={}, ordinary=None)
    with pytest.raises(Refusal, match="does not say what measuring costs"):
        plan_claims(*asked, bare)
