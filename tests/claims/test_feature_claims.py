"""Claims on features seen by eye, judged by an exact unconditional test of two shares."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import barnard_exact, binom
from statsmodels.stats.proportion import score_test_proportions_2indep

from workbench.claims.verdict import Verdict
from workbench.study import open_study

SETTINGS = """
title = "Invented"
[families.f]
label = "New"
[families.g]
label = "Old"
[quantities.web]
label = "a fourth web"
kind = "feature"
[quantities.gallery]
label = "oil gallery"
kind = "feature"
levels = ["rough", "fair", "smooth"]
"""
Judge = Callable[..., Verdict]


@pytest.fixture(scope="module")
def reductions(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the folder where the readings that several verdicts rest on are kept once read."""
    return tmp_path_factory.mktemp("reductions")


@pytest.fixture
def judged(tmp_path: Path, reductions: Path, monkeypatch: pytest.MonkeyPatch) -> Judge:
    """Judge one claim on blocks of two families: how many show it, of how many."""
    monkeypatch.setenv("WORKBENCH_CACHE", str(reductions))

    def judge(
        ours: tuple[int, int] = (7, 15),
        others: tuple[int, int] = (12, 15),
        *,
        words: tuple[str, str] = ("yes", "no"),
        observers: str = "a",
        more: str = "",
        **fields: object,
    ) -> Verdict:
        lines = ["block,family,quantity,value,unit,operator"]
        stated = {
            "id": "c", "statement": "s", "quantity": "web", "candidate": "f", "reference": "g",
            "direction": "greater", "unit": "share", **fields,
        }  # fmt: skip
        for family, (yes, of) in (("f", ours), ("g", others)):
            lines += [
                f"{family}{at},{family},{stated['quantity']},{words[at >= yes]},,{observer}"
                for at in range(of)
                for observer in observers
            ]
        claim = "".join(f"{key} = {value!r}\n".replace("'", '"') for key, value in stated.items())
        (tmp_path / "study.toml").write_text(SETTINGS)
        (tmp_path / "claims.toml").write_text(f"[[claim]]\n{claim}")
        (tmp_path / "readings.csv").write_text("\n".join(lines) + "\n" + more)
        return open_study(tmp_path).judge(seed=1).verdicts[0]

    return judge


def test_against_the_vaccine_example_of_scipy(judged: Judge) -> None:
    """7 of 15 and 12 of 15, the example in the documentation of scipy's exact test of Barnard.

    Printed there: p = 0.03407 one-sided. A verdict gives twice the smaller tail.
    """
    verdict = judged(direction="less")
    witness = barnard_exact([[7, 12], [8, 3]], alternative="less", n=256)
    assert witness.pvalue == pytest.approx(0.03407, abs=1e-5)
    assert verdict.p_value == pytest.approx(2 * witness.pvalue, rel=1e-3)
    assert verdict.estimate == pytest.approx(7 / 15 - 12 / 15)
    assert verdict.method == "exact unconditional test of two shares"
    assert (verdict.candidate_blocks, verdict.reference_blocks) == (15, 15)


def worst_chance(ours: tuple[int, int], others: tuple[int, int], margin: float) -> float:
    """Give the largest chance, over the nuisance share, of a score as high as the one seen.

    The score is statsmodels' (Farrington and Manning), the sum over tables written out here.
    """
    (x, n), (y, m) = ours, others
    scores = np.array(
        [
            [
                float(
                    score_test_proportions_2indep(
                        i, n, j, m, margin, compare="diff", correction=False, return_results=True
                    ).statistic
                )
                for j in range(m + 1)
            ]
            for i in range(n + 1)
        ]
    )
    high = scores >= scores[x, y] - 1e-9
    shares = np.linspace(max(0.0, -margin), min(1.0, 1 - margin), 2001)
    return max(
        float(binom.pmf(range(n + 1), n, share + margin) @ high @ binom.pmf(range(m + 1), m, share))
        for share in shares
    )


def test_the_interval_ends_where_the_exact_test_says(judged: Judge) -> None:
    verdict = judged((9, 10), (4, 12))
    assert verdict.outcome == "supported"
    assert worst_chance((9, 10), (4, 12), verdict.low) == pytest.approx(0.025, abs=2e-4)
    for margin, outcome in (
        (verdict.low - 0.005, "supported"),
        (verdict.low + 0.005, "unresolved"),
    ):
        moved = judged((9, 10), (4, 12), margin=round(margin, 3))
        assert moved.outcome == outcome
        assert (moved.p_value < 0.05) == (outcome == "supported")


def test_swapped_families_mirror_the_verdict(judged: Judge) -> None:
    here = judged((9, 10), (4, 12))
    there = judged((4, 12), (9, 10), direction="less")
    assert there.outcome == here.outcome
    assert (there.estimate, there.low, there.high) == pytest.approx(
        (-here.estimate, -here.high, -here.low), abs=1e-6
    )
    assert there.p_value == pytest.approx(here.p_value, rel=1e-6)


def test_the_other_outcomes(judged: Judge) -> None:
    assert judged((1, 12), (11, 12)).outcome == "contradicted"
    open_ = judged((3, 5), (4, 9))
    assert open_.outcome == "unresolved"
    assert "blocks of each family would settle this" in open_.next_step
    same = judged((30, 60), (30, 60), direction="same", margin=0.4)
    assert same.outcome == "supported"
    assert judged((10, 12), (3, 12), direction="different").outcome == "supported"


