"""Intervals of one sample, predictions and ratios against printed pages and R."""

import numpy as np
import pytest

from workbench.inference.means.intervals import (
    coefficient_of_variation_interval,
    mean_interval,
    next_mean_interval,
    next_value_interval,
    next_values_interval,
    sd_interval,
)
from workbench.inference.means.max_t import max_t_cdf, max_t_quantile
from workbench.inference.means.ratio_of_means import ratio_of_means
from workbench.inference.means.welch import Summary
from workbench.inference.noncentral import noncentral_t_cdf
from workbench.inference.ranks.quantiles import median_interval, quantile_interval

# Natrella (1963), NBS Handbook 91, Data Sample 2-1: thickness of mica washers, inches; data read
# in the public NIST file NATR21.DAT, printed values from memory.
WASHERS = (0.123, 0.124, 0.126, 0.129, 0.120, 0.132, 0.123, 0.126, 0.129, 0.128)

# Hahn & Meeker (1991), Statistical Intervals, chapters 1 to 4: voltages of five circuits (data
# read in public code, printed intervals from memory).
CIRCUITS = (50.3, 48.3, 49.6, 50.4, 51.9)
CIRCUITS_PRINTED = Summary(n=5, mean=50.10, sd=1.31)

# NIST StRD Michelso: Michelson's speed of light, millions of m/s (certified values from memory).
LIGHT = """299.85 299.74 299.9 300.07 299.93 299.85 299.95 299.98 299.98 299.88 300 299.98
299.93 299.65
299.76 299.81 300 300 299.96 299.96 299.96 299.94 299.96 299.94 299.88 299.8 299.85 299.88 299.9
299.84 299.83 299.79 299.81 299.88 299.88 299.83 299.8 299.79 299.76 299.8 299.88 299.88 299.88
299.86 299.72 299.72 299.62 299.86 299.97 299.95 299.88 299.91 299.85 299.87 299.84 299.84
299.85 299.84 299.84 299.84 299.89 299.81 299.81 299.82 299.8 299.77 299.76 299.74 299.75 299.76
299.91 299.92 299.89 299.86 299.88 299.72 299.84 299.85 299.85 299.78 299.89 299.84 299.78
299.81 299.76 299.81 299.79 299.81 299.82 299.85 299.87 299.87 299.81 299.74 299.81 299.94
299.95 299.8 299.81 299.87"""

# Conover (1999), Practical Nonparametric Statistics, p. 139, as quoted in the tests of scipy.
CONOVER = (189, 233, 195, 160, 212, 176, 231, 185, 199, 213, 202, 193, 174, 166, 248)


def test_mean_of_mica_washers() -> None:
    found = mean_interval(WASHERS)
    assert found.estimate == pytest.approx(0.1260, abs=5e-5)
    assert (found.low, found.high) == pytest.approx((0.1234, 0.1286), abs=5e-5)
    assert sd_interval(WASHERS).estimate == pytest.approx(0.00359, abs=5e-6)


def test_spread_of_mica_washers_against_r() -> None:
    found = sd_interval(WASHERS)  # equal tails; R 4.2.2: 0.00246940397 to 0.00655414114
    assert (found.low, found.high) == pytest.approx((0.00246940397, 0.00655414114), rel=1e-8)


def test_five_circuits_as_printed() -> None:
    mean, sd = mean_interval(CIRCUITS_PRINTED), sd_interval(CIRCUITS_PRINTED)
    following = next_value_interval(CIRCUITS_PRINTED)
    assert (mean.low, mean.high) == pytest.approx((48.47, 51.73), abs=0.005)
    assert (sd.low, sd.high) == pytest.approx((0.78, 3.76), abs=0.006)
    assert (following.low, following.high) == pytest.approx((46.1, 54.1), abs=0.05)


def test_ten_future_circuits_are_closer_than_bonferroni() -> None:
    """The book's 42.1 to 58.1 is Bonferroni's bound; its exact factor (from memory) is 5.23."""
    found = next_values_interval(CIRCUITS_PRINTED, 10)
    assert found.half_width / 1.31 == pytest.approx(5.23, abs=0.005)
    assert 42.1 < found.low < found.high < 58.1


def test_speed_of_light_certified() -> None:
    values = [float(word) for word in LIGHT.split()]
    assert mean_interval(values).estimate == pytest.approx(299.852400000000, abs=1e-11)
    assert sd_interval(values).estimate == pytest.approx(0.0790105478190518, abs=1e-12)


def test_accuracy_ladder_of_mean_and_spread() -> None:
    """NIST StRD NumAcc4: mean 10000000.2, standard deviation 0.1 (to 1e-8 in double)."""
    values = [10000000.2] + [10000000.1, 10000000.3] * 500
    assert mean_interval(values).estimate == pytest.approx(10000000.2, abs=2e-9)
    assert sd_interval(values).estimate == pytest.approx(0.1, abs=1e-8)


