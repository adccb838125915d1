"""Rows of calibrations.csv that cannot be used: each named with its place, the rest read."""

from __future__ import annotations

from pathlib import Path

import pytest

READINGS = "block,family,quantity,value,unit,gauge,calibration\nB1,works,mass,41.0,kg,,\n"
HEADER = "calibration,gauge,material,reference,indicated,unit,reference_uncertainty"
SOUND = {
    "calibration": "C1",
    "gauge": "ug1",
    "material": "iron",
    "reference": "5.00",
    "indicated": "5.40",
    "unit": "mm",
    "reference_uncertainty": "0.01",
}
GAUGES = '[gauges.ug1]\nunit = "mm"\nresolution = 0.01\n'


def rows(*changes: dict[str, str]) -> str:
    """Write rows that differ from a sound one in the cells given."""
    names = [*HEADER.split(","), "piece", "made_on", "part"]
    lines = [",".join(names)]
    for change in changes:
        given = SOUND | change
        lines.append(",".join(given.get(name, "") for name in names))
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize(
    ("column", "value", "code"),
    [
        ("calibration", "", "missing"),
        ("unit", "", "missing"),
        ("reference", "", "missing"),
        ("unit", "furlong", "unknown_unit"),
        ("unit", "HB", "unit_mismatch"),
        ("indicated", "0", "indicated_not_positive"),
        ("indicated", "-5.4", "indicated_not_positive"),
        ("reference", "0.00", "reference_not_positive"),
        ("reference", "five", "not_a_number"),
        ("reference_uncertainty", "-0.01", "negative"),
        ("part", "during", "unknown_part"),
    ],
)
def test_each_fault_at_its_place(read, folder: Path, column: str, value: str, code: str) -> None:  # type: ignore[no-untyped-def]
    (folder / "calibrations.csv").write_text(rows({}, {column: value}, {"reference": "10.00"}))
    records = read(READINGS, settings=GAUGES)
    (fault,) = records.faults
    assert (fault.file, fault.row, fault.column, fault.code) == (
        "calibrations.csv",
        3,
        column,
        code,
    )
    assert "{" not in fault.sentence
    assert records.calibrations["row"].tolist() == [2, 4]
    assert records.accepted == 1


def test_what_is_kept_of_a_row(read, folder: Path) -> None:  # type: ignore[no-untyped-def]
    (folder / "calibrations.csv").write_text(
        rows(
            {"unit": "Inches", "part": "Post", "piece": "block 5"},
            {"indicated": "5", "reference_uncertainty": "", "made_on": "2026-03-01"},
        )
    )
    first, second = read(READINGS).calibrations.to_dict("records")
    assert (first["unit"], first["part"], first["piece"]) == ("in", "after", "block 5")
    assert (first["reference"], first["indicated"], first["step"]) == (5.0, 5.4, 0.01)
    assert (second["step"], second["made_on"], second["part"]) == (1.0, "2026-03-01", "")
    assert second["reference_uncertainty"] != second["reference_uncertainty"]  # not given


def test_a_table_without_the_column_unit_is_a_fault_and_the_readings_stay(  # type: ignore[no-untyped-def]
    read, folder: Path
) -> None:
    (folder / "calibrations.csv").write_text(
        "calibration,gauge,reference,indicated\nC1,ug1,5.00,5.40\n"
    )
    records = read(READINGS)
    assert {("unit", "missing_column"), ("unit", "missing")} >= {
        (fault.column, fault.code) for fault in records.faults
    }
    assert records.fault_count > 0
    assert records.accepted == 1
    assert records.calibrations.empty
