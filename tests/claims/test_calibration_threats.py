"""Warnings on how readings were calibrated: what triggers each, and what it says."""

import pandas as pd
import pytest

from workbench.records.calibration_table import StatedCalibration
from workbench.records.settings import Settings, built_in_quantities


def warned(verdict):
    return {threat.code: threat.text for threat in verdict.warnings}


@pytest.fixture
def ask(lab):
    """Judge two families of readings, with calibrations by name for each family."""

    def asked(ours="C1", others="C1", lines=(), *, means=(12.0, 11.0), **fields):
        cells = lab.cells(
            lab.readings("trophy", means[0], blocks=8, seed=4, calibration=ours),
            lab.readings("works", means[1], blocks=8, seed=4, calibration=others),
        )
        given = {"calibrations": pd.concat(lines)} if lines else {}
        return lab.verdict(cells, given=given, **fields)

    return asked


def state(lab, **tables):
    lab.settings = Settings(
        title="Invented",
        quantities=built_in_quantities(),
        gauges=lab.settings.gauges,
        calibrations=tables,
    )


def test_readings_without_calibration(lab, ask):
    text = warned(ask("", ""))["uncorrected_readings"]
    assert text.startswith("64 of 64 readings were made without a usable calibration")
    assert "(0.05 mm for ug1)" in text
    half = warned(ask("C1", "", [lab.calibration("C1")]))["uncorrected_readings"]
    assert half.startswith("32 of 64 readings")
    lab.settings = Settings(title="Invented", quantities=built_in_quantities())
    assert "The uncertainty the study states" not in warned(ask("", ""))["uncorrected_readings"]


@pytest.mark.parametrize(
    ("name", "line", "why"),
    [
        ("C9", {}, "“C9”: it is not among the calibrations of the study"),
        ("C1", {"gauge": "ug2"}, "one of ug2, and the readings are by ug1"),
        ("C1", {"slope": -1.0, "zero": 30.0}, "must rise with the reference"),
    ],
)
def test_a_calibration_that_cannot_be_used(lab, ask, name, line, why):
    found = warned(ask(name, name, [lab.calibration("C1", **line)]))
    assert why in found["calibration_unusable"]
    assert "stand as shown, 64 of 64 readings" in found["calibration_unusable"]
    assert "uncorrected_readings" in found


def test_one_piece(lab, ask):
    line = lab.calibration("C1", pieces=(20.0,), piece="P")
    assert "taken on trust" in warned(ask(lines=[line]))["one_piece_calibration"]
    state(lab, C1=StatedCalibration(zero_uncertainty=0.05, unit="mm"))
    assert "one_piece_calibration" not in warned(ask(lines=[line]))


def test_what_only_says_how_an_uncertainty_was_made_is_left_to_the_check(lab, ask):
    line = lab.calibration("C1").iloc[[0, 3]].assign(reference_uncertainty=float("nan"))
    assert warned(ask(lines=[line])) == {}


def test_extrapolated(lab, ask):
    text = warned(ask(lines=[lab.calibration("C1", pieces=(5.0, 8.0, 11.5))]))["extrapolated"]
    assert "of 64 readings" in text
    assert "(“C1”)" in text
    assert "extrapolated" not in warned(ask(lines=[lab.calibration("C1")]))


def test_a_calibration_each_with_the_bias_that_would_overturn(lab, ask):
    lines = [lab.calibration("C1", u=0.05), lab.calibration("C2", u=0.05, material="steel")]
    verdict = ask("C1", "C2", lines)
    text = warned(verdict)["calibration_each"]
    assert verdict.outcome == "supported"
    assert "errors do not cancel" in text
    bias = float(text.split("further bias of ")[1].split(" mm")[0])
    assert bias == pytest.approx(verdict.low, abs=0.01)  # the nearer end, from a margin of 0
    open_claim = ask("C1", "C2", lines, margin=1.0)
    assert open_claim.outcome == "unresolved"
    assert "overturn" not in warned(open_claim)["calibration_each"]
    assert "calibration_each" not in warned(ask(lines=lines))


def test_calibration_dominates(lab, ask):
    lines = [lab.calibration("C1", u=0.8), lab.calibration("C2", u=0.8, material="steel")]
    text = warned(ask("C1", "C2", lines))["calibration_dominates"]
    assert "% of the variance of the difference" in text
    assert "piece " in text
    assert "calibration_dominates" not in warned(ask(lines=[lab.calibration("C1")]))


def test_findings_of_the_calibrations_used_are_repeated_and_no_others(lab, ask):
    bent = lab.calibration("C1")
    bent["indicated"] += 0.01 * (bent["reference"] - 12.5) ** 2
    found = warned(ask(lines=[bent, lab.calibration("C2")]))
    assert found["bent_calibration"].startswith("Of the calibrations of these readings: “C1” ")
    assert "bent_calibration" not in warned(ask("C2", "C2", [bent, lab.calibration("C2")]))


def test_drift_and_speed(lab, ask):
    state(
        lab,
        C1=StatedCalibration(set_speed=9000.0),
        C2=StatedCalibration(pair_of="C1"),
    )
    found = warned(ask(lines=[lab.calibration("C1"), lab.calibration("C2", zero=0.3)]))
    assert "drifted" in found["calibration_drift"]
    assert "would be 900" in found["unlikely_speed"]


def test_monte_carlo_parts_where_a_slope_is_poorly_known(lab, ask):
    state(
        lab,
        S=StatedCalibration(
            gauge="ug1", method="speed", set_speed=5900, true_speed=4600, speed_uncertainty=900
        ),
        T=StatedCalibration(
            gauge="ug1", method="speed", set_speed=5900, true_speed=4600, speed_uncertainty=10
        ),
    )
    text = warned(ask("S", "S", means=(20.0, 11.0)))["monte_carlo_parts"]
    assert "Monte Carlo" in text
    assert "monte_carlo_parts" not in warned(ask("T", "T", means=(20.0, 11.0)))
    again = warned(ask("S", "S", means=(20.0, 11.0)))["monte_carlo_parts"]
    assert again == text  # the seed alone drives the draws
