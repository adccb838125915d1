"""What speaks against a calibration is found where it is planted, and seldom where it is not."""

from __future__ import annotations

import numpy as np
import pytest

from tests.castings.conftest import rows
from workbench.castings.calibration_findings import ALARM
from workbench.records.calibration_table import StatedCalibration

STEPS = (3.0, 6.0, 10.0, 15.0, 20.0)


def codes(calibrations, name: str = "C1") -> set[str]:  # type: ignore[no-untyped-def]
    assert calibrations.faults == ()
    return {finding.code for finding in calibrations.by_name[name].findings}


def read(generator: np.random.Generator, *, bend: float = 0.0, shift: float = 0.0):  # type: ignore[no-untyped-def]
    """Read every step twice: 1.05 times the step, a bend in the middle, noise, rounded."""
    pairs = []
    for step in STEPS * 2:
        curve = bend * (1 - ((step - 11.5) / 8.5) ** 2)
        shown = 0.2 + shift + 1.05 * step + curve + 0.02 * generator.standard_normal()
        pairs.append((step, round(shown, 2)))
    return pairs


def test_a_straight_calibration_in_order_has_no_finding(fit) -> None:  # type: ignore[no-untyped-def]
    assert codes(fit(rows(read(np.random.default_rng(1)), u=0.01))) == set()


def test_alarms_are_as_seldom_as_stated(fit) -> None:  # type: ignore[no-untyped-def]
    """Of 400 straight ones about 4 are due to raise each alarm; 12 or more hardly ever (0.1 %)."""
    generator = np.random.default_rng(20261125)
    parts = [rows(read(generator), name=f"C{at}", u=0.005) for at in range(400)]
    found = fit(*parts).by_name.values()
    for code in ("bent_calibration", "odd_reference_reading"):
        alarms = sum(code in {f.code for f in one.findings} for one in found)
        assert alarms < 12, code
    assert ALARM == 0.01


def test_a_bend_is_found(fit) -> None:  # type: ignore[no-untyped-def]
    generator = np.random.default_rng(3)
    assert "bent_calibration" in codes(fit(rows(read(generator, bend=0.2))))
    once = [(x, round(0.2 + 1.05 * x + 0.004 * x**2, 2)) for x in (2, 4, 6, 8, 10, 14, 18)]
    assert "bent_calibration" in codes(fit(rows(once)))


def test_a_bend_that_the_pieces_may_make_is_none(fit) -> None:  # type: ignore[no-untyped-def]
    pairs = read(np.random.default_rng(3), bend=0.2)
    assert "bent_calibration" not in codes(fit(rows(pairs, u=0.2)))


def test_an_odd_reading_is_found_and_named(fit) -> None:  # type: ignore[no-untyped-def]
    pairs = read(np.random.default_rng(4))
    pairs[6] = (6.0, 6.92)  # 6.5 for a slip of the pen
    found = fit(rows(pairs, u=0.01)).by_name["C1"].findings
    (odd,) = [finding for finding in found if finding.code == "odd_reference_reading"]
    assert "6.92 mm on the piece of 6 mm" in odd.sentence


def test_an_odd_reading_of_one_step_is_none(fit) -> None:  # type: ignore[no-untyped-def]
    pairs = [(x, x) for x in STEPS * 2]
    pairs[2] = (10.0, 10.01)
    assert "odd_reference_reading" not in codes(fit(rows(pairs, u=0.01)))


@pytest.mark.parametrize(("shift", "found"), [(0.0, False), (0.2, True)])
def test_drift_between_two_calibrations(fit, shift, found) -> None:  # type: ignore[no-untyped-def]
    generator = np.random.default_rng(5)
    before, after = (
        rows(read(generator, shift=by), name=name, u=0.05, piece="step piece")
        for name, by in (("C1", 0.0), ("C2", shift))
    )
    stated = {"C2": StatedCalibration(pair_of="C1")}
    assert ("calibration_drift" in codes(fit(before, after, stated=stated))) == found
    inches = after.assign(unit="in")
    inches[["reference", "indicated", "reference_uncertainty"]] /= 25.4
    assert ("calibration_drift" in codes(fit(before, inches, stated=stated))) == found


