from __future__ import annotations

from pathlib import Path

import pytest

from workbench.records.faults import FaultsError
from workbench.records.quantity_table import Quantity
from workbench.records.settings import load_settings


@pytest.mark.parametrize(
    ("table", "key", "code"),
    [
        ('kind = "feature"\nunit = "mm"', "unit", "bad_value"),
        ('kind = "feature"\nlevels = ["a", "A"]', "levels", "bad_value"),
        ('kind = "feature"\nlevels = ["a"]', "levels", "bad_value"),
        ('unit = "mm"\nlevels = ["a", "b"]', "levels", "bad_value"),
        ('label = "x"', "unit", "missing_key"),
    ],
)
def test_slips_are_named_by_their_key(folder: Path, table: str, key: str, code: str) -> None:
    (folder / "study.toml").write_text(f'title = "x"\n[quantities.own]\n{table}\n')
    with pytest.raises(FaultsError) as raised:
        load_settings(folder)
    found = [(fault.column, fault.code) for fault in raised.value.faults]
    assert found == [(f"quantities.own.{key}", code)]


def test_a_feature_of_two_levels_is_yes_or_no_by_its_own_words() -> None:
    smooth = Quantity(
        name="gallery", label="gallery", unit="share", kind="feature", levels=("rough", "smooth")
    )
    assert smooth.yes_no
    assert [smooth.grade(word) for word in ("rough", "Smooth", "1", "yes")] == [0, 1, 1, None]
