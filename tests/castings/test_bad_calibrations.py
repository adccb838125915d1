"""Bad calibrations through `workbench check`: a fault with its row, and the rest still answered."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from workbench.cli import main

STUDY = """title = "Invented"
[gauges.ug1]
kind = "ultrasonic"
resolution = 0.01
unit = "mm"
uncertainty = 0.05
"""
CLAIMS = """[[claim]]
id = "deck"
statement = "The trophy deck is more than 1 mm thicker."
quantity = "deck_thickness"
candidate = "trophy"
reference = "works"
direction = "greater"
margin = 1.0
unit = "mm"
"""
HEADER = "calibration,gauge,material,reference,indicated,unit,reference_uncertainty\n"
SOUND = "C1,ug1,iron,5.00,5.40,mm,0.01\nC1,ug1,iron,15.00,15.80,mm,0.01\n"


def readings(gauge: str = "ug1", calibration: str = "C1") -> str:
    """Give six blocks of each family, trophy 2 mm thicker, each read twice."""
    lines = ["block,family,quantity,value,unit,gauge,calibration"]
    for family, mean in (("works", 10.0), ("trophy", 12.0)):
        for block in range(6):
            for repeat in range(2):
                value = mean + 0.1 * block + 0.01 * repeat
                lines.append(
                    f"{family[0]}{block},{family},deck_thickness,{value:.2f},mm,{gauge},{calibration}"
                )
    return "\n".join(lines) + "\n"


@pytest.fixture
def study(tmp_path: Path) -> Path:
    (tmp_path / "study.toml").write_text(STUDY)
    (tmp_path / "claims.toml").write_text(CLAIMS)
    (tmp_path / "readings.csv").write_text(readings())
    (tmp_path / "calibrations.csv").write_text(HEADER + SOUND)
    return tmp_path


def run(*arguments: object) -> Result:
    return CliRunner(env={"COLUMNS": "200"}).invoke(main, [str(word) for word in arguments])


def test_a_sound_study_has_no_fault(study: Path) -> None:
    done = run("check", study)
    assert (done.exit_code, "No faults." in done.output) == (0, True)


@pytest.mark.parametrize(
    ("rows", "row", "code"),
    [
        ("C2,ug1,iron,5.00,5.40,mm,\nC2,ug1,iron,5.00,5.41,mm,\n", 4, "one_reference"),
        ("C2,ug1,iron,5.00,15.40,mm,\nC2,ug1,iron,15.00,5.41,mm,\n", 4, "slope_not_positive"),
        ("C2,ug1,iron,5.00,5.40,,\n", 4, "missing"),
        ("C2,ug1,iron,5.00,0,mm,\nC2,ug1,iron,15.00,15.41,mm,\n", 4, "indicated_not_positive"),
        ("C2,ug1,iron,5.00,5.40,mm,\nC2,ug7,iron,15.00,15.41,mm,\n", 5, "two_gauges"),
    ],
)
def test_each_is_a_fault_with_its_row_and_the_rest_is_answered(
    study: Path, rows: str, row: int, code: str
) -> None:
    (study / "calibrations.csv").write_text(HEADER + SOUND + rows)
    done = run("check", study)
    assert done.exit_code == 1
    said = " ".join(done.output.split())
    assert f"calibrations.csv, row {row}," in said
    assert f"[{code}]" in said
    assert "Faults (1)" in said
    (verdict,) = json.loads(run("judge", study, "--json").output)["verdicts"]
    assert verdict["outcome"] == "supported"


def test_a_table_without_units_is_a_fault_and_readings_are_answered_uncorrected(
    study: Path,
) -> None:
    (study / "calibrations.csv").write_text("calibration,gauge,reference,indicated\nC1,ug1,5,5.4\n")
    done = run("check", study)
    assert done.exit_code == 1
    assert "calibrations.csv" in done.output
    (verdict,) = json.loads(run("judge", study, "--json").output)["verdicts"]
    assert verdict["outcome"] == "supported"


def test_a_gauge_named_in_readings_and_nowhere_else(study: Path) -> None:
    lines = readings().splitlines()
    lines[3] = lines[3].replace("ug1", "ug9")
    (study / "readings.csv").write_text("\n".join(lines) + "\n")
    done = run("check", study)
    assert done.exit_code == 1
    said = " ".join(done.output.split())
    assert "readings.csv, row 4, gauge:" in said
    assert "[unknown_gauge]" in said
    assert "24 rows in = 23 accepted + 1 rejected" in said
    (verdict,) = json.loads(run("judge", study, "--json").output)["verdicts"]
    assert (verdict["outcome"], verdict["reference_readings"]) == ("supported", 11)


def test_a_study_that_names_no_gauge_may_read_with_any(study: Path) -> None:
    (study / "study.toml").write_text('title = "Invented"\n')
    (study / "calibrations.csv").unlink()
    (study / "readings.csv").write_text(readings(gauge="ug9", calibration=""))
    assert run("check", study).exit_code == 0


def test_a_gauge_known_by_its_calibration_alone_is_known(study: Path) -> None:
    (study / "study.toml").write_text('title = "Invented"\n')
    assert run("check", study).exit_code == 0


def test_what_is_no_fault_is_noticed(study: Path) -> None:
    (study / "calibrations.csv").write_text(
        HEADER + "C1,ug1,iron,5.00,5.40,mm,0.01\nC1,ug1,iron,10.00,10.60,mm,0.01\n"
        "C3,ug1,iron,5.00,5.40,mm,0.01\n"
    )
    done = run("check", study)
    assert done.exit_code == 0
    for code in (
        "calibration_range",
        "calibration_not_repeated",
        "one_piece_calibration",
        "calibration_unused",
    ):
        assert f"[{code}]" in done.output, code
