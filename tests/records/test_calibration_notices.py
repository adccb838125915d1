"""Calibrations named and not listed, listed and not named, of another gauge or another day."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from workbench.records.store import Records

HEADER = "block,family,quantity,value,unit,gauge,calibration,measured_on\n"
CALIBRATIONS = "calibration,gauge,reference,indicated,unit,made_on\n"
DAYS = '[gauges.ug1]\nunit = "mm"\ncalibration_days = 30\n'
Reader = Callable[..., Records]


@pytest.fixture
def codes(read: Reader, folder: Path) -> Callable[..., dict[str, str]]:
    """Read the given rows of readings and calibrations; give the notices by code."""

    def reader(readings: list[str], calibrations: list[str], settings: str = "") -> dict[str, str]:
        rows = [f"B{at},works,wall_thickness,5.2,mm,{row}" for at, row in enumerate(readings)]
        (folder / "calibrations.csv").write_text(CALIBRATIONS + "\n".join(calibrations) + "\n")
        records = read(HEADER + "\n".join(rows) + "\n", settings=settings)
        assert records.fault_count == 0
        return {notice.code: notice.sentence for notice in records.notices}

    return reader


C1, C2 = "C1,ug1,5.00,5.40,mm,2026-03-01", "C2,ug2,5.00,5.40,mm,"


def test_readings_that_name_no_calibration_though_their_gauge_has_some(codes) -> None:  # type: ignore[no-untyped-def]
    found = codes(["ug1,C1,", "ug1,,", "ug1,,"], [C1])
    assert found["calibration_not_named"].startswith("2 readings by “ug1” name no calibration")


def test_nothing_is_said_of_a_study_without_calibrations(codes) -> None:  # type: ignore[no-untyped-def]
    assert set(codes(["ug1,,"], [])) == {"gauge_not_listed"}


def test_calibrations_missing_and_unused(codes) -> None:  # type: ignore[no-untyped-def]
    found = codes(["ug1,C3,", "ug2,C2,"], [C1, C2])
    assert "“C3”" in found["calibration_not_listed"]
    assert found["calibration_unused"].endswith("“C1”.")


def test_a_calibration_made_to_see_a_drift_is_not_unused(codes) -> None:  # type: ignore[no-untyped-def]
    found = codes(["ug1,C1,"], [C1, C2], '[calibrations.C2]\npair_of = "C1"\n')
    assert "calibration_unused" not in found


def test_a_calibration_known_by_its_speed_is_listed(codes) -> None:  # type: ignore[no-untyped-def]
    speed = '[calibrations.S]\ngauge = "ug1"\nmethod = "speed"\nset_speed = 5900\n'
    found = codes(["ug1,S,"], [], f"{speed}true_speed = 4600\n")
    assert "calibration_not_listed" not in found


def test_readings_under_a_calibration_of_another_gauge(codes) -> None:  # type: ignore[no-untyped-def]
    found = codes(["ug1,C1,", "ug2,C1,", "ug2,C2,"], [C1, C2])
    assert "1 reading by “ug2” names the calibration “C1”" in found["calibration_of_another"]


@pytest.mark.parametrize(
    ("days", "settings", "words"),
    [
        (["2026-03-01"], "", None),
        (["2026-03-01", "2026-03-11"], "", "10 days before the last reading"),
        (["2026-03-01", "2026-03-11"], DAYS, None),
        (["2026-03-01", "2026-03-31"], DAYS, None),
        (["2026-04-01T09:00"], DAYS, "31 days before .* hold for 30"),
        (["2026-02-27"], "", "after the first reading"),
        (["27/2/2026"], "", None),
    ],
)
def test_age(codes, days, settings, words) -> None:  # type: ignore[no-untyped-def]
    found = codes([f"ug1,C1,{day}" for day in days], [C1], settings).get("calibration_age")
    if words is None:
        assert found is None
    else:
        assert found is not None
        assert re.search(words, found)


def test_a_day_that_cannot_be_read_is_said_and_not_used(codes) -> None:  # type: ignore[no-untyped-def]
    found = codes(["ug1,C1,2027-01-01"], ["C1,ug1,5.00,5.40,mm,3/4/2026"])
    assert "YYYY-MM-DD in 1 rows" in found["date_not_read"]
    assert "calibration_age" not in found