def test_only_the_block_counts_however_often_it_was_looked_at(judged: Judge) -> None:
    once, thrice = judged((9, 10), (4, 12)), judged((9, 10), (4, 12), observers="abc")
    for field in ("estimate", "low", "high", "p_value", "outcome", "candidate_blocks"):
        assert getattr(once, field) == getattr(thrice, field)
    assert thrice.candidate_readings == 3 * once.candidate_readings


def test_the_sentence_names_counts_and_intervals(judged: Judge) -> None:
    verdict = judged((9, 10), (4, 12))
    assert verdict.sentence.startswith("9 of 10 New blocks (60% to 98%) and 4 of 12 Old blocks")
    assert "show a fourth web (yes)" in verdict.sentence
    assert "a difference of 57 percentage points" in verdict.sentence


def test_a_graded_feature_is_judged_by_the_share_below_a_level(judged: Judge) -> None:
    given = {"quantity": "gallery", "words": ("fair", "smooth"), "figure": "share_below"}
    verdict = judged((2, 10), (9, 12), threshold=2, direction="less", **given)
    plain = judged((2, 10), (9, 12), direction="less")
    for field in ("estimate", "low", "high", "p_value", "outcome"):
        assert getattr(verdict, field) == getattr(plain, field)
    assert "are graded below “smooth” in oil gallery" in verdict.sentence
    none = judged((2, 10), (9, 12), threshold=1, direction="less", **given)
    assert none.estimate == 0


@pytest.mark.parametrize(
    ("fields", "code", "said"),
    [
        ({"scope": "block"}, "feature_scope", "counted, not estimated"),
        ({"quantity": "gallery", "words": ("fair", "rough")}, "graded_feature", "no size"),
        ({"figure": "spread"}, "feature_figure", "has no spread"),
        (
            {"quantity": "gallery", "words": ("fair", "rough"), "figure": "share_below",
             "threshold": 7},
            "bad_threshold",
            "go from 0 to 2",
        ),
    ],
)  # fmt: skip
def test_what_a_feature_cannot_answer(
    judged: Judge, fields: dict[str, object], code: str, said: str
) -> None:
    verdict = judged(**fields)
    assert verdict.outcome == "unresolved"
    assert verdict.warnings[0].code == code
    assert said in verdict.sentence
    assert not verdict.has_numbers


def test_every_block_tied(judged: Judge) -> None:
    more = "".join(f"f{at},f,web,no,,b\n" for at in range(3))
    verdict = judged((3, 3), (2, 6), more=more)
    assert verdict.warnings[0].code == "no_blocks_left"


def codes(verdict: Verdict) -> dict[str, str]:
    return {threat.code: threat.text for threat in verdict.warnings}


def test_threats_name_ties_observers_and_their_agreement(judged: Judge) -> None:
    assert "one_observer" in codes(judged())
    agreed = codes(judged((9, 10), (4, 12), observers="ab"))
    assert not {"one_observer", "observers_disagree"} & set(agreed)
    apart = "".join(f"g{at},g,web,{'yes' if at > 6 else 'no'},,b\n" for at in range(12))
    told = codes(judged((9, 10), (4, 12), more=apart))
    assert "Cohen's kappa" in told["observers_disagree"]
    assert "Old blocks were seen half and half" in told["tied_blocks"]
    assert "(g0, g1, " in told["tied_blocks"]
    one_grade = codes(judged((10, 10), (12, 12), observers="ab"))
    assert "one grade" in one_grade["agreement_unknown"]


def test_beyond_the_exact_test_the_score_test_answers(judged: Judge) -> None:
    """Against statsmodels' score test, which needs no exact sum."""
    verdict = judged((60, 100), (40, 100))
    assert verdict.method == "score test of two shares"
    witness = score_test_proportions_2indep(60, 100, 40, 100, 0.0, compare="diff", correction=False)
    assert verdict.p_value == pytest.approx(witness[1], rel=1e-6)
    check = judged((9, 10), (4, 12)).checks[0]
    assert check.name.startswith("score test")
    assert not check.binding


def test_the_verdict_is_written_out_in_json(judged: Judge) -> None:
    found = judged((9, 10), (4, 12)).to_json()
    assert found["unit"] == "share"
    assert found["degrees_of_freedom"] is None
    assert replace(judged((9, 10), (4, 12))).to_json() == found


def test_a_test_asked_for_by_name_decides_and_is_named(judged: Judge) -> None:
    verdict = judged((9, 10), (4, 12), analysis="fisher")
    assert (verdict.analysis, verdict.method) == ("fisher", "Fisher's exact test of two shares")
    assert "asks for this test by name" in verdict.analysis_reason
    other = judged((9, 10), (4, 12), analysis="score_test")
    assert other.p_value < verdict.p_value
    graded = judged(
        (9, 10), (4, 12), words=("rough", "smooth"), quantity="gallery", figure="share_below",
        threshold=2, analysis="fisher",
    )  # fmt: skip
    assert graded.p_value == pytest.approx(verdict.p_value)
    refused = judged((9, 10), (4, 12), analysis="welch")
    assert not refused.has_numbers
    assert refused.warnings[0].code == "analysis_does_not_fit"
