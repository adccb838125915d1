"""The line of one calibration: by ratio, by two pieces, by several, by a known speed."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.castings.conftest import rows
from workbench.castings.calibration_fit import line_of, piece_readings, speed_line, warmed
from workbench.errors import Refusal
from workbench.inference.measuring.calibration_fit import line
from workbench.inference.measuring.errors_in_variables import york
from workbench.records.calibration_table import StatedCalibration, Temperature
from workbench.records.settings import Gauge

UNSTATED = StatedCalibration()
FINE = Gauge(resolution=1e-6, unit="mm")
# NIST StRD linear regression, data set Norris (data and certified values from memory).
NORRIS = """0.2 0.1 337.4 338.8 118.2 118.1 884.6 888.0 10.1 9.2 226.5 228.1 666.3 668.5 996.3 998.5
448.6 449.1 777.0 778.9 558.2 559.2 0.4 0.3 0.6 0.1 775.5 778.1 666.9 668.8 338.0 339.3 447.5 448.9
11.6 10.8 556.0 557.7 228.1 228.3 995.8 998.0 887.6 888.8 120.2 119.6 0.3 0.3 0.3 0.6 556.8 557.6
339.1 339.3 887.2 888.0 999.0 998.5 779.0 778.9 11.1 10.2 118.3 117.6 229.2 228.9 669.1 668.4
448.9 449.2 0.5 0.2"""


def fitted(frame, stated=UNSTATED, gauge=FINE):  # type: ignore[no-untyped-def]
    return line_of(piece_readings("C1", frame, gauge), stated)


def test_several_pieces_against_norris() -> None:
    numbers = [float(word) for word in NORRIS.split()]
    pairs = list(zip(numbers[::2], numbers[1::2], strict=True))
    found = fitted(rows(pairs))
    assert found.zero == pytest.approx(-0.262323073774029, abs=1e-10)
    assert found.slope == pytest.approx(1.00211681802045, abs=1e-12)
    assert math.sqrt(found.covariance().slope) == pytest.approx(0.000429796848199937, abs=1e-14)


def test_one_piece_against_a_technical_manual() -> None:
    """TM 1-1500-335-23, 5.5.3.3 (a US manual): 0.167 in reads 0.133; 0.200 becomes 0.25 in."""
    found = fitted(rows([(0.167, 0.133)], unit="in"))
    assert (found.method, round(found.corrected(0.200), 2)) == ("ratio from one piece", 0.25)


def test_two_pieces_are_met_exactly() -> None:
    found = fitted(rows([(5, 5.4), (10, 10.6)]))
    assert (found.zero, found.slope) == (pytest.approx(0.2), pytest.approx(1.04))


def test_a_gauge_set_for_steel_reads_29_per_cent_thick_on_slow_iron() -> None:
    """5 920 m/s in steel and 4 600 m/s in the iron: common practice, no source."""
    found = speed_line(
        "S", StatedCalibration(gauge="ug1", method="speed", set_speed=5920, true_speed=4600)
    )
    assert found.indicated(10.0) == pytest.approx(12.87, abs=0.005)
    assert found.corrected(12.87) == pytest.approx(10.0, abs=0.005)


def test_the_uncertainty_of_a_speed_is_that_of_its_share() -> None:
    stated = StatedCalibration(
        gauge="g", method="speed", set_speed=5920, true_speed=4600, speed_uncertainty=46
    )
    assert speed_line("S", stated).shared_uncertainty(12.87) == pytest.approx(0.1, rel=1e-3)


@pytest.mark.parametrize("pairs", [[(5, 5.4)], [(5, 5.4), (10, 10.6)], [(5, 5.4), (5, 5.4)]])
def test_a_scatter_not_shown_is_that_of_a_step(pairs) -> None:  # type: ignore[no-untyped-def]
    """A uniform error of one step: JCGM 100, F.2.2.1."""
    found = fitted(rows(pairs, piece="P"), gauge=Gauge(resolution=0.1, unit="mm"))
    assert found.reading_sd == pytest.approx(0.1 / math.sqrt(12))
    assert found.degrees_of_freedom == math.inf


def test_repeats_show_the_scatter_and_its_degrees_of_freedom() -> None:
    pairs = [(5, 5.40), (5, 5.46), (10, 10.60), (10, 10.66)]
    found = fitted(rows(pairs, u=0.02))
    assert found.reading_sd == pytest.approx(np.sqrt(2 * 0.06**2 / 2 / 2))
    assert found.degrees_of_freedom == 2


def test_the_step_is_that_of_the_gauge_else_the_finest_written() -> None:
    frame = rows([(5, 5.4), (10, 10.65)]).assign(step=[0.1, 0.01])
    assert piece_readings("C", frame, None).step == 0.01
    assert piece_readings("C", frame, Gauge(resolution=0.001, unit="in")).step == pytest.approx(
        0.0254
    )


def test_pieces_of_uneven_uncertainty_are_weighed_by_it() -> None:
    """The same fit as York's on the means of the pieces (see `errors_in_variables`)."""
    pairs = [(2, 2.10), (2, 2.12), (6, 6.20), (6, 6.22), (10, 10.90), (10, 10.92)]
    u = np.array([0.01, 0.01, 0.01, 0.01, 0.5, 0.5])
    frame = rows(pairs).assign(reference_uncertainty=u)
    found = fitted(frame)
    sd = line([p[0] for p in pairs], [p[1] for p in pairs], reference_uncertainty=u).reading_sd
    assert sd is not None
    expected = york([2, 6, 10], [2.11, 6.21, 10.91], u[::2], sd / np.sqrt(2))
    assert (found.zero, found.slope) == (expected.intercept, expected.slope)
    assert found.slope == pytest.approx(1.025, abs=0.005)  # the doubtful piece hardly turns it
    assert {error.source for error in found.reference_errors} == {"tilt of C1", "shift of C1"}
    assert (found.low, found.high, found.readings) == (2.10, 10.92, 6)


