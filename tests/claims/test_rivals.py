"""Analyses asked for by name: each against the library that makes it, and the error they share."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from workbench.claims.rivals import METHODS, OF_MEANS
from workbench.errors import Refusal

STATED = 0.05  # standard uncertainty of either gauge


def readings(seed: int, *, many=(11, 14), apart: float = 0.2, operators: int = 0) -> pd.DataFrame:
    generator = np.random.default_rng(seed)
    rows = [
        (family, f"{family[0]}{block}", str(bore), round(at + generator.normal(0, 0.05), 3))
        for family, count, level in zip(("trophy", "works"), many, (apart, 0.0), strict=True)
        for block in range(count)
        for mean in [10 + level + generator.normal(0, 0.2)]
        for bore in range(3)
        for at in [mean + generator.normal(0, 0.1)]
        for _ in range(2)
    ]
    table = pd.DataFrame(rows, columns=["family", "block", "bore", "value"])
    if operators:
        table["operator"] = [f"o{generator.integers(operators)}" for _ in range(len(table))]
    return table


def means_of(table: pd.DataFrame) -> list[np.ndarray]:
    by_bore = table.groupby(["family", "block", "bore"])["value"].mean()
    by_block = by_bore.groupby(["family", "block"]).mean()
    return [by_block[family].to_numpy() for family in ("trophy", "works")]


def analysed(lab, table: pd.DataFrame, name: str, **fields):
    return lab.analysis(lab.cells(table, step=0.001), lab.claim(analysis=name, **fields))


def test_ranks_are_those_of_scipy(lab) -> None:
    for seed in range(4):
        table = readings(seed)
        found = analysed(lab, table, "ranks")
        expected = stats.mannwhitneyu(*means_of(table), method="exact")
        assert found.difference.p_value(0.0) == pytest.approx(expected.pvalue)
        assert found.difference.method == METHODS["ranks"]


def test_relative_effect_is_that_of_scipy(lab) -> None:
    for seed in range(4):
        table = readings(seed)
        ours, others = means_of(table)
        found = analysed(lab, table, "relative_effect").difference
        for margin in (0.0, 0.1, 0.25):
            expected = stats.brunnermunzel(others, ours - margin)
            assert found.p_value(margin) == pytest.approx(expected.pvalue, rel=1e-6)


def test_permutation_of_few_blocks_is_that_of_scipy(lab) -> None:
    table = readings(5, many=(4, 5))
    expected = stats.permutation_test(
        means_of(table),
        lambda a, b: a.mean() - b.mean(),
        n_resamples=np.inf,
        alternative="greater",
    )
    found = analysed(lab, table, "permutation").difference
    assert found.p_above(0.0) == pytest.approx(expected.pvalue)


@pytest.mark.parametrize("name", ["bootstrap", "bores_bootstrap"])
def test_drawing_comes_near_welch_and_bores_make_it_no_shorter(lab, name: str) -> None:
    table = readings(6, many=(30, 40))
    welch = stats.ttest_ind(*means_of(table), equal_var=False).confidence_interval(0.95)
    found = analysed(lab, table, name).difference.interval(0.95)
    assert (found.low, found.high) == pytest.approx((welch.low, welch.high), abs=0.03)


def test_operators_drawn_from_many_give_the_crossed_fit(lab) -> None:
    """Operators who do not differ change nothing; those who do are taken off the error."""
    table = readings(7, operators=8)
    plain = analysed(lab, table, "common_spreads").difference
    same = analysed(lab, table, "crossed").difference
    assert same.estimate == pytest.approx(plain.estimate, abs=0.01)
    assert same.standard_error == pytest.approx(plain.standard_error, rel=0.05)
    habit = {f"o{place}": 0.3 * place for place in range(8)}
    biased = table.assign(value=table["value"] + table["operator"].map(habit))
    crossed = analysed(lab, biased, "crossed")
    noisy = analysed(lab, biased, "common_spreads")
    assert crossed.difference.standard_error < 0.8 * noisy.difference.standard_error
    assert "crossed random effects" in crossed.difference.method


def test_few_operators_are_no_draw(lab) -> None:
    with pytest.raises(Refusal, match="needs 5 of them") as refusal:
        analysed(lab, readings(8, operators=3), "crossed")
    assert refusal.value.code == "analysis_does_not_fit"


def test_without_bores_there_are_none_to_draw(lab) -> None:
    with pytest.raises(Refusal, match="no bores are named"):
        analysed(lab, readings(9).drop(columns="bore"), "bores_bootstrap")


@pytest.mark.parametrize("name", OF_MEANS)
def test_p_agrees_with_the_interval_shared_error_and_all(lab, name: str) -> None:
    table = readings(10)
    table["gauge"] = np.where(table["family"] == "trophy", "ug1", "ug2")
    analysis = analysed(lab, table, name)
    assert analysis.shared.uncertainty == pytest.approx(STATED * 2**0.5)
    found, alone = analysis.difference, analysis.readings_only
    assert found.interval().low < alone.interval().low
    assert found.interval().high > alone.interval().high
    assert np.isnan(analysis.degrees_of_freedom)
    for margin in (-0.3, -0.1, 0.0, 0.1, 0.2, 0.35, 0.6):
        ends = found.interval(0.95)
        assert (ends.low <= margin <= ends.high) == (found.p_value(margin) >= 0.05)


@pytest.mark.parametrize("name", [name for name in OF_MEANS if "bootstrap" not in name])
def test_swapped_families_and_a_changed_unit(lab, name: str) -> None:
    table = readings(11)
    found = analysed(lab, table, name).difference
    swapped = analysed(lab, table, name, candidate="works", reference="trophy").difference
    inches = analysed(lab, table, name, unit="in").difference
    assert swapped.estimate == pytest.approx(-found.estimate)
    assert swapped.p_value(-0.1) == pytest.approx(found.p_value(0.1), abs=0.015)
    assert inches.interval().low * 25.4 == pytest.approx(found.interval().low, rel=1e-6)


@pytest.mark.parametrize(("name", "expected"), [("signed_ranks", stats.wilcoxon), ("signs", None)])
def test_places_of_blocks_measured_are_those_of_scipy(lab, name: str, expected) -> None:
    generator = np.random.default_rng(12)
    rows = [
        (family, f"{family}1", str(bore), station, round(level + generator.normal(0, 0.1), 2))
        for family, level in (("trophy", 5.08), ("works", 5.0))
        for bore in range(4)
        for station in ("front", "rear", "thrust")
        for _ in range(2)
    ]
    table = lab.table(rows, "family block bore station value")
    found = lab.analysis(lab.cells(table), lab.claim(scope="block", analysis=name))
    wide = table.pivot_table(index=["bore", "station"], columns="family", values="value")
    apart = (wide["trophy"] - wide["works"]).round(9).to_numpy()
    if expected is None:
        p_value = stats.permutation_test(
            (apart,), np.mean, permutation_type="samples", n_resamples=np.inf
        ).pvalue
    else:
        p_value = expected(apart, method="exact").pvalue
    assert found.readings_only.p_value() == pytest.approx(p_value, rel=1e-6)
    assert np.isnan(found.degrees_of_freedom)


def test_the_verdict_says_that_the_analysis_was_asked_for(lab) -> None:
    verdict = lab.verdict(lab.cells(readings(13), step=0.001), analysis="ranks")
    assert verdict.analysis == "ranks"
    assert verdict.analysis_reason.startswith("The claim asks for this analysis by name.")
    assert not [check for check in verdict.checks if check.name.startswith("ranks")]
    assert [check for check in verdict.checks if check.name.startswith("permutation")]
