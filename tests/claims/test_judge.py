"""The ledger judged as a whole: invariances, refusals, Holm, and what the JSON holds."""

import json
import subprocess
import sys

import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from workbench.claims.checks import PERMUTATION
from workbench.claims.claim import FaultyClaim, Ledger
from workbench.claims.judge import judge
from workbench.errors import StudyError
from workbench.records.faults import Fault, FaultsError
from workbench.records.rounding import p_text

MIRROR = {"greater": "less", "less": "greater", "same": "same", "different": "different"}
CONTRACT = [
    *("claim", "outcome", "estimate", "unit", "low", "high", "confidence", "p_value"),
    *("degrees_of_freedom", "standard_error", "method", "candidate_blocks", "reference_blocks"),
    *("candidate_readings", "reference_readings", "stands_after_adjustment", "warnings"),
    *("sentence", "next_step"),
]


@pytest.fixture
def cells(lab):
    return lab.cells(
        lab.readings("trophy", 12.4, blocks=4, repeats=2),
        lab.readings("works", 11, blocks=8, repeats=2),
    )


@pytest.mark.parametrize("scope", ["family", "block"])
@pytest.mark.parametrize("direction", list(MIRROR))
@pytest.mark.parametrize("margin", [0.5, 1.4, 3.0])
def test_swapping_the_families_and_the_direction_gives_the_mirrored_verdict(
    lab, cells, scope, direction, margin
):
    here = lab.verdict(cells, scope=scope, direction=direction, margin=margin)
    there = lab.verdict(
        cells,
        scope=scope,
        direction=MIRROR[direction],
        margin=margin,
        candidate="works",
        reference="trophy",
    )
    assert here.outcome == there.outcome
    assert here.estimate == pytest.approx(-there.estimate, rel=1e-9)
    assert here.low == pytest.approx(-there.high, rel=1e-6)
    assert here.p_value == pytest.approx(there.p_value, rel=1e-6, abs=1e-12)
    assert here.candidate_readings == there.reference_readings


@pytest.mark.parametrize("scope", ["family", "block"])
@pytest.mark.parametrize("direction", list(MIRROR))
@pytest.mark.parametrize("margin", [0.5, 1.4])
def test_inches_give_the_same_verdict(lab, cells, scope, direction, margin):
    metric = lab.verdict(cells, scope=scope, direction=direction, margin=margin)
    inches = lab.verdict(cells, scope=scope, direction=direction, margin=margin / 25.4, unit="in")
    assert inches.outcome == metric.outcome
    assert inches.p_value == pytest.approx(metric.p_value, rel=1e-5, abs=1e-12)
    assert inches.estimate * 25.4 == pytest.approx(metric.estimate, rel=1e-9)
    assert inches.degrees_of_freedom == pytest.approx(metric.degrees_of_freedom, rel=1e-5)
    assert [w.code for w in inches.warnings] == [w.code for w in metric.warnings]