def test_rows_in_inches_and_millimetres_make_one_line() -> None:
    metric = rows([(25.4, 26.4), (50.8, 51.9)])
    mixed = rows([(25.4, 26.4), (2.0, 51.9 / 25.4)]).assign(unit=["mm", "in"])
    one, other = fitted(metric), fitted(mixed)
    assert other.slope == pytest.approx(one.slope, rel=1e-12)
    assert other.zero == pytest.approx(one.zero, rel=1e-9)
    with pytest.raises(Refusal, match=r"cannot be turned into"):
        fitted(rows([(5, 5.4), (10, 10.6)]).assign(unit=["mm", "HB"]))


def test_a_piece_is_known_by_its_name_else_its_material() -> None:
    named = piece_readings("C1", rows([(5, 5.4)], piece="block 5"), None)
    by_iron = piece_readings("C1", rows([(5, 5.4)]), None)
    of_its_own = piece_readings("C1", rows([(5, 5.4)], material=""), None)
    assert named.pieces == ("piece block 5, 5 mm",)
    assert by_iron.pieces == ("piece iron, 5 mm",)
    assert of_its_own.pieces == ("piece of C1, 5 mm",)


def test_an_uncertainty_left_out_in_one_row_is_that_of_the_other_rows_of_its_piece() -> None:
    frame = rows([(5, 5.4), (5, 5.5), (10, 10.6)]).assign(
        reference_uncertainty=[0.02, math.nan, math.nan]
    )
    found = piece_readings("C1", frame, None)
    assert found.uncertainty.tolist() == [0.02, 0.02, 0.0]
    assert not found.uncertainty_stated


