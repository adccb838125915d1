"""What is said of calibrations that are no fault."""

from __future__ import annotations

from types import SimpleNamespace

import pandas as pd

from tests.castings.conftest import rows
from tests.castings.test_correction import cells
from workbench.castings.calibration_notices import calibration_notices


def said(calibrations, *parts: pd.DataFrame) -> dict[str, str]:  # type: ignore[no-untyped-def]
    records = SimpleNamespace(cells=pd.concat(parts or [cells(1).iloc[:0]]))
    return {n.code: n.sentence for n in calibration_notices(calibrations, records)}  # type: ignore[arg-type]


def test_readings_beyond_the_pieces_are_counted(fit) -> None:  # type: ignore[no-untyped-def]
    calibrations = fit(rows([(5, 5.4), (10, 10.6)], u=0.01))
    inside = cells(540, 600)
    found = said(calibrations, inside, cells(500, 500), cells(1200, block="B2"))
    sentence = found["calibration_range"]
    assert sentence.startswith("“C1”: 3 of 5 readings")
    assert "5.4 to 10.6 mm" in sentence
    assert "furthest 12 mm" in sentence
    assert "calibration_range" not in said(calibrations, inside)


def test_readings_in_another_unit_are_held_against_the_same_range(fit) -> None:  # type: ignore[no-untyped-def]
    calibrations = fit(rows([(5, 5.4), (10, 10.6)], u=0.01))
    found = said(calibrations, cells(400, 420, unit="in", step=0.001))
    assert found["calibration_range"].startswith("“C1”: 2 of 2 readings")


def test_one_finding_names_all_its_calibrations(fit) -> None:  # type: ignore[no-untyped-def]
    pair = [(5, 5.4), (10, 10.6)]
    found = said(fit(rows(pair, u=0.01), rows(pair, name="C2", u=0.01)))
    assert list(found) == ["calibration_not_repeated"]
    assert found["calibration_not_repeated"].startswith("“C1”, “C2”: nothing was read again")


def test_nothing_to_say_without_calibrations(fit) -> None:  # type: ignore[no-untyped-def]
    assert said(fit(), cells(540)) == {}
