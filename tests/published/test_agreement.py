"""Agreement of two methods against Bland and Altman, Giavarina, R, and real data."""

import math

import numpy as np
import pytest

from workbench.inference.measuring.agreement import Agreement, agreement, proportional_bias
from workbench.inference.measuring.gauge_analysis import gauge_study
from workbench.inference.nested.mean_squares import MeanSquare
from workbench.inference.results import Difference

# Bland & Altman (1986), Lancet i:307-310: peak flow by two meters, two readings each, l/min
# (data and main numbers read in public tests, the rest from memory).
LARGE = (494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427)
LARGE_AGAIN = (490, 397, 512, 401, 470, 611, 415, 431, 638, 429, 420, 633, 275, 492, 165, 372, 421)
MINI = (512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451)
MINI_AGAIN = (525, 415, 508, 444, 500, 625, 460, 390, 642, 432, 420, 605, 227, 467, 268, 370, 443)


def test_limits_against_bland_and_altman() -> None:
    """The paper rounds the standard deviation first, and takes 2 of them."""
    found = agreement(LARGE, MINI)
    assert found.bias.estimate == pytest.approx(-2.1, abs=0.05)
    assert found.sd == pytest.approx(38.8, abs=0.05)
    assert found.bias.standard_error == pytest.approx(9.4, abs=0.05)
    interval = found.bias.interval()
    assert (interval.low, interval.high) == pytest.approx((-22.0, 17.8), abs=0.06)
    limits = found.limits(factor=2)
    assert limits.low.estimate == pytest.approx(-79.7, abs=0.11)
    assert limits.high.estimate == pytest.approx(75.5, abs=0.11)


def test_normal_factor_gives_the_other_limits_in_circulation() -> None:
    limits = agreement(LARGE, MINI).limits()
    assert limits.low.estimate == pytest.approx(-78.1, abs=0.05)
    assert limits.high.estimate == pytest.approx(73.9, abs=0.05)


@pytest.mark.parametrize(
    ("readings", "printed"),
    [(LARGE + LARGE_AGAIN, 43.2), (MINI + MINI_AGAIN, 56.4)],
)
def test_coefficient_of_repeatability(readings: tuple[int, ...], printed: float) -> None:
    """The same paper: two standard deviations of the difference of two readings by one meter."""
    study = gauge_study(np.tile(np.arange(17), 2), readings)
    assert 2 * 2**0.5 * study.sd("repeatability") == pytest.approx(printed, abs=0.11)


def test_proportional_bias_of_giavarina() -> None:
    """Giavarina (2015), Biochemia Medica 25:141-151 (NIST Dataplot BLAND.DAT)."""
    a = """1 5 10 20 50 40 50 60 70 80 90 100 150 200 250 300 350 400 450 500 550 600 650 700 750
    800 850 900 950 1000"""
    b = """8 16 30 24 39 54 40 68 72 62 122 80 181 259 275 380 320 434 479 587 626 648 738 766 793
    851 871 957 1001 960"""
    first, second = ([float(x) for x in text.split()] for text in (a, b))
    found = agreement(first, second)
    assert found.bias.estimate == pytest.approx(-27.2, abs=0.05)
    assert found.sd == pytest.approx(34.8, abs=0.05)
    limits = found.limits()
    assert limits.low.estimate == pytest.approx(-95.4, abs=0.05)
    assert limits.high.estimate == pytest.approx(41.1, abs=0.05)
    assert proportional_bias(first, second).p_value < 0.05


def test_iron_by_two_methods_against_r() -> None:
    """R DAAG ironslag: iron content by chemical and by magnetic test, 53 samples of slag.

    Numbers of R in tests/published/r/agreement.txt.
    """
    pairs = """24 25 16 22 24 17 18 21 18 20 10 13 14 16 16 14 18 19 20 10 21 23 20 20 21 19 15 15
    16 16 15 16 17 12 19 15 16 15 15 15 15 15 13 17 24 18 22 16 21 18 24 22 15 20 20 21 20 21 25 21
    27 25 22 22 20 18 24 21 24 18 23 20 29 25 27 20 23 18 19 19 25 16 15 16 16 16 27 26 27 28 30 28
    29 30 26 32 25 28 25 36 32 40 28 33 25 33"""
    chemical, magnetic = np.array(pairs.split(), dtype=float).reshape(53, 2).T
    found = agreement(chemical, magnetic)
    assert found.bias.estimate == pytest.approx(0.3773585, abs=5e-8)
    assert found.bias.p_value() == pytest.approx(0.5263, abs=5e-5)
    interval = found.bias.interval()
    assert (interval.low, interval.high) == pytest.approx((-0.8096992, 1.5644162), abs=5e-8)
    assert found.sd == pytest.approx(4.30664252189, rel=1e-10)
    limits = found.limits()
    low, high = limits.low, limits.high
    assert (low.estimate, low.low, low.high) == pytest.approx(
        (-8.06350574662, -10.45523104238, -6.34521453590), rel=1e-7
    )
    assert (high.estimate, high.low, high.high) == pytest.approx(
        (8.81822272775, 7.09993151703, 11.20994802351), rel=1e-7
    )
    slope = proportional_bias(chemical, magnetic)
    assert slope.slope == pytest.approx(-0.255448555499, rel=1e-9)
    assert slope.standard_error == pytest.approx(0.108379094808, rel=1e-9)
    assert slope.p_value == pytest.approx(0.0223008663059, rel=1e-9)