@given(shift=st.integers(-300, 300), margin=st.floats(0.1, 3))
@settings(
    max_examples=15,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
def test_the_interval_leaves_out_the_margin_exactly_when_p_says_so(lab, cells, shift, margin):
    moved = cells.copy()
    ours = moved["family"] == "trophy"
    for column in ("kmin", "kmax"):
        moved.loc[ours, column] += shift
    moved.loc[ours, "s2"] += 2 * shift * moved.loc[ours, "s1"] + shift**2 * moved.loc[ours, "n"]
    moved.loc[ours, "s1"] += shift * moved.loc[ours, "n"]
    verdict = lab.verdict(moved, margin=margin)
    assert (verdict.low <= margin <= verdict.high) == (verdict.p_value >= 0.05)
    assert (verdict.outcome == "unresolved") == (verdict.p_value >= 0.05)


def test_the_json_holds_the_contract_and_no_number_json_lacks(lab, cells):
    claims = [
        lab.claim(),
        lab.claim(id="spread", figure="spread"),
        lab.claim(id="none", candidate="absent"),
        lab.claim(id="blocks", scope="block"),
    ]
    made = lab.judge(cells, *claims).to_json()
    assert json.loads(json.dumps(made, allow_nan=False)) == made
    assert {"study", "confidence", "verdicts"} < set(made)
    assert made["adjustment"] == {
        "method": "holm",
        "claims": [claim.id for claim in claims],
    }
    for verdict in made["verdicts"]:
        assert set(CONTRACT) <= set(verdict)
    assert made["verdicts"][1]["degrees_of_freedom"] is None
    assert made["verdicts"][2]["p_value"] is None
    assert set(made["verdicts"][0]["warnings"][0]) == {"code", "text"}


def test_html_in_a_claim_survives_as_plain_text(lab, cells):
    text = '<img src=x onerror="alert(1)">'
    verdict = lab.judge(cells, lab.claim(statement=text, heard_from=text)).to_json()["verdicts"][0]
    assert verdict["statement"] == text
    assert verdict["heard_from"] == text


@pytest.mark.parametrize(
    ("parts", "code"),
    [
        (lambda lab: [], "no_readings"),
        (lambda lab: [lab.readings("works", 11)], "no_readings"),
        (
            lambda lab: [
                lab.readings("works", 11, blocks=1),
                lab.readings("trophy", 12, blocks=1),
            ],
            "too_few_blocks",
        ),
        (
            lambda lab: [
                lab.readings("works", 11, stations=("front",)),
                lab.readings("trophy", 12, stations=("rear",)),
            ],
            "no_shared_station",
        ),
        (
            lambda lab: [
                lab.readings("works", 11, unit="kg"),
                lab.readings("trophy", 12, unit="kg"),
            ],
            "unit_mismatch",
        ),
        (
            lambda lab: [
                lab.readings("works", 11, within=0, between=0, bore_spread=0, stations=("front",)),
                lab.readings("trophy", 11, within=0, between=0, bore_spread=0, stations=("front",)),
            ],
            "no_spread",
        ),
    ],
)
def test_too_little_to_answer_is_open_with_its_reason(lab, parts, code):
    given = parts(lab)
    cells = lab.cells(*given) if given else lab.cells(lab.readings("works", 11)).iloc[:0]
    verdict = lab.verdict(cells)
    assert verdict.outcome == "unresolved"
    assert verdict.warnings[0].code == code
    assert verdict.warnings[0].text in verdict.sentence
    assert verdict.next_step
    assert not verdict.has_numbers


def test_a_refused_claim_still_says_what_was_left_out_and_what_is_there(lab):
    cells = lab.cells(
        lab.readings("works", 11, blocks=1),
        lab.readings("trophy", 12, blocks=1),
        lab.readings("works", 3, blocks=1, sampling="search"),
    )
    verdict = lab.verdict(cells)
    assert [w.code for w in verdict.warnings] == ["too_few_blocks", "searched_excluded"]
    assert (verdict.candidate_blocks, verdict.reference_readings) == (1, 4)


def test_searched_readings_never_move_a_mean(lab, cells):
    hunted = lab.cells(lab.readings("trophy", 3, blocks=4, sampling="search"))

    with_them = lab.verdict(pd.concat([cells, hunted], ignore_index=True))
    without = lab.verdict(cells)
    assert (with_them.estimate, with_them.p_value) == (without.estimate, without.p_value)


def test_a_claim_asked_for_alone_has_the_verdict_it_has_among_the_others(lab, cells):
    claims = [lab.claim(id=f"claim-{number}", margin=number / 2) for number in range(5)]
    everything = lab.judge(cells, *claims)
    alone = lab.judge(cells, *claims, only="claim-3")
    assert alone.verdicts == (everything.verdicts[3],)


def test_an_unknown_claim_is_named_with_the_ones_there_are(lab, cells):
    claims = [lab.claim(id="deck-thicker"), lab.claim(id="walls")]
    with pytest.raises(StudyError, match=r"“deck-thiker”.*mean “deck-thicker”.*deck-thicker, wall"):
        lab.judge(cells, *claims, only="deck-thiker")


def test_the_drawn_checks_depend_on_the_seed_and_not_on_the_order_of_the_ledger(lab):
    cells = lab.cells(lab.readings("trophy", 11.1, blocks=20), lab.readings("works", 11, blocks=20))
    first, second = lab.claim(id="a"), lab.claim(id="b")
    here = lab.judge(cells, first, second).verdicts[1]
    there = lab.judge(cells, second, first).verdicts[0]
    assert here == there
    other = lab.judge(cells, first, second, seed=2).verdicts[1]
    assert (other.outcome, other.p_value) == (here.outcome, here.p_value)
    dealt, dealt_anew = (
        next(check.p_value for check in verdict.checks if check.name == PERMUTATION)
        for verdict in (here, other)
    )
    assert dealt_anew != dealt


def test_holm_over_the_ledger_decides_what_still_stands(lab, cells):
    alone = lab.verdict(cells, margin=0.0)
    assert alone.outcome == "supported"
    assert alone.stands_after_adjustment is True
    assert alone.adjusted_p == alone.p_value
    # a margin at which the claim is decided with p between 0.05 / 2 and 0.05
    from scipy.special import stdtrit

    reach = -stdtrit(alone.degrees_of_freedom, 0.035 / 2) * alone.standard_error
    near = {"margin": alone.estimate - reach}
    assert lab.verdict(cells, **near).stands_after_adjustment is True
    among = lab.judge(cells, lab.claim(**near), lab.claim(id="open", figure="spread"))
    assert among.verdicts[0].outcome == "supported"
    assert among.verdicts[0].adjusted_p == pytest.approx(0.07, rel=1e-6)
    assert among.verdicts[0].stands_after_adjustment is False
    assert among.verdicts[1].stands_after_adjustment is None


def test_a_contradicted_sameness_is_adjusted_by_the_p_that_contradicts_it(lab, cells):
    verdict = lab.verdict(cells, direction="same", margin=0.2)
    assert verdict.outcome == "contradicted"
    assert verdict.p_value > 0.5
    assert verdict.deciding_p < 0.05
    assert verdict.told_p == verdict.deciding_p
    assert f"({p_text(verdict.told_p)})" in verdict.sentence
    assert all(check.p_value < 0.05 for check in verdict.checks if check.outcome == "contradicted")
    assert verdict.stands_after_adjustment is True


def test_a_claim_with_faults_keeps_its_place_and_counts_as_asked(lab, cells):
    fault = Fault(
        file="claims.toml",
        row=None,
        column="claim[1].margin",
        value="",
        code="margin_needed",
        sentence="A claim of sameness needs a margin.",
    )
    ledger = Ledger(
        entries=(FaultyClaim(id="alike", statement="Alike.", faults=(fault,)), lab.claim()),
        faults=(fault,),
    )
    records = lab.records(cells)
    first, second = judge(ledger, records, lab.settings, seed=1).verdicts
    assert (first.claim, first.outcome) == ("alike", "unresolved")
    assert first.warnings[0].code == "margin_needed"
    assert "claim[1].margin" in first.warnings[0].text
    assert second.adjusted_p == pytest.approx(2 * second.p_value)
    with pytest.raises(FaultsError, match=r"needs a margin"):
        judge(Ledger(entries=(), faults=(fault,)), records, lab.settings, seed=1)


def test_judging_twice_gives_the_same_and_leaves_the_cells_alone(lab, cells):
    before = cells.copy(deep=True)
    assert lab.judge(cells) == lab.judge(cells)
    assert cells.equals(before)


def test_judging_loads_nothing_heavy():
    script = "import sys, workbench.claims.judge, workbench.claims.ledger; print(*sys.modules)"
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    loaded = set(done.stdout.split())
    assert "scipy.special" in loaded
    assert loaded.isdisjoint(
        {"scipy.stats", "scipy.optimize", "statsmodels", "matplotlib", "seaborn", "duckdb"}
    )
