"""Every verdict of the shipped studies, worked out a second time in R from their raw files.

The numbers stand in verdicts_demo.txt, verdicts_bench.txt and verdicts_figures.txt in the folder r,
printed by the scripts of those names: files read, faulty rows told, units turned and gauges
corrected anew; the nested model by written-out matrices and by lme4 with pbkrtest, rivals by
t.test, boot and counting.
"""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from workbench.claims.judgement import Judgement
from workbench.claims.verdict import Check, Verdict
from workbench.study import open_study

DATA = Path(__file__).parents[2] / "data"
FOLDER = Path(__file__).parent / "r"
FILES = ("verdicts_demo", "verdicts_bench", "verdicts_figures")
STUDIES = ("demo", "bench", "oxide", "growth", "mileage")
COLUMNS = ("estimate", "standard_error", "degrees_of_freedom", "low", "high", "p_value")


def printed() -> list[tuple[str, str, str, dict[str, float]]]:
    """Read study, claim, analysis and numbers; those R does not give are left out."""
    found = []
    for name in FILES:
        for line in (FOLDER / f"{name}.txt").read_text(encoding="utf-8").splitlines():
            if line.startswith("#"):
                continue
            study, claim, analysis, *words = line.split("|")
            numbers = dict(zip(COLUMNS, words, strict=True))
            known = {key: float(word) for key, word in numbers.items() if word != "NA"}
            found.append((study, claim, analysis, known))
    return found


ROWS = printed()


@pytest.fixture(scope="session")
def judgements() -> dict[str, Judgement]:
    return {name: open_study(DATA / name).judge(seed=1) for name in STUDIES}


def verdict_of(judgements: dict[str, Judgement], study: str, claim: str) -> Verdict:
    return next(v for v in judgements[study].verdicts if v.claim == claim)


def check_of(verdict: Verdict, name: str) -> Check:
    return next(check for check in verdict.checks if check.name == name)


def test_no_claim_is_left_out(judgements: dict[str, Judgement]) -> None:
    there = {(study, claim) for study, claim, *_ in ROWS}
    assert there == {
        (study, verdict.claim) for study in STUDIES for verdict in judgements[study].verdicts
    }


@pytest.mark.parametrize(
    ("study", "claim", "wanted"),
    [pytest.param(s, c, w, id=f"{s} {c}") for s, c, a, w in ROWS if a == "decides"],
)
def test_what_decides(
    judgements: dict[str, Judgement], study: str, claim: str, wanted: dict[str, float]
) -> None:
    verdict = verdict_of(judgements, study, claim)
    if verdict.quantity == "core_shift":  # R weighs the error of a shift by all places of its bore
        error = wanted["standard_error"]
        assert verdict.estimate == pytest.approx(wanted["estimate"], abs=0.03 * error)
        assert error == pytest.approx(verdict.standard_error, rel=0.02)
        assert verdict.p_value == pytest.approx(wanted["p_value"], rel=0.05)
        return
    for key, value in wanted.items():
        found = getattr(verdict, key)
        if math.isinf(value):
            assert math.isinf(found) or math.isnan(found)
        elif value:
            loose = 1e-3 if key in ("p_value", "degrees_of_freedom") else 3e-5
            assert found == pytest.approx(value, rel=loose, abs=1e-300), key


RIVALS = [row for row in ROWS if not row[2].startswith(("decides", "expected"))]


@pytest.mark.parametrize(
    ("study", "claim", "analysis", "wanted"),
    [pytest.param(*row, id=f"{row[0]} {row[1]}: {row[2]}") for row in RIVALS],
)
def test_what_stands_beside(
    judgements: dict[str, Judgement],
    study: str,
    claim: str,
    analysis: str,
    wanted: dict[str, float],
) -> None:
    verdict = verdict_of(judgements, study, claim)
    name = analysis.removesuffix(" (drawn)")
    drawn = name != analysis or "bootstrap" in name
    rough = drawn or verdict.quantity == "core_shift" or verdict.figure != "mean"
    found = check_of(verdict, name)
    error = (wanted["high"] - wanted["low"]) / 4 if "low" in wanted else wanted["estimate"]
    p = wanted.pop("p_value")
    for key, value in wanted.items():
        if key in ("estimate", "low", "high") and math.isfinite(value):
            near = 0.15 if drawn else 0.03 if rough else 2e-4
            assert getattr(found, key) == pytest.approx(value, abs=near * abs(error)), key
    if drawn:
        assert found.p_value == pytest.approx(p, abs=0.001 + 0.3 * p)
    else:
        loose = 0.15 if verdict.quantity == "core_shift" else 0.02 if rough else 2e-3
        assert found.p_value == pytest.approx(p, rel=loose)


@pytest.mark.parametrize(
    ("study", "claim", "wanted"),
    [pytest.param(s, c, w, id=c) for s, c, a, w in ROWS if a.startswith("decides (")],
)
def test_what_decides_by_draws_or_shares(
    judgements: dict[str, Judgement], study: str, claim: str, wanted: dict[str, float]
) -> None:
    """R leaves out what calibrations share here, a few thousandths of the error, or draws."""
    verdict = verdict_of(judgements, study, claim)
    error = verdict.standard_error
    assert verdict.estimate == pytest.approx(wanted["estimate"], abs=1e-6)
    for key in ("low", "high"):
        assert getattr(verdict, key) == pytest.approx(wanted[key], abs=0.03 * error), key
    assert verdict.p_value == pytest.approx(wanted["p_value"], rel=0.03)


@pytest.mark.parametrize(
    ("claim", "wanted"),
    [pytest.param(c, w, id=c) for _, c, a, w in ROWS if a.startswith("expected")],
)
def test_the_thinnest_place_expected(
    judgements: dict[str, Judgement], claim: str, wanted: dict[str, float]
) -> None:
    """Within four errors of simulated blocks, each family's error of reading taken off its own."""
    verdict = verdict_of(judgements, "demo", claim)
    near = 4 * wanted["standard_error"] + 0.001
    assert verdict.estimate == pytest.approx(wanted["estimate"], abs=near)