@pytest.mark.parametrize(("shift", "found"), [(0.0, False), (0.2, True)])
def test_drift_between_the_parts_of_one(fit, shift, found) -> None:  # type: ignore[no-untyped-def]
    generator = np.random.default_rng(6)
    pairs = [*read(generator), *read(generator, shift=shift)]
    part = ["before"] * 10 + ["after"] * 10
    calibrations = fit(rows(pairs, u=0.05).assign(part=part))
    assert ("calibration_drift" in codes(calibrations)) == found
    if found:
        (drift,) = [f for f in calibrations.by_name["C1"].findings if f.code == "calibration_drift"]
        assert "0.1" in drift.sentence  # 0.2 shown is 0.19 of iron
        assert "less after than before" in drift.sentence


@pytest.mark.parametrize(
    ("frame", "stated", "expected"),
    [
        (rows([(5, 5.4)], u=0.01), None, {"one_piece_calibration", "calibration_not_repeated"}),
        (rows([(5, 5.4), (5, 5.41)], u=0.01, piece="P"), None, {"one_piece_calibration"}),
        (
            rows([(5, 5.4), (5, 5.41)], u=0.01, piece="P"),
            StatedCalibration(zero_uncertainty=0.05, unit="mm"),
            set(),
        ),
        (rows([(5, 5.4), (10, 10.6)], u=0.01), None, {"calibration_not_repeated"}),
        (rows([(5, 5.4), (10, 10.6), (15, 15.81)], u=0.01), None, set()),
        (
            rows([(5, 5.4), (10, 10.6), (15, 15.81)], u=float("nan")),
            None,
            {"reference_taken_as_exact"},
        ),
    ],
)
def test_what_is_taken_on_trust(fit, frame, stated, expected) -> None:  # type: ignore[no-untyped-def]
    assert codes(fit(frame, stated={"C1": stated} if stated else {})) == expected


@pytest.mark.parametrize(
    ("set_speed", "shown", "unlikely"),
    [(5920, 12.87, False), (5920, 10.0, True), (4600, 10.0, False), (5920, 20.0, True)],
)
def test_a_speed_unlike_iron(fit, set_speed, shown, unlikely) -> None:  # type: ignore[no-untyped-def]
    """A piece of 10 mm shows 10 times set over true speed."""
    stated = StatedCalibration(set_speed=set_speed)
    found = codes(fit(rows([(10, shown)], u=0.01), stated={"C1": stated}))
    assert ("unlikely_speed" in found) == unlikely


def test_a_stated_speed_unlike_iron(fit) -> None:  # type: ignore[no-untyped-def]
    stated = StatedCalibration(
        gauge="ug1", method="speed", set_speed=0.2330, true_speed=0.2330, speed_unit="in/us"
    )
    (finding,) = fit(stated={"C1": stated}).by_name["C1"].findings
    assert "5918 m/s" in finding.sentence


def test_a_slope_the_pieces_do_not_tell_is_said_so(fit) -> None:  # type: ignore[no-untyped-def]
    """Two pieces d apart, each read n times: u(b) / b is s sqrt(2 / n) / (b d), worked by hand.

    Readings 0.1 mm up and down about 5 and 5.3 (b = 1, d = 0.3): s is 0.14, the mean of two
    readings has s / sqrt 2 = 0.1, so u(b) is 0.1 sqrt 2 / 0.3 = 0.47. About 5 and 15 they tell it.
    """
    near = [(at, at + up) for at in (5.0, 5.3) for up in (0.1, -0.1)]
    (found,) = [
        finding
        for finding in fit(rows(near, u=0.0)).by_name["C1"].findings
        if finding.code == "slope_hardly_known"
    ]
    assert "the slope (1.00) is known to 47% only" in found.sentence
    far = [(at, at + up) for at in (5.0, 15.0) for up in (0.1, -0.1)]
    assert "slope_hardly_known" not in codes(fit(rows(far, u=0.0)))
