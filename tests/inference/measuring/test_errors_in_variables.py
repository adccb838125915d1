"""York's line against the closed form of the equal-variance case, least squares, and itself."""

from __future__ import annotations

import math

import numpy as np
import pytest

from workbench.errors import Refusal
from workbench.inference.measuring.calibration_fit import line
from workbench.inference.measuring.errors_in_variables import york

X = np.array([2.0, 4.1, 5.9, 8.2, 10.1])
Y = np.array([2.3, 4.6, 6.3, 9.1, 11.0])


def test_equal_variances_give_the_closed_form_of_deming() -> None:
    """Deming (1943): the closed form for a constant ratio of variances (from memory)."""
    ux, uy = 0.2, 0.3
    ratio = (uy / ux) ** 2
    sxx, syy = np.var(X), np.var(Y)
    sxy = float(np.mean((X - X.mean()) * (Y - Y.mean())))
    slope = (syy - ratio * sxx + math.sqrt((syy - ratio * sxx) ** 2 + 4 * ratio * sxy**2)) / (
        2 * sxy
    )
    fitted = york(X, Y, ux, uy)
    assert fitted.slope == pytest.approx(slope, rel=1e-10)
    assert fitted.intercept == pytest.approx(Y.mean() - slope * X.mean(), rel=1e-9)


def test_exact_references_give_least_squares() -> None:
    plain = line(X, Y, repeatability=0.1)
    fitted = york(X, Y, 0.0, 0.1)
    assert fitted.slope == pytest.approx(plain.slope, rel=1e-12)
    assert fitted.covariance.slope == pytest.approx(plain.covariance().slope, rel=1e-12)
    assert fitted.covariance.both == pytest.approx(plain.covariance().both, rel=1e-12)


def test_changing_the_axes_turns_the_line_about() -> None:
    forth, back = york(X, Y, 0.2, 0.3), york(Y, X, 0.3, 0.2)
    assert back.slope == pytest.approx(1 / forth.slope, rel=1e-10)
    assert back.chi_square == pytest.approx(forth.chi_square, rel=1e-9)


def test_unit_does_not_matter() -> None:
    inch = 1 / 25.4
    there = york(X * inch, Y * inch, 0.2 * inch, 0.3 * inch)
    here = york(X, Y, 0.2, 0.3)
    assert there.slope == pytest.approx(here.slope, rel=1e-10)
    assert there.p_value == pytest.approx(here.p_value, rel=1e-9)


def test_stated_uncertainties_are_the_simulated_ones() -> None:
    generator, trials = np.random.default_rng(8), 2000
    true = np.array([2.0, 4.0, 6.0, 8.0, 10.0])
    ux, uy = np.array([0.02, 0.05, 0.1, 0.05, 0.02]), 0.05
    found, scatter = np.empty((trials, 2)), np.empty(trials)
    for trial in range(trials):
        fitted = york(
            true + generator.normal(0, ux), 0.2 + 1.1 * true + generator.normal(0, uy, 5), ux, uy
        )
        found[trial] = fitted.intercept, fitted.slope
        scatter[trial] = fitted.chi_square
    stated = york(true, 0.2 + 1.1 * true, ux, uy).covariance
    assert found[:, 1].std() == pytest.approx(math.sqrt(stated.slope), rel=0.05)
    assert found[:, 0].std() == pytest.approx(math.sqrt(stated.zero), rel=0.05)
    assert scatter.mean() == pytest.approx(3.0, abs=4 * math.sqrt(6 / trials))


def test_as_a_calibration() -> None:
    used = york(X, Y, 0.05, 0.02).calibration(0.04)
    assert used.indicated(used.corrected(7.0)) == pytest.approx(7.0)
    answer = used.inverse(7.0, readings=4)
    assert answer.reading_uncertainty == pytest.approx(0.02 / used.slope)
    assert answer.interval().contains(answer.estimate)
    assert (used.low, used.high) == (2.3, 11.0)


def test_what_is_refused() -> None:
    with pytest.raises(Refusal, match="without any uncertainty would decide"):
        york(X, Y, 0.0, [0.1, 0.1, 0.0, 0.1, 0.1])
    with pytest.raises(Refusal, match="Uncertainties of x are 0 or more"):
        york(X, Y, -0.1, 0.1)
    with pytest.raises(Refusal, match="one for each of 5 points; there are 2"):
        york(X, Y, 0.1, [0.1, 0.2])
    with pytest.raises(Refusal, match="All 3 values of x are 5"):
        york([5.0, 5.0, 5.0], [1.0, 2.0, 3.0], 0.1, 0.1)
    with pytest.raises(Refusal, match="at least 3"):
        york([5.0, 6.0], [1.0, 2.0], 0.1, 0.1)
    with pytest.raises(Refusal, match="5 of one and 2 of the other"):
        york(X, [1.0, 2.0], 0.1, 0.1)
    with pytest.raises(Refusal, match="must rise with the reference"):
        york(X, -Y, 0.05, 0.02).calibration(0.04)
    with pytest.raises(Refusal, match="no common direction"):
        york([1.0, 2.0, 3.0], [1.0, 1.0, 1.0], 0.1, 0.0)