def test_pairs_in_groups_against_bland_and_altman() -> None:
    """Bland & Altman (1999), Statistical Methods in Medical Research 8:135-160, table 4.

    Cardiac output of 12 people by two methods, several pairs each (data read in public code; mean
    0.60, standard deviation 0.99, limits -1.34 and 2.54 from memory); more digits by R.
    """
    data = """7.83 6.57 7.42 5.62 7.89 6.90 7.12 6.57 7.88 6.35;6.16 4.06 7.26 4.29 6.71 4.26 6.54
    4.09;4.75 4.71 5.24 5.50 4.86 5.08 4.78 5.02 6.05 6.01 5.42 5.67;4.21 4.14 3.61 4.20 3.72 4.61
    3.87 4.68 3.92 5.04;3.13 3.03 2.98 2.86 2.85 2.77 3.17 2.46 3.09 2.32 3.12 2.43;5.92 5.90 6.42
    5.81 5.92 5.70 6.27 5.76;7.13 5.09 6.62 4.63 6.58 4.61 6.93 5.09;4.54 4.72 4.81 4.61 5.11 4.36
    5.29 4.20 5.39 4.36 5.57 4.20;4.48 3.17 4.92 3.12 3.97 2.96;4.22 4.35 4.65 4.62 4.74 3.16 4.44
    3.53 4.50 3.53;6.78 7.20 6.07 6.09 6.52 7.00 6.42 7.10 6.41 7.40 5.76 6.80;5.06 4.50 4.72 4.20
    4.90 3.80 4.80 3.80 4.90 4.20 5.10 4.50"""
    people = [np.array(row.split(), dtype=float).reshape(-1, 2) for row in data.split(";")]
    rv, ic = np.concatenate(people).T
    person = np.repeat(np.arange(12), [len(pairs) for pairs in people])
    found = agreement(rv, ic, person)
    assert found.bias.estimate == pytest.approx(0.6021666667, abs=1e-9)
    assert found.bias.standard_error == pytest.approx(0.2573313715, abs=1e-9)
    assert found.within_sd**2 == pytest.approx(0.1707139931, abs=1e-9)
    assert found.between_sd**2 == pytest.approx(0.8106221303, abs=1e-9)
    assert found.sd == pytest.approx(0.99, abs=5e-3)
    limits = found.limits()
    assert limits.low.estimate == pytest.approx(-1.34, abs=5e-3)
    assert limits.high.estimate == pytest.approx(2.54, abs=5e-3)


def test_means_of_repeats_against_bland_and_altman() -> None:
    """The 1986 paper: differences of the means of two readings, carried over to single readings.

    33.2 l/min for the means and 37.7 for single readings, by sqrt(33.2^2 + 21.6^2 / 4 + 28.2^2 / 4)
    (from memory; the data say so too). A quarter of the square of the standard deviation of
    repeated differences is (1 - 1/2) times the variance of one reading.
    """
    pairs = [(LARGE, LARGE_AGAIN), (MINI, MINI_AGAIN)]
    means = [np.mean(pair, axis=0) for pair in pairs]
    found = agreement(*means)
    assert found.sd == pytest.approx(33.2, abs=0.05)
    within = [float(np.sum(np.subtract(*pair) ** 2.0)) / 2 / 17 for pair in pairs]
    single = found.of_single_readings(
        *(MeanSquare(value=value / 2, degrees_of_freedom=17) for value in within)
    )
    assert single.sd == pytest.approx(37.7, abs=0.05)
    assert single.bias == found.bias
    assert found.of_single_readings() == found
    near = single.limits().high
    assert near.low < near.estimate < near.high


def test_single_readings_against_bland_and_altman_on_blood_pressure() -> None:
    """Bland & Altman (1999), section 5.1: three readings by either of two methods, 85 people.

    The variances 358.493, 37.408 and 83.141 give 438.859, standard deviation 20.95 mmHg (from
    memory; the sum agrees).
    """
    of_means = Agreement(
        bias=Difference(
            estimate=-15.62, standard_error=2.05, degrees_of_freedom=84, method="paired"
        ),
        sd=math.sqrt(358.493), within_sd=math.sqrt(358.493), between_sd=math.nan,
        sd_degrees_of_freedom=84, pairs=85, groups=None,
    )  # fmt: skip
    parts = [MeanSquare(value=2 / 3 * v, degrees_of_freedom=170) for v in (37.408, 83.141)]
    single = of_means.of_single_readings(*parts)
    assert single.sd**2 == pytest.approx(438.859, abs=2e-3)
    assert single.sd == pytest.approx(20.95, abs=5e-3)
