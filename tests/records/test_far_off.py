from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy.stats import median_abs_deviation

from workbench.records.far_off import far_off, far_off_notices
from workbench.records.intake import Records, read_records
from workbench.records.settings import Settings, load_settings

HEAD = "block,family,bore,quantity,value,unit,sampling\n"
Study = Callable[[str], tuple[Records, Settings]]


@pytest.fixture
def study(tmp_path: Path) -> Study:
    def made(rows: str) -> tuple[Records, Settings]:
        (tmp_path / "study.toml").write_text('title = "x"\n')
        (tmp_path / "readings.csv").write_text(HEAD + rows)
        settings = load_settings(tmp_path)
        return read_records(tmp_path, settings), settings

    return made


def walls(values: list[str], unit: str = "mm") -> str:
    return "".join(f"B{at},f,1,wall_thickness,{v},{unit},grid\n" for at, v in enumerate(values))


@pytest.mark.parametrize(
    ("slip", "unit", "block"),
    [("46.1", "mm", "B99"), ("0.46", "mm", "B99"), ("4.61", "cm", "B99"), ("4.61", "in", "B99")],
)
def test_a_slip_of_mark_or_unit_is_told_with_its_place(
    study: Study, slip: str, unit: str, block: str
) -> None:
    rng = np.random.default_rng(1)
    rows = walls([f"{v:.2f}" for v in rng.normal(4.6, 0.2, 40)])
    records, settings = study(f"{rows}{block},f,2,wall_thickness,{slip},{unit},grid\n")
    (notice,) = far_off_notices(records.cells, settings.quantities)
    assert notice.code == "far_off"
    assert f"{block} 2 (" in notice.sentence
    assert records.rejected == 0


def test_nothing_is_told_of_thin_spots_and_few_readings(study: Study) -> None:
    rng = np.random.default_rng(2)
    sound = [f"{v:.2f}" for v in rng.normal(4.6, 0.3, 40)]
    records, settings = study(walls([*sound, "1.60", "9.90"]))
    assert far_off(records.cells, settings.quantities) == ()
    records, settings = study(walls(["4.60"] * 8 + ["46.00"]))
    assert far_off(records.cells, settings.quantities) == ()


def test_a_place_hunted_for_may_be_that_thin(study: Study) -> None:
    rows = walls([f"{4.5 + at % 5 / 10:.1f}" for at in range(40)])
    rows += "B3,f,1,wall_thickness,0.9,mm,search\n"
    records, settings = study(rows)
    assert far_off(records.cells, settings.quantities) == ()
    records, settings = study(rows.replace(",search\n", ",grid\n"))
    assert len(far_off(records.cells, settings.quantities)) == 1


def test_the_rule_is_that_of_the_median_deviation(study: Study) -> None:
    """Held to scipy's `median_abs_deviation`, one reading a cell."""
    rng = np.random.default_rng(3)
    values = np.round(rng.lognormal(1.5, 0.5, 301), 2)
    values[:4] = (400.0, 90.0, 0.02, 30.0)
    records, settings = study(walls([f"{v:.2f}" for v in values]))
    (found,) = far_off(records.cells, settings.quantities)
    middle, spread = np.median(values), median_abs_deviation(values, scale="normal")
    away = np.abs(values - middle) > 10 * spread
    expected = values[away & ((values > 3 * middle) | (values < middle / 3))]
    assert found.middle == pytest.approx(middle)
    assert sorted(found.furthest) == pytest.approx(sorted(expected))
    assert len(expected) >= 2


def test_a_change_of_unit_changes_nothing(study: Study) -> None:
    """One inch is 25.4 mm (exact; NIST SP 811)."""
    values = [4.0 + at % 7 / 10 for at in range(30)] + [50.0]
    in_mm, settings = study(walls([f"{v:.1f}" for v in values]))
    in_inch, _ = study(walls([f"{v / 25.4:.6f}" for v in values], "in"))
    (one,), (other,) = (far_off(r.cells, settings.quantities) for r in (in_mm, in_inch))
    assert other.middle == pytest.approx(one.middle, rel=1e-4)
    assert list(other.cells["block"]) == list(one.cells["block"]) == ["B30"]
    assert isinstance(one.cells, pd.DataFrame)
