import pandas as pd
import pytest

from workbench.castings.inspection import inspect_study
from workbench.errors import Refusal
from workbench.records.settings import Settings, built_in_quantities

CELL = {
    "family": "works", "block": "W01", "bore": "1", "station": "front", "depth": "top",
    "quantity": "wall_thickness", "unit": "mm", "gauge": "ug1", "calibration": "", "operator": "",
    "sampling": "grid", "contact": "good", "step": 0.01, "n": 1, "s1": 450, "s2": 450**2,
    "kmin": 450, "kmax": 450,
}  # fmt: skip


def cells(*rows) -> pd.DataFrame:
    return pd.DataFrame([{**CELL, **row} for row in rows])


def hardness(unit, k) -> dict[str, object]:
    return {
        "quantity": "hardness", "unit": unit, "step": 1.0,
        "s1": k, "s2": k * k, "kmin": k, "kmax": k,
    }  # fmt: skip


def test_each_quantity_comes_in_its_own_unit(settings) -> None:
    found = inspect_study(
        cells(
            *({"station": name} for name in ("front", "thrust", "rear", "counter")),
            hardness("HB", 204),
            {"quantity": "mass", "unit": "lb", "s1": 9000, "s2": 9000**2, "kmin": 1, "kmax": 1},
        ),
        settings,
    )
    assert {name: places.unit for name, places in found.places.items()} == {
        "wall_thickness": "mm",
        "hardness": "HB",
        "mass": "kg",
    }
    assert found.of("mass").places["mean"].tolist() == pytest.approx([90 * 0.45359237])
    assert found.family("W01") == "works"
    assert len(found.core_shifts().bores) == 1


def test_what_cannot_be_gathered_says_why_and_leaves_the_rest(settings) -> None:
    found = inspect_study(cells({}, hardness("HB", 204), hardness("HRB", 95)), settings)
    assert list(found.places) == ["wall_thickness"]
    with pytest.raises(Refusal, match="hardness scales"):
        found.of("hardness")
    with pytest.raises(Refusal, match="no reading of deck thickness"):
        found.of("deck_thickness")
    with pytest.raises(Refusal, match="block “X”"):
        found.family("X")


def test_no_walls_and_no_angles_leave_no_shift() -> None:
    bare = Settings(title="Invented", quantities=built_in_quantities())
    with pytest.raises(Refusal, match="No wall was read"):
        inspect_study(cells(hardness("HB", 204)), bare).core_shifts()
    with pytest.raises(Refusal, match="name the stations"):
        inspect_study(cells({}), bare).core_shifts()
