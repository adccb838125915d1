"""Checks on a calibration: R as witness, drift, and what is refused."""

from __future__ import annotations

import math

import numpy as np
import pytest

from workbench.errors import Refusal
from workbench.inference.measuring.calibration_checks import (
    curvature,
    drift,
    furthest_reading,
    lack_of_fit,
)
from workbench.inference.measuring.calibration_fit import line

# tests/published/r/calibration_checks.R
X = np.repeat([2.0, 4.0, 6.0, 8.0, 10.0], 2)
Y = np.array([2.11, 2.07, 4.22, 4.18, 6.31, 6.45, 8.40, 8.36, 10.52, 10.49])


def test_lack_of_fit_against_r_anova() -> None:
    found = lack_of_fit(X, Y)
    assert found.f == pytest.approx(1.66271, abs=5e-6)
    assert found.p_value == pytest.approx(0.28855, abs=5e-6)
    assert (found.numerator_df, found.denominator_df) == (3, 5)
    assert found.fitted_sd == pytest.approx(math.sqrt(0.02527 / 8), abs=1e-6)
    assert found.repeat_sd == pytest.approx(math.sqrt(0.01265 / 5), rel=1e-9)


def test_furthest_reading_against_r_rstudent() -> None:
    found = furthest_reading(X, Y)
    assert found.position == 5  # the sixth reading; R counts from 1
    assert found.studentised == pytest.approx(6.2867156519, rel=1e-9)
    assert found.p_value == pytest.approx(0.0040937060431, rel=1e-9)


def test_curvature_against_r_lm() -> None:
    found = curvature(X, Y)
    assert found.coefficient == pytest.approx(-0.00267857142857, rel=1e-9)
    assert found.standard_error == pytest.approx(0.00265199399649, rel=1e-9)
    assert found.p_value == pytest.approx(0.346116025843, rel=1e-9)
    assert found.degrees_of_freedom == 7


def test_checks_do_not_depend_on_the_unit() -> None:
    inch = 1 / 25.4
    assert lack_of_fit(X * inch, Y * inch).p_value == pytest.approx(lack_of_fit(X, Y).p_value)
    assert curvature(X * inch, Y * inch).p_value == pytest.approx(curvature(X, Y).p_value)
    assert furthest_reading(X * inch, Y * inch).p_value == pytest.approx(
        furthest_reading(X, Y).p_value
    )


def test_straight_calibrations_are_seldom_called_bent() -> None:
    generator = np.random.default_rng(2)
    trials = 1500
    called = sum(
        lack_of_fit(X, 1.1 * X + generator.normal(0, 0.1, X.size)).p_value < 0.05
        for _ in range(trials)
    )
    assert called / trials == pytest.approx(0.05, abs=3 * math.sqrt(0.05 * 0.95 / trials))


def test_drift_is_found_and_turns_with_the_order() -> None:
    before, after = line(X, Y), line(X, Y + 0.3)
    change = drift(before, after, 5.0)
    assert change.estimate == pytest.approx(-0.3 / before.slope, rel=1e-9)
    assert change.p_value() < 0.001
    back = drift(after, before, 5.0)
    assert back.estimate == pytest.approx(-change.estimate, rel=1e-9)
    assert change.degrees_of_freedom == pytest.approx(16, abs=0.1)


def test_drift_on_other_pieces_carries_their_errors() -> None:
    names = [f"spare {value:g}" for value in X]
    before = line(X, Y, reference_uncertainty=0.2)
    after = line(X, Y + 0.01, reference_uncertainty=0.2)
    elsewhere = line(X, Y + 0.01, reference_uncertainty=0.2, pieces=names)
    same, other = drift(before, after, 5.0), drift(before, elsewhere, 5.0)
    assert other.estimate == pytest.approx(same.estimate)
    assert other.standard_error > 2 * same.standard_error
    assert other.degrees_of_freedom > same.degrees_of_freedom


def test_drift_without_known_scatter_is_refused() -> None:
    bare = line([3.0, 8.0], [3.3, 8.8])
    with pytest.raises(Refusal, match="leave no scatter"):
        drift(bare, line(X, Y), 5.0)


def test_checks_refuse_too_little() -> None:
    with pytest.raises(Refusal, match="read more than once"):
        lack_of_fit([1.0, 2.0, 3.0], [1.0, 2.1, 3.0])
    with pytest.raises(Refusal, match="3 or more different references; there are 2"):
        lack_of_fit([1.0, 1.0, 3.0], [1.0, 1.1, 3.0])
    with pytest.raises(Refusal, match="below the gauge step"):
        lack_of_fit([1.0, 1.0, 2.0, 3.0], [1.0, 1.0, 2.1, 3.0])
    with pytest.raises(Refusal, match="3 or more different references; there are 2"):
        curvature([1.0, 2.0, 2.0, 1.0], [1.0, 2.0, 2.1, 1.1])
    with pytest.raises(Refusal, match="3 readings leave no scatter about a quadratic"):
        curvature([1.0, 2.0, 3.0], [1.0, 2.0, 3.3])
    with pytest.raises(Refusal, match="at least 4"):
        furthest_reading([1.0, 2.0, 3.0], [1.0, 2.0, 3.3])
    with pytest.raises(Refusal, match="without any scatter"):
        furthest_reading([1.0, 2.0, 3.0, 4.0], [1.0, 2.0, 3.0, 4.5])
