"""Welch's analysis against printed two-sample tables."""

import pytest

from workbench.inference.means.welch import Summary, welch


def test_miles_per_gallon_from_the_printed_summaries():
    """NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.3 (AUTO83B), unequal variances."""
    us = Summary(n=249, mean=20.14458, sd=6.41470)
    japan = Summary(n=79, mean=30.48101, sd=6.10771)
    difference = welch(us, japan)
    assert difference.statistic() == pytest.approx(-12.94627, abs=5e-5)
    assert difference.degrees_of_freedom == pytest.approx(136.8750, abs=5e-3)
    # the critical value printed there, 1.977, is the half-width in standard errors
    half = difference.interval(0.95).half_width / difference.standard_error
    assert half == pytest.approx(1.977, abs=5e-4)


def test_sleep_of_student_1908():
    """Student (1908), Biometrika 6, 1-25; the t-test printed on R's help page of `sleep`."""
    drug_1 = [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0]
    drug_2 = [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4]
    difference = welch(Summary.of(drug_1), Summary.of(drug_2))
    assert difference.statistic() == pytest.approx(-1.8608, abs=5e-5)
    assert difference.degrees_of_freedom == pytest.approx(17.776, abs=5e-4)
    assert difference.p_value() == pytest.approx(0.07939, abs=5e-6)
    interval = difference.interval(0.95)
    assert interval.low == pytest.approx(-3.3654832, abs=5e-8)
    assert interval.high == pytest.approx(0.2054832, abs=5e-8)
