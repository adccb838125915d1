"""`workbench worth` and `workbench plan` as they are typed: what is said, exit codes, bad input."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from workbench.castings.cautions import CAUTIONS
from workbench.cli import main
from workbench.records.kept import CACHE, NO_CACHE

pytestmark = pytest.mark.usefixtures("readings_kept")
DEMO = Path(__file__).parents[2] / "data" / "demo"
FEW = r'id = "(trophy-walls-thicker|trophy-thinnest-thicker|deck-thicker)"'
TROPHY_PRICE = "price = { low = 3600, likely = 4200, high = 5200 }"


def typed(*arguments: str) -> Result:
    return CliRunner().invoke(main, list(arguments))


def words(result: Result) -> str:
    """Give what was printed as one line."""
    return " ".join(result.output.split())


@pytest.fixture(scope="module")
def few(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Copy the demo with three of its claims: a plan asks for the verdicts on all there are."""
    folder = tmp_path_factory.mktemp("few") / "study"
    shutil.copytree(DEMO, folder)
    head, *claims = re.split(r"(?m)^(?=\[\[claim\]\])", (DEMO / "claims.toml").read_text("utf-8"))
    named = [claim for claim in claims if re.search(FEW, claim)]
    assert len(named) == 3
    (folder / "claims.toml").write_text("".join([head, *named]), encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def smaller(few: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Copy that study with five blocks of Works and of Deep deck, and the three of Trophy."""
    folder = tmp_path_factory.mktemp("smaller") / "study"
    shutil.copytree(few, folder)
    head, *rows = (DEMO / "readings.csv").read_text("utf-8").splitlines(keepends=True)
    kept = [row for row in rows if re.match(r"[WD]0[1-5]|T", row)]
    (folder / "readings.csv").write_text("".join([head, *kept]), encoding="utf-8")
    return folder


@pytest.fixture
def changed(smaller: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., str]:
    """Copy the smaller study with its study.toml changed: each pair a text and what replaces it."""
    monkeypatch.setenv(CACHE, NO_CACHE)  # few of these are read twice

    def copied(*changes: tuple[str, str]) -> str:
        folder = tmp_path / "study"
        shutil.copytree(smaller, folder)
        path = folder / "study.toml"
        text = path.read_text(encoding="utf-8")
        for old, new in changes:
            assert old in text
            text = text.replace(old, new)
        path.write_text(text, encoding="utf-8")
        return str(folder)

    return copied


@pytest.fixture(scope="module")
def shown() -> Result:
    return typed("worth", str(DEMO), "--duty", "boosted")


def test_the_whole_answer_is_printed(shown) -> None:
    said = words(shown)
    assert shown.exit_code == 0
    assert "22 of 22 Deep deck blocks inspected were fit" in said
    assert "In 9 cases of ten" in said
    assert "Giving up after 3 blocks" in said
    assert "If you buy, then inspect, it would cost" in said
    assert "the dearer one above it" in said
    assert "“rarity”; nothing of it is priced here" in said
    assert re.search(r"By the count of blocks: (buy now|inspect|walk away)", said)
    assert "Duties side by side" in said
    assert all(caution in said for caution in CAUTIONS)


def odds(output: str) -> list[str]:
    """Give the odds that were simulated, as printed."""
    return re.findall(r"([\d.]+) in a hundred, simulated", " ".join(output.split()))


def test_odds_are_counts_with_the_error_of_the_simulation(shown) -> None:
    said = words(shown)
    assert re.search(r"\d+(\.\d+)? in a hundred, simulated, standard error 0\.\d+", said)
    assert "probability" not in said
    assert "%)" not in said


def test_the_same_seed_prints_the_same(smaller) -> None:
    asked = ("worth", str(smaller), "--duty", "boosted")
    first, again = (typed(*asked).output for _ in range(2))
    assert first == again
    other = typed(*asked, "--seed", "5").output
    assert "seed 5" in other
    assert odds(other) != odds(first)


def test_worth_as_json() -> None:
    plain = json.loads(typed("worth", str(DEMO), "--json").output)
    assert plain["study"].startswith("Marlowe Four")
    assert (plain["duty"], plain["currency"]) == ("high_power", "GBP")
    assert {cost["basis"] for family in plain["families"] for cost in family["costs"]} == {
        "counted",
        "modelled",
    }
    indices = plain["pairs"][0]["sensitivity"]["indices"]
    assert 0.9 < sum(index["first"] for index in indices) < 1.1
    assert plain["cautions"] == list(CAUTIONS)


def test_plan_as_words_and_json(few) -> None:
    said = words(typed("plan", str(few)))
    assert "It cannot be settled with the blocks that exist" in said
    assert "GBP and" in said
    plain = json.loads(typed("plan", str(DEMO), "--json").output)
    held = {plan["claim"]: plan["held_by"] for plan in plain["plans"]}
    assert held["trophy-walls-thicker"] == "blocks that exist"
    assert held["deepdeck-iron-differs"] == "too near the margin"
    within = {plan["claim"]: plan["targets"][0]["plan"] for plan in plain["plans"]}
    assert {claim for claim, plan in within.items() if plan} == {
        "trophy-walls-even",
        "trophy-thinnest-thicker",
    }
    even = within["trophy-walls-even"]
    assert even["candidate_blocks"] <= 24 - 3  # all there are, less those measured
    assert even["power"] >= 0.8
    assert held["trophy-walls-even"] is None
    beyond = {plan["claim"]: plan["with_more_blocks"] for plan in plain["plans"]}
    powers = [plan["power"] for plan in beyond.values() if plan is not None]
    assert len(powers) == 1
    assert min(powers) >= 0.8
    assert beyond["deepdeck-iron-differs"] is None
    one = json.loads(typed("plan", str(few), "--json", "--claim", "trophy-walls-thicker").output)
    assert [plan["claim"] for plan in one["plans"]] == ["trophy-walls-thicker"]


def test_looks_on_the_way_spend_false_alarms_as_asked(few) -> None:
    """O'Brien and Fleming's are strict early, Pocock's about alike (Jennison and Turnbull 2000)."""
    asked = ("plan", str(few), "--json", "--claim", "trophy-thinnest-thicker", "--looks")
    levels = {}
    for way in ("obrien-fleming", "pocock"):
        (found,) = json.loads(typed(*asked, way).output)["plans"]
        levels[way] = [look["p_value"] for look in found["sequential"]["looks"]]
    strict, even = levels["obrien-fleming"], levels["pocock"]
    assert strict[0] < even[0]
    assert strict[-1] > even[-1]
    assert max(even) / min(even) < 1.5 < strict[-1] / strict[0]
    assert "is not one of" in words(typed(*asked, "sometimes"))


def test_plan_for_a_budget_and_for_a_width(few) -> None:
    asked = ("--claim", "trophy-walls-thicker", "--budget", "3000", "--half-width", "0.2")
    said = words(typed("plan", str(few), *asked))
    assert "For 3000.00 GBP: measure" in said
    assert "For an interval that reaches 0.20 mm either way on average: measure" in said
    assert "As measured the interval reaches 0.80 mm either way." in said
    wide = typed("plan", str(few), "--half-width", "0.2")
    assert wide.exit_code == 2
    assert "name the claim as well" in words(wide)
    nothing = typed("plan", str(few), "--budget", "-1")
    assert nothing.exit_code == 2
    assert "A budget is 0 or more" in words(nothing)


def test_a_missing_price_leaves_that_family_out(changed) -> None:
    result = typed("worth", changed((TROPHY_PRICE + "\n", "")))
    said = words(result)
    assert result.exit_code == 0
    assert "No price of Trophy blocks is stated (families.trophy.price). [missing_price]" in said
    assert "Deep deck against Works" in said
    assert "Trophy against Works" not in said


def test_a_second_currency_without_a_rate_leaves_that_family_out(changed) -> None:
    study = changed(("quoted_on = 2026-06-02", 'quoted_on = 2026-06-02\n#"'), ('#"', ""))
    path = Path(study) / "study.toml"
    text = path.read_text(encoding="utf-8")
    start = text.index("[families.trophy]")
    own = text[start:].replace('currency = "GBP"', 'currency = "EUR"', 1)
    path.write_text(text[:start] + own, encoding="utf-8")
    said = words(typed("worth", study))
    assert "families.trophy.price is in EUR and the answer in GBP, and there is no rate" in said
    assert "families.trophy.further_block is in EUR, of which no rate is stated" in said
    assert "Deep deck against Works" in said
    assert typed("plan", study).exit_code == 0


def test_prices_nowhere_end_with_2(changed) -> None:
    study = changed()
    path = Path(study) / "study.toml"
    text = re.sub(r"(?m)^price = .*$", "", path.read_text(encoding="utf-8"))
    path.write_text(text, encoding="utf-8")
    result = typed("worth", study)
    assert result.exit_code == 2
    assert result.output.count("[missing_price]") == 4


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (
            (TROPHY_PRICE, "price = -4200"),
            "families.trophy.price: “price” must be 0 or more. (found “-4200”)",
        ),
        (
            (TROPHY_PRICE, "price = { low = 4600, likely = 4200, high = 5200 }"),
            "must rise from low to likely to high, not 4600, 4200, 5200",
        ),
        (
            ('[worth]\ncurrency = "GBP"\n', "[worth]\n"),
            "worth.shipping: The amount has no currency; state “worth.currency”.",
        ),
        (
            ("inspection = 120", "inspecton = 120"),
            "There is no key “inspecton” here (did you mean “inspection”?).",
        ),
        (
            ("sleeving_saves = { high_power", "sleeving_saves = { hihg_power"),
            "There is no duty “hihg_power” in [fitness] (did you mean “high_power”?).",
        ),
    ],
)
def test_faults_of_the_prices_are_sentences(changed, change, said) -> None:
    study = changed(change) if "[worth]" not in change[0] else changed()
    if "[worth]" in change[0]:
        path = Path(study) / "study.toml"
        text = path.read_text(encoding="utf-8").replace('currency = "GBP"\n', "")
        path.write_text(text, encoding="utf-8")
    result = typed("worth", study)
    assert result.exit_code == 2
    assert said in words(result)
    assert "Traceback" not in result.output