def test_coefficient_of_variation_against_r(printed_by_r) -> None:
    printed = printed_by_r("intervals")
    found = coefficient_of_variation_interval(Summary(n=10, mean=5.0, sd=1.2))
    assert (found.low, found.high) == pytest.approx(printed["cv_10_5.0_1.2_95"], rel=1e-7)
    found = coefficient_of_variation_interval(Summary(n=6, mean=8.4, sd=1.1), 0.90)
    assert (found.low, found.high) == pytest.approx(printed["cv_6_8.4_1.1_90"], rel=1e-7)


def test_predictions_against_r(printed_by_r) -> None:
    printed = printed_by_r("intervals")
    found = next_mean_interval(CIRCUITS, 3)
    expected = printed["circuits_next_mean_of_3_95"]
    assert (found.low, found.high) == pytest.approx(expected, rel=1e-9)
    unit = next_values_interval(Summary(n=5, mean=0, sd=1), 10)
    assert unit.high == pytest.approx(printed["factor_5_10_95"][0], abs=1e-3)
    unit = next_values_interval(Summary(n=12, mean=0, sd=1), 3, 0.90)
    assert unit.high == pytest.approx(printed["factor_12_3_90"][0], abs=1e-3)


def test_ratio_of_means_against_r(printed_by_r) -> None:
    printed = printed_by_r("intervals")
    ratio = ratio_of_means(Summary(n=8, mean=92, sd=2.5), Summary(n=12, mean=80, sd=2))
    found = ratio.interval()
    assert (ratio.degrees_of_freedom, found.low, found.high) == pytest.approx(
        printed["ratio_df_low_high_95"], rel=1e-8
    )
    ratio = ratio_of_means(Summary(n=6, mean=3.0, sd=1.0), Summary(n=9, mean=2.0, sd=1.5))
    found = ratio.interval(0.90)
    assert (ratio.degrees_of_freedom, found.low, found.high) == pytest.approx(
        printed["ratio_near_zero_df_low_high_90"], rel=1e-8
    )


def test_noncentral_t_against_r(printed_by_r) -> None:
    at = (-1.7243358, 2, -3, 5, 10, 1, 30)
    df = (27, 1, 2, 3, 58, 5, 4)
    shift = (-2, 0.5, 1, 8, 9, -2, 3)
    found = [float(noncentral_t_cdf(*each)) for each in zip(at, df, shift, strict=True)]
    assert found == pytest.approx(printed_by_r("intervals")["noncentral_t"], rel=1e-8)


@pytest.mark.parametrize(
    ("families", "df", "bound", "tail", "two_sided"),
    [
        # Dunnett (1955), tables 1 and 2 (correlation one half), as quoted in the tests of scipy.
        (1, 10, 1.81, 0.05, False),
        (3, 10, 2.34, 0.05, False),
        (2, 30, 1.99, 0.05, False),
        (5, 30, 2.33, 0.05, False),
        (4, 12, 3.32, 0.01, False),
        (7, 12, 3.56, 0.01, False),
        (2, 60, 2.64, 0.01, False),
        (4, 60, 2.87, 0.01, False),
        (1, 10, 2.23, 0.05, True),
        (2, 30, 2.32, 0.05, True),
        (2, 60, 2.90, 0.01, True),
    ],
)
def test_max_t_against_dunnett_1955(families, df, bound, tail, two_sided) -> None:
    found = max_t_cdf(bound, [0.5**0.5] * families, df, two_sided=two_sided)
    assert 1 - found == pytest.approx(tail, abs=1.5e-3 if tail == 0.05 else 3e-4)


def test_max_t_two_sided_point_of_three_families() -> None:
    """Exact 2.88 as in the tables of 1964; the 2.94 of 1955 (from memory) is an upper bound."""
    assert max_t_quantile(0.95, [0.5**0.5] * 3, 8) == pytest.approx(2.88, abs=0.005)


def test_median_ranks_of_ten() -> None:
    """Conover (1999): the 2nd and 9th of ten enclose the median with 0.9786 (binomial table)."""
    found = median_interval(np.arange(1, 11))
    assert (found.low, found.high) == (2, 9)
    assert found.attained == pytest.approx(1 - 2 * 11 / 1024, abs=1e-12)


def test_upper_quartile_against_conover() -> None:
    """P(Y <= 7) = 0.0173 for n = 15: 193, the seventh value, is out just above that tail."""
    assert quantile_interval(CONOVER, 0.75, 1 - 2 * 0.0174).low == 195
    assert quantile_interval(CONOVER, 0.75, 1 - 2 * 0.0172).low == 193


@pytest.mark.parametrize(
    ("share", "confidence", "low", "high"),
    [
        # R package confintr, ci_quantile on exp(seq(0, 1, by = 0.01)), as quoted in scipy's tests.
        (0.3, 0.95, 1.221402758160170, 1.476980793882643),
        (0.5, 0.90, 1.506817785112854, 1.803988415397857),
    ],
)
def test_quantiles_against_confintr(share, confidence, low, high) -> None:
    found = quantile_interval(np.exp(np.arange(0, 1.01, 0.01)), share, confidence)
    assert (found.low, found.high) == pytest.approx((low, high), rel=1e-14)
