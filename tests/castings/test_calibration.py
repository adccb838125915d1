"""All calibrations of a study: a faulty one is named with its row, and touches no other."""

from __future__ import annotations

import pandas as pd
import pytest

from tests.castings.conftest import rows
from workbench.records.calibration_table import StatedCalibration

SOUND = rows([(5, 5.4), (10, 10.6)], name="C0", piece="P")
SPEED = StatedCalibration(gauge="ug1", method="speed", set_speed=5920, true_speed=4600)


@pytest.mark.parametrize(
    ("part", "stated", "column", "code", "row"),
    [
        (rows([(5, 5.4), (5, 5.5)]), None, "calibration", "one_reference", 4),
        (rows([(5, 5.4)]), StatedCalibration(method="line"), "calibration", "one_reference", 4),
        (rows([(5, 10.6), (10, 5.4)]), None, "calibration", "slope_not_positive", 4),
        (rows([(5, 5.4), (10, 5.4)]), None, "calibration", "slope_not_positive", 4),
        (
            rows([(5, 5.4), (10, 10.6)]).assign(gauge=["ug1", "ug2"]),
            None,
            "gauge",
            "two_gauges",
            5,
        ),
        (
            rows([(5, 5.4), (5, 5.5), (9, 9.6)]).assign(reference_uncertainty=[0.01, 0.02, 0.01]),
            None,
            "calibration",
            "bad_uncertainty",
            4,
        ),
        (
            rows([(5, 5.4), (10, 10.6)]).assign(unit=["mm", "HB"]),
            None,
            "calibration",
            "unit_mismatch",
            4,
        ),
        (
            rows([(5, 5.4), (10, 10.6)]),
            StatedCalibration(method="ratio"),
            "calibration",
            "several_references",
            4,
        ),
    ],
)
def test_each_fault_at_its_row_and_the_rest_fitted(fit, part, stated, column, code, row) -> None:  # type: ignore[no-untyped-def]
    found = fit(SOUND, part, stated={"C1": stated} if stated else {})
    (fault,) = found.faults
    assert (fault.file, fault.row, fault.column, fault.code) == (
        "calibrations.csv",
        row,
        column,
        code,
    )
    assert found.by_name["C1"].line is None
    assert found.why_not("C1", "ug1", "mm") == fault.sentence
    assert found.line_for("C0", "ug1", "mm").corrected(8.0) == pytest.approx(7.5)


@pytest.mark.parametrize(
    ("stated", "key", "code"),
    [
        (StatedCalibration(gauge="ug2"), "calibrations.C1.gauge", "two_gauges"),
        (SPEED, "calibrations.C1.method", "two_methods"),
        (StatedCalibration(pair_of="C7"), "calibrations.C1.pair_of", "unknown_calibration"),
    ],
)
def test_each_fault_of_what_is_stated_at_its_key(fit, stated, key, code) -> None:  # type: ignore[no-untyped-def]
    (fault,) = fit(SOUND, rows([(5, 5.4), (10, 10.6)]), stated={"C1": stated}).faults
    assert (fault.file, fault.row, fault.column, fault.code) == ("study.toml", None, key, code)


@pytest.mark.parametrize(
    ("stated", "key", "code"),
    [
        (StatedCalibration(gauge="ug1"), "calibrations.C1", "no_reference_readings"),
        (SPEED.model_copy(update={"gauge": None}), "calibrations.C1.gauge", "missing_key"),
    ],
)
def test_each_fault_of_a_calibration_without_rows(fit, stated, key, code) -> None:  # type: ignore[no-untyped-def]
    (fault,) = fit(SOUND, stated={"C1": stated}).faults
    assert (fault.file, fault.column, fault.code) == ("study.toml", key, code)


def test_a_known_speed_needs_no_rows(fit) -> None:  # type: ignore[no-untyped-def]
    found = fit(stated={"S": SPEED})
    assert found.faults == ()
    assert found.line_for("S", "ug1", "in").corrected(1.0) == pytest.approx(4600 / 5920)


def test_the_line_is_given_in_the_unit_asked_for(fit) -> None:  # type: ignore[no-untyped-def]
    found = fit(SOUND)
    assert found.line_for("C0", "ug1", "in").corrected(8.0 / 25.4) == pytest.approx(7.5 / 25.4)


@pytest.mark.parametrize(
    ("name", "gauge", "unit", "why"),
    [
        ("C9", "ug1", "mm", "not among the calibrations"),
        ("C0", "ug2", "mm", "one of ug1, and the readings are by ug2"),
        ("C0", "ug1", "HB", "made in mm, and the readings are in HB"),
    ],
)
def test_why_readings_are_not_corrected(fit, name, gauge, unit, why) -> None:  # type: ignore[no-untyped-def]
    found = fit(SOUND)
    assert found.line_for(name, gauge, unit) is None
    assert why in found.why_not(name, gauge, unit)


def test_a_reading_that_names_its_calibration_need_not_name_the_gauge(fit) -> None:  # type: ignore[no-untyped-def]
    assert fit(SOUND).line_for("C0", "", "mm") is not None


def test_no_calibrations_at_all(fit) -> None:  # type: ignore[no-untyped-def]
    found = fit()
    assert (dict(found.by_name), found.faults) == ({}, ())


def test_rows_of_two_calibrations_may_alternate(fit) -> None:  # type: ignore[no-untyped-def]
    other = rows([(5, 5.0), (10, 10.0)], name="C1")
    mixed = pd.concat([SOUND, other]).iloc[[0, 2, 1, 3]]
    found = fit(mixed)
    assert found.by_name["C0"].line.slope == pytest.approx(1.04)
    assert found.by_name["C1"].line.slope == pytest.approx(1.0)