def test_resale_above_price_is_said_and_answered(changed) -> None:
    result = typed("worth", changed(("resale_share = 0.6", "resale = 9000")))
    assert result.exit_code == 0
    assert "A rejected Works block is said to fetch more than it cost" in words(result)
    assert "[resale_above_price]" in result.output


def test_none_of_three_fit(changed) -> None:
    study = changed(
        ("least_wall = 4.0", "least_wall = 5.6"),
        (", comfortable = 0.1 }", " }"),
        (", comfortable = 0.4 }", " }"),
    )
    result = typed("worth", study, "--duty", "comfortable")
    said = words(result)
    assert result.exit_code == 0
    assert "None of 3 Trophy blocks inspected was fit for the duty" in said
    assert "no expected cost of a usable Trophy block can be given, as too few were fit" in said


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("worth", "--duty", "hihg_power"), "(did you mean “high_power”?); judged were “usable”"),
        (("plan", "--claim", "nothing"), "No claim has the id “nothing”."),
        (("plan", "--claim", "deck-thicker"), "The claim “deck-thicker” is supported already."),
    ],
)
def test_what_is_not_there_is_said(few, arguments, said) -> None:
    command, *options = arguments
    result = typed(command, str(few), *options)
    assert result.exit_code == 2
    assert said in words(result)


def test_a_duty_no_block_was_judged_for(changed) -> None:
    other = 'hardness_low = 90\nhardness_unit = "HRB"'
    result = typed("worth", changed(("least_deck = 12.0", other)), "--duty", "boosted")
    assert result.exit_code == 2
    assert "No block was judged for the duty “boosted”" in words(result)


def test_a_study_without_money_or_duties() -> None:
    oxide = str(DEMO.parent / "oxide")
    result = typed("worth", oxide)
    assert result.exit_code == 2
    assert "The study states no duty to be fit for" in words(result)
    said = words(typed("plan", oxide))
    assert "does not say what measuring costs" in said or "nothing to plan" in said


def test_study_text_can_neither_colour_nor_steer(changed) -> None:
    study = changed(('label = "Trophy"', 'label = "[red]\\u001b[31mTrophy"'))
    for command in ("worth", "plan"):
        result = typed(command, study)
        assert "\x1b" not in result.output
