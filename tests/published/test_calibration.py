"""Calibration lines against published fits and worked examples."""

import math

import numpy as np
import pytest

from workbench.inference.measuring.calibration_checks import curvature, lack_of_fit
from workbench.inference.measuring.calibration_fit import known_speed, line, ratio

# NIST StRD linear regression, data set Norris (certified values; data and digits from memory,
# the digits read again in public test files).
NORRIS_Y = """0.1 338.8 118.1 888.0 9.2 228.1 668.5 998.5 449.1 778.9 559.2 0.3 0.1 778.1 668.8
339.3 448.9 10.8 557.7 228.3 998.0 888.8 119.6 0.3 0.6 557.6 339.3 888.0 998.5 778.9 10.2 117.6
228.9
668.4 449.2 0.2"""
NORRIS_X = """0.2 337.4 118.2 884.6 10.1 226.5 666.3 996.3 448.6 777.0 558.2 0.4 0.6 775.5 666.9
338.0 447.5 11.6 556.0 228.1 995.8 887.6 120.2 0.3 0.3 556.8 339.1 887.2 999.0 779.0 11.1 118.3
229.2
669.1 448.9 0.5"""

# NIST/SEMATECH e-Handbook 2.3.6.7.3 and 2.3.7.1, CALIBRATIONLINE.DAT: optical line widths, five
# sets of readings on ten artefacts (four here), printed fit from memory.
WIDTHS = (6.19, 9.17, 1.99, 7.77, 4.00, 10.77, 4.78, 2.99, 6.98, 9.98) * 4
WIDTHS_SHOWN = """6.31 9.27 2.21 8.00 4.27 10.93 4.95 3.24 7.14 10.23 6.27 9.21 2.19 7.81 4.15 10.73
4.87 3.17 7.07 10.02 6.31 9.34 2.22 7.95 4.15 10.92 5.00 3.21 7.18 10.07 6.28 9.23 2.20 7.84 4.15
10.89 5.00 3.21 7.20 10.17"""

# Graybill & Iyer (1994), Regression Analysis, p. 434: weight of crystals against time.
CRYSTAL_HOURS = tuple(range(2, 30, 2))
CRYSTAL_GRAMS = (
    0.08, 1.12, 4.43, 4.98, 4.92, 7.18, 5.57, 8.40, 8.81, 10.81, 11.16, 10.12, 13.12, 15.04,
)  # fmt: skip


def numbers(text: str) -> list[float]:
    return [float(word) for word in text.split()]


def test_line_against_norris() -> None:
    fitted = line(numbers(NORRIS_X), numbers(NORRIS_Y))
    covariance = fitted.covariance()
    assert fitted.zero == pytest.approx(-0.262323073774029, abs=1e-10)
    assert fitted.slope == pytest.approx(1.00211681802045, abs=1e-12)
    assert math.sqrt(covariance.zero) == pytest.approx(0.232818234301152, abs=1e-11)
    assert math.sqrt(covariance.slope) == pytest.approx(0.000429796848199937, abs=1e-14)
    assert fitted.reading_sd == pytest.approx(0.884796396144373, abs=1e-11)


def test_line_against_nist_line_widths() -> None:
    fitted = line(WIDTHS, numbers(WIDTHS_SHOWN))
    assert fitted.zero == pytest.approx(0.2357, abs=1e-4)
    assert fitted.slope == pytest.approx(0.9870, abs=5e-5)
    assert fitted.reading_sd == pytest.approx(0.0620, abs=5e-5)
    assert fitted.degrees_of_freedom == 38
    assert fitted.pieces == 10


