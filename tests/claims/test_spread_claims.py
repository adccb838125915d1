"""Claims on spread: the F test and its relatives as witnesses, swap, units, refusals, scopes."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from workbench.records.settings import Gauge

MEDIAN = "distances from the median (Brown and Forsythe)"


@pytest.fixture
def parts(lab):
    """Give two families, the reference varying three times as much."""
    return (
        lab.readings("trophy", 12, blocks=12, between=0.1, bore_spread=0.01, within=0.01),
        lab.readings("works", 12, blocks=16, between=0.3, bore_spread=0.01, within=0.01),
    )


def means_of(table):
    rounded = table.assign(value=table["value"].round(2))
    return rounded.groupby("block")["value"].mean().to_numpy()


def test_at_margin_zero_it_is_the_f_test_of_block_means(lab, parts):
    """Balanced readings: block means are plain means, and p is that of the ratio of variances."""
    ours, others = (means_of(part) for part in parts)
    verdict = lab.verdict(lab.cells(*parts), figure="spread", direction="less")
    assert verdict.estimate == pytest.approx(ours.std(ddof=1) - others.std(ddof=1), abs=1e-9)
    # neither family looks heavy-tailed here, so the degrees of freedom are those of the F test
    pooled = np.concatenate([ours - ours.mean(), others - others.mean()])
    assert stats.kurtosis(pooled, fisher=False) < 3 or verdict.method.endswith("Shoemaker")
    if not verdict.method.endswith("Shoemaker"):
        f = ours.var(ddof=1) / others.var(ddof=1)
        p = 2 * min(stats.f.cdf(f, 11, 15), stats.f.sf(f, 11, 15))
        assert verdict.p_value == pytest.approx(p, rel=1e-3)
    assert verdict.outcome == "supported"
    assert verdict.unit == "mm"
    assert "From block to block the mean deck thickness varies" in verdict.sentence


def test_the_check_by_distances_is_brown_and_forsythe(lab, parts):
    verdict = lab.verdict(lab.cells(*parts), figure="spread", direction="different")
    check = next(check for check in verdict.checks if check.name == MEDIAN)
    known = stats.levene(*(means_of(part) for part in parts), center="median")
    assert check.p_value == pytest.approx(known.pvalue, rel=1e-6)


def test_swapped_families_turn_the_sign_and_keep_p(lab, parts):
    cells = lab.cells(*parts)
    plain = lab.verdict(cells, figure="spread", direction="different")
    turned = lab.verdict(
        cells, figure="spread", direction="different", candidate="works", reference="trophy"
    )
    assert turned.estimate == pytest.approx(-plain.estimate)
    assert turned.p_value == pytest.approx(plain.p_value)
    assert (turned.low, turned.high) == pytest.approx((-plain.high, -plain.low))


def test_inches_change_nothing(lab, parts):
    plain = lab.verdict(lab.cells(*parts), figure="spread", direction="less", margin=0.05)
    inches = lab.verdict(
        lab.cells(*parts), figure="spread", direction="less", margin=0.05 / 25.4, unit="in"
    )
    assert inches.p_value == pytest.approx(plain.p_value, rel=1e-6)
    assert inches.outcome == plain.outcome


@pytest.mark.parametrize("margin", [-0.3, -0.15, 0.0, 0.05, 0.3])
@pytest.mark.parametrize("direction", ["greater", "less", "same", "different"])
@pytest.mark.parametrize("scope", ["family", "block"])
def test_every_direction_agrees_with_its_interval(lab, parts, direction, margin, scope):
    if (direction == "same" and margin <= 0) or (direction == "different" and margin < 0):
        margin = 0.2
    verdict = lab.verdict(
        lab.cells(*parts), figure="spread", direction=direction, margin=margin, scope=scope
    )
    assert (verdict.outcome != "unresolved") == (verdict.deciding_p < 0.05)
    assert verdict.low < verdict.estimate < verdict.high


def test_the_blocks_measured_are_judged_by_the_error_of_reading(lab):
    parts = [
        lab.readings(name, 12, blocks=6, between=between, within=0.02, repeats=3)
        for name, between in (("trophy", 0.2), ("works", 0.5))
    ]
    family = lab.verdict(lab.cells(*parts), figure="spread", direction="less")
    block = lab.verdict(lab.cells(*parts), figure="spread", direction="less", scope="block")
    assert block.outcome == "supported"
    assert block.high - block.low < 0.2 * (family.high - family.low)
    assert "holds for these blocks alone" in block.sentence


def test_a_steady_error_of_a_gauge_leaves_the_spread_alone(lab, parts):
    """Each family by a gauge of its own, badly known: the means are lost, the spreads are not."""
    poor = {
        name: Gauge(kind="ultrasonic", resolution=0.01, unit="mm", uncertainty=5.0)
        for name in ("ug1", "ug2")
    }
    lab.settings = replace(lab.settings, gauges=poor)
    cells = lab.cells(parts[0].assign(gauge="ug1"), parts[1].assign(gauge="ug2"))
    verdict = lab.verdict(cells, figure="spread", direction="less")
    assert verdict.gauge_uncertainty == pytest.approx(0.0, abs=1e-6)
    assert verdict.outcome == "supported"
    codes = {threat.code for threat in verdict.warnings}
    assert "single_gauge_each" in codes
    assert lab.verdict(cells, direction="different").gauge_uncertainty > 5


def test_errors_that_differ_from_block_to_block_widen_it(lab):
    """Low blocks by one badly known gauge, high ones by another: their spread may be the gauges'.

    Nothing tells the gauges apart within a block, and the reference was read with a third.
    """
    ours = lab.readings("trophy", 12, blocks=8)
    means = ours.groupby("block")["value"].transform("mean")
    high = means > means.median()
    others = lab.readings("works", 12, blocks=8, gauge="ug3")
    known = lab.verdict(lab.cells(ours, others), figure="spread", direction="different")
    mixed = ours.assign(gauge=np.where(high, "ug1", "ug2"))
    wide = lab.verdict(lab.cells(mixed, others), figure="spread", direction="different")
    assert known.gauge_uncertainty == pytest.approx(0.0, abs=1e-9)
    assert wide.gauge_uncertainty > 0.02
    assert wide.high - wide.low > known.high - known.low


def test_scatter_of_reading_that_makes_the_spread_is_said(lab):
    """All the candidate's extra spread is scatter of its readings: the check takes it off."""
    ours = lab.readings(
        "trophy", 12, blocks=20, bores=1, stations=("front",), between=0.0, bore_spread=0.0,
        within=0.6, repeats=2,
    )  # fmt: skip
    others = lab.readings(
        "works", 12, blocks=20, bores=1, stations=("front",), between=0.05, bore_spread=0.0,
        within=0.02, repeats=2,
    )  # fmt: skip
    verdict = lab.verdict(lab.cells(ours, others), figure="spread")
    assert verdict.outcome == "supported"
    taken_off = next(c for c in verdict.checks if c.name == "error of reading taken off")
    assert taken_off.estimate < verdict.estimate


@pytest.mark.parametrize(
    ("blocks", "between", "code"),
    [(1, 0.2, "one_block_no_spread"), (4, 0.0, "no_block_spread")],
)
@pytest.mark.parametrize("scope", ["family", "block"])
def test_too_little_is_unresolved_for_a_reason_of_evidence(lab, blocks, between, code, scope):
    parts = (
        lab.readings("trophy", 12, blocks=blocks, between=between, bore_spread=0, within=0),
        lab.readings("works", 11, blocks=6),
    )
    verdict = lab.verdict(lab.cells(*parts), figure="spread", scope=scope)
    assert verdict.outcome == "unresolved"
    assert verdict.warnings[0].code == code
    assert math.isnan(verdict.estimate)
    assert verdict.next_step


def test_three_blocks_are_called_few_and_more_are_asked_for(lab):
    parts = (lab.readings("trophy", 12, blocks=3), lab.readings("works", 12, blocks=12))
    verdict = lab.verdict(lab.cells(*parts), figure="spread", direction="different")
    assert "few_blocks" in {threat.code for threat in verdict.warnings}
    assert "block" in verdict.next_step
    assert pd.notna(verdict.standard_error)