def test_one_reference_repeated_needs_a_word_that_a_ratio_is_meant() -> None:
    twice = rows([(5, 5.40), (5, 5.46)])
    with pytest.raises(Refusal, match=r"one reference only \(5 mm\), in 2 readings"):
        fitted(twice)
    with pytest.raises(Refusal, match=r"one reference only"):
        fitted(twice, StatedCalibration(method="line"))
    with pytest.raises(Refusal, match=r"one reference only"):
        fitted(twice.assign(piece=["P", "Q"]))
    by_word = fitted(twice, StatedCalibration(method="ratio"))
    assert by_word.slope == pytest.approx(5.43 / 5)
    assert fitted(twice.assign(piece="P")).slope == by_word.slope


def test_a_ratio_is_to_one_reference() -> None:
    with pytest.raises(Refusal, match=r"there are 2 of them"):
        fitted(rows([(5, 5.4), (10, 10.6)]), StatedCalibration(method="ratio"))


def test_a_zero_taken_on_trust_costs_its_uncertainty_away_from_the_piece() -> None:
    stated = StatedCalibration(zero_uncertainty=0.1, unit="mm")
    gauge = Gauge(resolution=0.01, unit="mm")
    found = fitted(rows([(5, 5.4)]), stated, gauge)
    trusted = fitted(rows([(5, 5.4)]), gauge=gauge)
    here, there = found.shared_uncertainty(5.4), found.shared_uncertainty(10.8)
    assert here == pytest.approx(trusted.shared_uncertainty(5.4))
    # a zero off by 0.1 turns the line about the piece: 0.1 at twice the distance
    assert there**2 - trusted.shared_uncertainty(10.8) ** 2 == pytest.approx((0.1 / 1.08) ** 2)
    inches = StatedCalibration(zero_uncertainty=0.1 / 25.4, unit="in")
    assert fitted(rows([(5, 5.4)]), inches, gauge).shared_uncertainty(10.8) == pytest.approx(there)
    with pytest.raises(Refusal, match=r"find the zero"):
        fitted(rows([(5, 5.4), (10, 10.6)]), stated)


def test_warm_iron_by_time_of_flight() -> None:
    """Sound slows by the coefficient a degree; the gauge turns time into length at one speed."""
    cold, coefficient, set_to = 4600.0, -0.0002, 5000.0
    temperature = Temperature(coefficient=coefficient, calibrated_at=20, read_at=45)
    warm = cold * (1 + coefficient * 25)
    shown_on_pieces = [(x, 0.1 + set_to * x / cold) for x in (5.0, 20.0)]
    found = fitted(rows(shown_on_pieces), StatedCalibration(temperature=temperature))
    assert found.corrected(0.1 + set_to * 12.0 / warm) == pytest.approx(12.0, rel=1e-12)


def test_the_uncertainty_of_a_temperature_is_the_slope_of_the_correction() -> None:
    made = fitted(rows([(5, 5.4), (20, 21)]))

    def value(read_at: float, coefficient: float = -0.0002, **more: float) -> float:
        warmth = Temperature(coefficient=coefficient, calibrated_at=20, read_at=read_at, **more)
        return warmed(made, "C1", warmth).corrected(12.0)

    warmth = Temperature(
        coefficient=-0.0002,
        calibrated_at=20,
        read_at=50,
        uncertainty=2.0,
        coefficient_uncertainty=1e-5,
    )
    found = warmed(made, "C1", warmth)
    by_degrees = value(50.01) - value(49.99)
    by_coefficient = value(50, -0.0002 + 1e-7) - value(50, -0.0002 - 1e-7)
    expected = math.hypot(by_degrees / 0.02 * 2.0, by_coefficient / 2e-7 * 1e-5)
    (error,) = [e for e in found.reference_errors if e.source == "temperature of C1"]
    assert abs(error.at(found.corrected(12.0))) / found.slope == pytest.approx(expected, rel=1e-6)


def test_without_a_coefficient_nothing_is_done_for_temperature() -> None:
    made = fitted(rows([(5, 5.4), (20, 21)]))
    assert warmed(made, "C1", None) is made
