"""How readings sit with the model: what stands out, likely block means, spreads by family."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy.stats import norm

from workbench.claims.model_checks import family_spreads, model_checks


def blocks(seed: int, *, spread=(0.2, 0.2), many=(6, 8), readings: int = 4) -> pd.DataFrame:
    generator = np.random.default_rng(seed)
    rows = [
        (family, f"{family[0]}{block}", round(level + generator.normal(0, 0.1), 3))
        for family, sd, count in zip(("trophy", "works"), spread, many, strict=True)
        for block in range(count)
        for level in [10 + generator.normal(0, sd)]
        for _ in range(readings)
    ]
    return pd.DataFrame(rows, columns=["family", "block", "value"])


def analysis(lab, table: pd.DataFrame, **fields):
    return lab.analysis(lab.cells(table, step=0.001), lab.claim(**fields))


def test_likely_means_are_drawn_in_by_the_textbook_share(lab) -> None:
    """Balanced: kept = 1 - (mean square of readings) / (mean square of blocks), in closed form."""
    table = blocks(1, many=(8, 8))
    found = model_checks(analysis(lab, table, analysis="common_spreads"))
    groups = table.groupby(["family", "block"])["value"]
    means, within = groups.mean(), groups.var(ddof=1).mean()
    between = 4 * means.groupby("family").var(ddof=1).mean()
    assert len(found.predicted) == 16
    for one in found.predicted:
        family, _, block = one.block.partition("\x1f")
        own, level = means[family, block], means[family].mean()
        assert one.kept == pytest.approx(1 - within / between, rel=1e-5)
        assert one.own_mean == pytest.approx(own)
        assert one.estimate == pytest.approx(level + one.kept * (own - level))


def test_a_planted_reading_stands_out_and_nothing_else(lab) -> None:
    table = blocks(2)
    clean = model_checks(analysis(lab, table))
    assert [of.level for of in clean.levels] == ["block", "residual"]
    assert clean.levels[0].outstanding().empty
    at = table.index[table["block"] == "w3"]
    planted = table.copy()
    planted.loc[at, "value"] += 3.0
    found = model_checks(analysis(lab, planted)).levels[0]
    assert found.outstanding()["block"].tolist() == ["works\x1fw3"]
    largest = found.normality()
    assert largest.largest_p == pytest.approx(2 * 14 * norm.sf(largest.largest))


def test_one_number_a_block_leaves_nothing_to_check(lab) -> None:
    table = blocks(3, readings=1)
    assert model_checks(analysis(lab, table)).levels == ()
    assert model_checks(analysis(lab, table)).predicted == ()
    told = family_spreads(analysis(lab, table), 0.95, seed=1)
    assert not told.deviations
    assert "one number a block" in told.told


def test_spreads_of_each_family_are_those_of_its_mean_squares(lab) -> None:
    table = blocks(4, spread=(0.1, 0.5), many=(9, 12))
    found = family_spreads(analysis(lab, table), 0.95, seed=1)
    groups = table.groupby(["family", "block"])["value"]
    means, within = groups.mean(), groups.var(ddof=1)
    for place, family in enumerate(("trophy", "works")):
        residual = within[family].mean()
        block = means[family].var(ddof=1) - residual / 4
        assert found.deviations["residual"][place] == pytest.approx(residual**0.5, rel=1e-4)
        assert found.deviations["block"][place] == pytest.approx(block**0.5, rel=1e-4)
    assert found.ratios["block"].high < 1
    assert "All spreads alike at every level: p = 0.0" in found.told


def test_swapped_families_turn_the_ratio_over_and_inches_change_nothing(lab) -> None:
    table = blocks(6)
    swapped = {"candidate": "works", "reference": "trophy"}
    found, other, inch = (
        family_spreads(analysis(lab, table, **fields), 0.95, seed=1)
        for fields in ({}, swapped, {"unit": "in"})
    )
    one, turned = found.ratios["block"], other.ratios["block"]
    assert turned.estimate == pytest.approx(1 / one.estimate, rel=1e-6)
    assert turned.low == pytest.approx(1 / one.high, rel=1e-4)
    assert turned.high == pytest.approx(1 / one.low, rel=1e-4)
    assert inch.ratios["block"].low == pytest.approx(one.low, rel=1e-4)


def test_one_block_of_a_family_has_no_spread_and_says_so(lab) -> None:
    found = family_spreads(analysis(lab, blocks(7, many=(1, 8))), 0.95, seed=1)
    assert not found.ratios
    assert "has one block" in found.told
