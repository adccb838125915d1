"""Where the spread comes from: the nested model on a study's readings."""

from __future__ import annotations

from pathlib import Path

import pytest

from workbench.article.spread import spread_of, spread_table
from workbench.errors import Refusal
from workbench.study import open_study


def test_one_reading_a_block_is_one_level_named_as_both(small_study: Path) -> None:
    """Masses 41, 42, 43 and 44, 45: pooled variance (2 + 0.5) / 3 within families."""
    study = open_study(small_study)
    table = spread_table(study.records, study.settings, "mass")
    assert [row[0] for row in table.rows] == ["blocks of a family and readings of one place"]
    assert table.rows[0][1].startswith("0.91 (")
    assert table.rows[0][2] == "100%"
    assert "5 blocks, 5 readings" in table.note


@pytest.mark.parametrize("slope", [1.0, 1.25])
def test_balanced_readings_give_the_classical_components(small_study: Path, slope: float) -> None:
    """Balanced one-way layout, mean squares by hand: REML equals them (Searle et al. 1992, 4.5).

    Blocks 10.0 10.2 | 10.8 11.0 | 11.6 11.8 of one family: within 0.02, between 2 x 0.64 = 1.28,
    so the block variance is (1.28 - 0.02) / 2 = 0.63. A calibration undoes a gauge that shows
    them larger by `slope`.
    """
    rows = [
        f"{block},works,length,{value * slope:.4f},mm,ug1,C1"
        for block, values in (("a", (10.0, 10.2)), ("b", (10.8, 11.0)), ("c", (11.6, 11.8)))
        for value in values
    ]
    (small_study / "readings.csv").write_text(
        "\n".join(["block,family,quantity,value,unit,gauge,calibration", *rows]) + "\n",
        encoding="utf-8",
    )
    (small_study / "calibrations.csv").write_text(
        f"calibration,gauge,reference,indicated,unit\nC1,ug1,8,{8 * slope},mm\n"
    )
    study = open_study(small_study)
    fit = spread_of(study.records, study.settings, "length", study.calibrations).fit
    assert fit.variance_components == pytest.approx({"block": 0.63, "residual": 0.02}, rel=1e-4)


def test_a_refusal_becomes_a_note(small_study: Path) -> None:
    study = open_study(small_study)
    with pytest.raises(Refusal):
        spread_of(study.records, study.settings, "wall_thickness", study.calibrations)
    table = spread_table(study.records, study.settings, "wall_thickness")
    assert table.rows == ()
    assert table.note.startswith("The spread is not split:")