def test_line_against_thermometer_of_jcgm_100() -> None:
    """JCGM 100:2008 Annex H.3, Table H.6 (printed values from memory, data read in public code)."""
    degrees = np.array(
        [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
    )
    correction = [
        -0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160,
    ]  # fmt: skip
    fitted = line(degrees - 20, correction)
    covariance = fitted.covariance()
    assert fitted.zero == pytest.approx(-0.1712, abs=5e-5)
    assert fitted.slope == pytest.approx(0.00218, abs=5e-6)
    assert math.sqrt(covariance.zero) == pytest.approx(0.0029, abs=5e-5)
    assert math.sqrt(covariance.slope) == pytest.approx(0.00067, abs=5e-6)
    assert covariance.both / math.sqrt(covariance.zero * covariance.slope) == pytest.approx(
        -0.930, abs=5e-4
    )
    assert fitted.reading_sd == pytest.approx(0.0035, abs=5e-5)
    assert fitted.indicated(10.0) == pytest.approx(-0.1494, abs=5e-5)
    assert math.sqrt(covariance.between(10.0, 10.0)) == pytest.approx(0.0041, abs=5e-5)


def test_inverse_prediction_against_graybill_and_iyer() -> None:
    """Limits as printed by the tests of the R package investr for this example (read there)."""
    fitted = line(CRYSTAL_HOURS, CRYSTAL_GRAMS)
    one = fitted.inverse(8.0)
    assert one.estimate == pytest.approx(15.888, abs=5e-4)
    assert one.standard_uncertainty == pytest.approx(2.184, abs=5e-4)
    assert (one.interval().low, one.interval().high) == pytest.approx((11.095, 20.724), abs=5e-4)
    wald = one.wald_interval()
    assert (wald.low, wald.high) == pytest.approx((11.130, 20.647), abs=5e-4)

    mean = fitted.inverse(8.0, readings=math.inf)
    assert mean.standard_uncertainty == pytest.approx(0.567, abs=5e-4)
    assert (mean.interval().low, mean.interval().high) == pytest.approx((14.659, 17.160), abs=5e-4)
    wald = mean.wald_interval()
    assert (wald.low, wald.high) == pytest.approx((14.653, 17.124), abs=5e-4)


def test_ratio_against_technical_manual() -> None:
    """US TM 1-1500-335-23, paragraph 5.5.3.3 c-d, read; it rounds 0.167/0.133 to 1.25."""
    fitted = ratio(0.167, [0.133])
    assert 1 / fitted.slope == pytest.approx(1.25, abs=0.006)
    assert fitted.corrected(0.200) == pytest.approx(0.250, abs=0.0012)


def test_gauge_set_for_steel_reads_iron_thick() -> None:
    """ISO 16809: t_true = t_indicated x v_true / v_set (from memory); 29 % at 4600 m/s."""
    fitted = known_speed(set_to=5920, true=4600)
    assert fitted.corrected(6.0) == pytest.approx(4.662, abs=5e-4)
    assert 6.0 / fitted.corrected(6.0) - 1 == pytest.approx(0.287, abs=5e-4)


# NIST/SEMATECH e-Handbook 2.3.6.5, LOADCELL.DAT (public NIST Dataplot repository).
LOADS = (2, 4, 6, 8, 10, 12, 14, 16, 18, 20, 21)
DEFLECTIONS = """0.20024 0.20016 0.20024 0.40056 0.40045 0.40054 0.60087 0.60075 0.60086 0.80130
0.80122 0.80127 1.00173 1.00164 1.00173 1.20227 1.20218 1.20227 1.40282 1.40278 1.40279 1.60344
1.60339 1.60341 1.80412 1.80409 1.80411 2.00485 2.00481 2.00483 2.10526 2.10524 2.10524"""


def test_bending_and_lack_of_fit_against_nist_load_cell() -> None:
    """Quadratic term as printed by the handbook (from memory); F = 0.3477 on 8 and 22."""
    loads = np.repeat(LOADS, 3)
    bend = curvature(loads, numbers(DEFLECTIONS))
    assert bend.coefficient == pytest.approx(0.703186e-05, abs=6e-12)  # printed cut, not rounded
    assert bend.standard_error == pytest.approx(0.2013e-06, abs=1e-10)
    quadratic = lack_of_fit(loads, numbers(DEFLECTIONS), degree=2)
    assert quadratic.f == pytest.approx(0.3477, abs=5e-5)
    assert (quadratic.numerator_df, quadratic.denominator_df) == (8, 22)
    assert quadratic.fitted_sd == pytest.approx(0.3764e-04, abs=5e-9)
    assert quadratic.p_value > 0.9
    assert lack_of_fit(loads, numbers(DEFLECTIONS)).p_value < 1e-9
