"""`[calibrations.NAME]` of study.toml: what it may hold, and each slip with its key."""

from __future__ import annotations

from pathlib import Path

import pytest

from workbench.records.calibration_table import StatedCalibration, Temperature
from workbench.records.faults import FaultsError
from workbench.records.settings import load_settings

FULL = """
title = "x"
[calibrations.C1]
gauge = "ug1"
method = "speed"
set_speed = 0.2331
true_speed = 0.1811
speed_uncertainty = 0.002
speed_unit = "in/us"
zero_uncertainty = 0.02
unit = "millimetres"
[calibrations.C1.temperature]
coefficient = -0.0001
calibrated_at = 20
read_at = 5
uncertainty = 1
[calibrations.C2]
pair_of = "C1"
"""


def test_all_it_may_hold(folder: Path) -> None:
    (folder / "study.toml").write_text(FULL)
    stated = load_settings(folder).calibrations
    assert stated["C1"].unit == "mm"
    assert stated["C1"].true_speed == 0.1811
    assert stated["C2"] == StatedCalibration(pair_of="C1")
    temperature = stated["C1"].temperature
    assert temperature is not None
    assert temperature.change == pytest.approx(1.0015)


def test_speeds_in_metres_a_second() -> None:
    """An inch is 25.4 mm, so 0.2330 in a microsecond are 5918.2 m/s; 5.918 mm in one are 5918."""
    inches = StatedCalibration(speed_unit="in/us")
    assert inches.metres_per_second(0.2330) == pytest.approx(5918.2)
    assert StatedCalibration(speed_unit="mm/us").metres_per_second(5.918) == pytest.approx(5918)
    assert StatedCalibration().metres_per_second(5918) == 5918


def test_no_coefficient_is_ever_assumed() -> None:
    with pytest.raises(ValueError, match="coefficient"):
        Temperature(calibrated_at=20, read_at=5)  # type: ignore[call-arg]


@pytest.mark.parametrize(
    ("text", "key", "code", "sentence"),
    [
        ("method = 'guess'", "C.method", "bad_value", "'ratio', 'line' or 'speed'"),
        ("methd = 'line'", "C.methd", "unknown_key", "did you mean “method”"),
        ("method = 'speed'", "C.set_speed", "missing_key", "needs “set_speed”"),
        ("method = 'speed'", "C.true_speed", "missing_key", "needs “true_speed”"),
        ("true_speed = 4600", "C.true_speed", "bad_value", "only with method"),
        ("speed_uncertainty = 50", "C.speed_uncertainty", "bad_value", "belongs to method"),
        ("set_speed = 0", "C.set_speed", "bad_value", "greater than 0"),
        ("zero_uncertainty = 0.1", "C.unit", "missing_key", "needs the “unit”"),
        ("zero_uncertainty = -1", "C.zero_uncertainty", "bad_value", "or equal to 0"),
        (
            "method = 'line'\nzero_uncertainty = 0.1\nunit = 'mm'",
            "C.zero_uncertainty",
            "bad_value",
            "finds its zero",
        ),
        ("pair_of = 'C'", "C.pair_of", "bad_value", "with itself"),
        (
            "temperature = {calibrated_at = 20, read_at = 5}",
            "C.temperature.coefficient",
            "missing_key",
            "required",
        ),
        (
            "temperature = {coefficient = -0.5, calibrated_at = 20, read_at = 5}",
            "C.temperature.coefficient",
            "bad_value",
            "greater than -0.002",
        ),
        (
            "temperature = {coefficient = 0.0, calibrated_at = 20, read_at = 5, kelvin = true}",
            "C.temperature.kelvin",
            "unknown_key",
            "no key",
        ),
    ],
)
def test_each_fault(folder: Path, text: str, key: str, code: str, sentence: str) -> None:
    (folder / "study.toml").write_text(f'title = "x"\n[calibrations.C]\n{text}\n')
    with pytest.raises(FaultsError) as caught:
        load_settings(folder)
    found = {fault.column: fault for fault in caught.value.faults}
    assert found[f"calibrations.{key}"].code == code
    assert sentence in found[f"calibrations.{key}"].sentence
