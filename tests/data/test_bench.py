"""The bench study: as generated, its planted truth found, its numbers recomputed by other means."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path
from types import ModuleType

import numpy as np
import pandas as pd
import pytest
import statsmodels.formula.api as smf
from scipy.stats import norm, t
from statsmodels.stats.anova import anova_lm
from statsmodels.stats.inter_rater import aggregate_raters, fleiss_kappa

from workbench.castings.gauge_agreement import recorded_agreements
from workbench.castings.gauge_studies import recorded_studies
from workbench.castings.observers import feature_agreements
from workbench.castings.repeated_places import repeated_readings
from workbench.castings.struck_out import fates
from workbench.castings.study_budgets import study_budgets
from workbench.castings.walls_at_limits import walls_at_limits
from workbench.claims.judgement import Judgement
from workbench.claims.verdict import Verdict
from workbench.study import Study, open_study


@pytest.fixture(scope="module")
def study(shipped_study: Callable[[str], Study]) -> Study:
    return shipped_study("bench")


@pytest.fixture(scope="module")
def judgement(judged: Callable[[str], Judgement]) -> Judgement:
    return judged("bench")


@pytest.fixture(scope="module")
def rows(data: Path) -> pd.DataFrame:
    return pd.read_csv(data / "bench" / "readings.csv", dtype=str, keep_default_na=False)


def given(study: Study):  # type: ignore[no-untyped-def]
    return study.records, study.settings, study.calibrations


def verdict(judgement: Judgement, claim: str) -> Verdict:
    return next(found for found in judgement.verdicts if found.claim == claim)


def test_committed_files_are_the_generated_ones(data: Path, generate_bench: ModuleType) -> None:
    for name, text in generate_bench.files().items():
        assert (data / "bench" / name).read_text(encoding="utf-8") == text, name


def test_the_writer_writes_and_checks(
    tmp_path: Path, generate_bench: ModuleType, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(generate_bench, "FOLDER", tmp_path)
    monkeypatch.setattr(generate_bench, "files", cache(generate_bench.files))  # what is made stays
    monkeypatch.setattr("sys.argv", ["generate_bench.py"])
    assert generate_bench.main() == 0
    monkeypatch.setattr("sys.argv", ["generate_bench.py", "--check"])
    assert generate_bench.main() == 0
    (tmp_path / "blocks.csv").write_text("block\n")
    assert generate_bench.main() == 1


def test_the_faults_meant_are_found_and_no_row_is_lost(study: Study) -> None:
    assert [fault.code for fault in study.faults] == [
        "impression_ratio",
        "converted_scale",
        "unknown_grade",
    ]
    assert sum(fate.readings for fate in fates(*given(study))) == study.records.rows_in


def test_the_check_says_what_is_wrong_with_calibrations_and_impressions(study: Study) -> None:
    said = {notice.code: notice.sentence for notice in study.notices}
    assert "29 days before the last reading" in said["calibration_age"]
    assert "1 of 169 readings" in said["calibration_range"]
    assert "“works-steps”: drifted" in said["calibration_drift"]
    assert "are needed (ISO 6506-1, from memory)" in said["close_impressions"]
    assert {"censored_readings", "few_impressions", "correlation"} <= set(said)


@pytest.mark.parametrize(
    ("claim", "quantity", "pair", "outcome"),
    [
        ("walls-thicker", "wall_thickness", ("trophy", "works"), "supported"),
        ("harder", "hardness", ("trophy", "works"), "supported"),
        ("heavier", "mass", ("trophy", "works"), "supported"),
        ("trial-lighter", "mass", ("light_trial", "heavy_trial"), "supported"),
        ("has-the-web", "fourth_web", ("trophy", "works"), "supported"),
    ],
)
def test_what_is_planted_lies_in_the_interval(
    judgement: Judgement,
    generate_bench: ModuleType,
    claim: str,
    quantity: str,
    pair: tuple[str, str],
    outcome: str,
) -> None:
    found = verdict(judgement, claim)
    planted = generate_bench.TRUTH[quantity]
    assert found.outcome == outcome
    assert found.low <= planted[pair[0]] - planted[pair[1]] <= found.high


def test_two_single_blocks_by_hand(judgement: Judgement) -> None:
    """Read 39.2 and 39.6 kg, or what lies there; 0.05 kg each, stated: root of two times it."""
    found = verdict(judgement, "trial-lighter")
    u = 0.05 * math.sqrt(2)
    assert found.standard_error == pytest.approx(u)
    z = norm.ppf(0.975)
    assert (found.low, found.high) == pytest.approx(
        (found.estimate - z * u, found.estimate + z * u)
    )
    assert found.p_value == pytest.approx(2 * norm.sf((-0.2 - found.estimate) / u))


def pieces_of(data: Path, name: str) -> pd.DataFrame:
    table = pd.read_csv(data / "bench" / "calibrations.csv")
    return table[table["calibration"] == name]


def test_lines_ratios_speeds_and_warm_iron_by_other_means(study: Study, data: Path) -> None:
    lines = {name: found.line for name, found in study.calibrations.by_name.items()}
    steps = pieces_of(data, "works-steps")
    slope, zero = np.polyfit(steps["reference"], steps["indicated"], 1)
    assert lines["works-steps"].slope == pytest.approx(slope)
    assert lines["works-steps"].zero == pytest.approx(zero)
    own = pieces_of(data, "K03-piece")
    assert lines["K03-piece"].slope == pytest.approx(own["indicated"].mean() / 5.0)
    assert lines["L5-speed"].slope == pytest.approx(5920 / 4720)
    # 40 degrees at -0.0003 each: sound slower by 1.2 %, so the gauge shows more
    assert lines["K11-warm"].slope == pytest.approx(slope / (1 - 0.0003 * 40))
    assert lines["works-steps"].slope == pytest.approx(5920 / 4600, rel=0.003)  # as planted


def test_fiellers_limits_by_inverting_the_interval_of_a_new_reading(
    study: Study, data: Path
) -> None:
    """At either limit the interval of a new reading, written out here, just reaches what was shown.

    The scatter is that of readings within pieces: 10 readings on 5, so 5 degrees of freedom.
    """
    steps = pieces_of(data, "works-after")
    line = study.calibrations.by_name["works-after"].line
    assert line is not None
    shown = 7.5
    limits = replace(line, reference_errors=()).inverse(shown).interval(0.95)
    x, inner = steps["reference"].to_numpy(), steps.groupby("reference")["indicated"]
    squares = float(((steps["indicated"] - inner.transform("mean")) ** 2).sum())
    spread = float(((x - x.mean()) ** 2).sum())
    slope, zero = np.polyfit(x, steps["indicated"], 1)
    for end, side in ((limits.low, 1), (limits.high, -1)):
        error = math.sqrt(squares / 5 * (1 + 1 / len(x) + (end - x.mean()) ** 2 / spread))
        assert zero + slope * end + side * t.ppf(0.975, 5) * error == pytest.approx(shown)


def decks(rows: pd.DataFrame, study: Study) -> pd.DataFrame:
    mine = rows[rows["quantity"] == "deck_thickness"].copy()
    line = study.calibrations.by_name["works-steps"].line
    assert line is not None
    value = mine["value"].astype(float)
    corrected = (value - line.zero) / line.slope
    mine["value"] = value.where(mine["gauge"] == "ug4", corrected)
    mine["part"] = mine["block"] + mine["station"]
    return mine


def test_the_gauge_study_by_an_analysis_of_variance_of_statsmodels(
    study: Study, rows: pd.DataFrame
) -> None:
    """Ten places, three operators, two repeats; the interaction pooled, as the study says."""
    found = {
        (of.quantity, of.factor): of
        for of in recorded_studies(repeated_readings(*given(study)), study.settings)
    }
    over = found["deck_thickness", "operator"]
    assert over.study is not None
    assert over.held == "ug3"
    assert over.study.pooled
    mine = decks(rows, study)
    mine = mine[mine["gauge"] == "ug3"]
    table = anova_lm(smf.ols("value ~ C(part) + C(operator)", mine).fit())
    square = table["sum_sq"] / table["df"]
    assert over.study.sd("repeatability") == pytest.approx(math.sqrt(square["Residual"]))
    assert over.study.sd("operator") == pytest.approx(
        math.sqrt((square["C(operator)"] - square["Residual"]) / 20)
    )
    assert over.study.sd("part") == pytest.approx(
        math.sqrt((square["C(part)"] - square["Residual"]) / 6)
    )


def test_biases_of_operators_and_gauges_are_those_planted(
    study: Study, generate_bench: ModuleType
) -> None:
    habits = generate_bench.TRUTH["operator"]
    pairs = {
        (of.first, of.second): of
        for of in recorded_agreements(repeated_readings(*given(study)), study.settings)
        if of.quantity == "deck_thickness"
    }
    planted = {
        ("north", "south"): habits["north"] - habits["south"],
        ("east", "south"): habits["east"] - habits["south"],
        ("ug3", "ug4"): habits["north"] - generate_bench.TRUTH["ug4_bias"],
    }
    for pair, bias in planted.items():
        found = pairs[pair].found
        assert found is not None
        ends = found.bias.interval(0.99)
        assert ends.low <= bias <= ends.high
        assert not pairs[pair].together


def test_kappa_by_statsmodels(study: Study, rows: pd.DataFrame) -> None:
    for found in feature_agreements(study.records.cells, study.settings):
        mine = rows[(rows["quantity"] == found.quantity) & (rows["value"] != "glossy")]
        table, _ = aggregate_raters(
            mine.pivot_table(
                index="block", columns="operator", values="value", aggfunc="first"
            ).to_numpy()
        )
        assert found.kappa is not None
        assert found.kappa.estimate == pytest.approx(fleiss_kappa(table, "fleiss"))


def test_one_reading_by_the_law_of_propagation(study: Study) -> None:
    """K03: ratio of one piece. Each part of the budget again from its own formula."""
    one = study_budgets(*given(study)).budgets["wall_thickness"][0]
    assert "block K03" in one.label
    line = study.calibrations.by_name["K03-piece"].line
    assert line is not None
    x, shown_sd = one.value, 0.01 * math.sqrt(2)  # two readings 0.02 apart
    parts = {part.name: abs(part.contribution) for part in one.budget.components}
    assert parts["piece WS5, 5 mm"] == pytest.approx(x / 5 * 0.01)
    assert parts["zero of K03-piece"] == pytest.approx((1 - x / 5) / line.slope * 0.05)
    scatter = x / 5 * shown_sd / math.sqrt(2) / line.slope
    assert parts["scatter of K03-piece"] == pytest.approx(scatter)
    total = math.sqrt(sum(u**2 for u in parts.values()))
    assert one.budget.combined == pytest.approx(total)
    nu = total**4 / (parts["repeated readings by ug3"] ** 4 / 51 + scatter**4 / 1)
    assert one.budget.degrees_of_freedom == pytest.approx(nu)


def test_walls_at_the_limit_by_the_normal_and_t(study: Study) -> None:
    (held,) = walls_at_limits(*given(study))
    for block, _, found in held.blocks:
        u = found.measured.budget.combined
        nu = found.measured.budget.degrees_of_freedom
        below = float(t.cdf((4.0 - found.measured.value) / u, nu))
        assert found.risk == pytest.approx(below, abs=1e-9)
        if block == "K07":
            assert found.at_most
        expected = "conforming" if below <= 0.05 else "too_close"
        assert found.outcome == ("not_conforming" if below >= 0.95 else expected)


def test_the_same_in_inches_gives_the_same_verdicts(
    study: Study, judgement: Judgement, data: Path, tmp_path: Path, rows: pd.DataFrame
) -> None:
    """Thicknesses and pieces turned into inches, claims too; nothing but the unit may change."""
    for name in ("blocks.csv", "correlations.csv", "study.toml"):
        text = (data / "bench" / name).read_text(encoding="utf-8")
        (tmp_path / name).write_text(text, encoding="utf-8")
    thick = rows["quantity"].isin(["wall_thickness", "deck_thickness"])
    number = rows["value"].str.lstrip("<")
    inches = [
        f"{'<' if v.startswith('<') else ''}{float(n) / 25.4:.9f}" if is_thick else v
        for v, n, is_thick in zip(rows["value"], number, thick, strict=True)
    ]
    moved = rows.assign(value=inches, unit=rows["unit"].where(~thick, "in"))
    moved.to_csv(tmp_path / "readings.csv", index=False)
    pieces = pd.read_csv(data / "bench" / "calibrations.csv", keep_default_na=False)
    numbers = ["reference", "indicated", "reference_uncertainty"]
    pieces[numbers] = (pieces[numbers] / 25.4).round(12)
    pieces.assign(unit="in").to_csv(tmp_path / "calibrations.csv", index=False)
    claims = (data / "bench" / "claims.toml").read_text(encoding="utf-8")
    for old, new in (
        ('unit = "mm"', 'unit = "in"'),
        ('margin = 0.2\nunit = "in"', f'margin = {0.2 / 25.4!r}\nunit = "in"'),
        ("threshold = 4.0", f"threshold = {4 / 25.4!r}"),
    ):
        claims = claims.replace(old, new)
    (tmp_path / "claims.toml").write_text(claims, encoding="utf-8")
    for here in open_study(tmp_path).judge(seed=1).verdicts:
        there = verdict(judgement, here.claim)
        assert here.outcome == there.outcome
        scale = 25.4 if here.unit == "in" else 1.0
        assert here.estimate * scale == pytest.approx(there.estimate, rel=1e-4, abs=1e-4)
        assert here.low * scale == pytest.approx(there.low, rel=0.02, abs=2e-3)
