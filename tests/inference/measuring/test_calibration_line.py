"""Calibration lines: applied and undone, in any unit, and what their errors share."""

from __future__ import annotations

import math

import numpy as np
import pytest
import uncertainties
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.errors import Refusal
from workbench.inference.measuring.calibration_fit import known_speed, line, ratio
from workbench.inference.measuring.calibration_line import CalibrationLine

PIECES = (2.0, 4.0, 6.0, 10.0)
SHOWN = (2.31, 4.44, 6.63, 10.82)


def test_applied_and_undone_returns_the_reading() -> None:
    fitted = line(PIECES, SHOWN)
    readings = np.array([1.2, 3.37, 9.99, 12.0])
    np.testing.assert_allclose(fitted.indicated(fitted.corrected(readings)), readings, rtol=1e-14)
    np.testing.assert_allclose(fitted.corrected(fitted.indicated(readings)), readings, rtol=1e-14)


@settings(max_examples=50, deadline=None)
@given(
    slope=st.floats(0.5, 2.0),
    zero=st.floats(-1.0, 1.0),
    reading=st.floats(0.5, 20.0),
    factor=st.sampled_from([1 / 25.4, 25.4, 1000.0]),
)
def test_unit_of_the_line_does_not_move_the_wall(
    slope: float, zero: float, reading: float, factor: float
) -> None:
    references = np.array([2.0, 5.0, 9.0])
    shown = zero + slope * references + np.array([0.01, -0.02, 0.01])
    fitted = line(references, shown, reference_uncertainty=0.02)
    other = line(references * factor, shown * factor, reference_uncertainty=0.02 * factor)
    turned = fitted.rescaled(factor)
    for converted in (other, turned):
        assert converted.corrected(reading * factor) == pytest.approx(
            factor * fitted.corrected(reading), rel=1e-9, abs=1e-9
        )
        assert float(converted.shared_uncertainty(reading * factor)) == pytest.approx(
            factor * float(fitted.shared_uncertainty(reading)), rel=1e-9
        )
        assert converted.reading_sd == pytest.approx(factor * (fitted.reading_sd or 0), rel=1e-6)
        assert bool(converted.extrapolated(reading * factor * (1 + 1e-9))) == bool(
            fitted.extrapolated(reading * (1 + 1e-9))
        )


def test_shared_covariance_against_the_uncertainties_package() -> None:
    fitted = line(PIECES, SHOWN, reference_uncertainty=0.01)
    v = fitted.covariance()
    zero, slope = uncertainties.correlated_values(
        (fitted.zero, fitted.slope), [[v.zero, v.both], [v.both, v.slope]]
    )
    corrected = [(shown - zero) / slope for shown in (3.0, 9.0)]
    witness = uncertainties.covariance_matrix(corrected)
    assert float(fitted.shared_covariance(3.0, 9.0)) == pytest.approx(witness[0][1], rel=1e-9)
    np.testing.assert_allclose(
        fitted.shared_uncertainty(np.array([3.0, 9.0])),
        np.sqrt(np.diag(witness)),
        rtol=1e-9,
    )


def test_one_calibration_cancels_in_a_contrast_and_two_add() -> None:
    """Simulated: the formula gives the spread of a difference of two corrected means."""
    truth, sd, trials = (4.0, 5.5), 0.05, 4000
    generator = np.random.default_rng(20)
    references = np.repeat([3.0, 8.0], 2)

    def calibrated() -> CalibrationLine:
        shown = 0.2 + 1.1 * references + generator.normal(0, sd, references.size)
        return line(references, shown, repeatability=sd)

    shown = [0.2 + 1.1 * value for value in truth]
    once, twice = np.empty(trials), np.empty(trials)
    for trial in range(trials):
        first, second = calibrated(), calibrated()
        once[trial] = first.corrected(shown[1]) - first.corrected(shown[0])
        twice[trial] = second.corrected(shown[1]) - first.corrected(shown[0])
    exact = line(references, 0.2 + 1.1 * references, repeatability=sd)
    own = [float(exact.shared_covariance(value, value)) for value in shown]
    both = float(exact.shared_covariance(*shown))
    assert once.std() == pytest.approx(math.sqrt(sum(own) - 2 * both), rel=0.04)
    assert twice.std() == pytest.approx(math.sqrt(sum(own)), rel=0.04)
    assert once.std() < twice.std() / 2


def test_extrapolation_is_told_by_what_was_shown() -> None:
    fitted = line(PIECES, SHOWN)
    told = fitted.extrapolated(np.array([2.30, 2.31, 10.82, 10.83]))
    assert told.tolist() == [True, False, False, True]
    assert not ratio(5.0, [5.2]).extrapolated(3.0)
    assert ratio(5.0, [5.2]).extrapolated(5.21)
    assert not known_speed(set_to=5900, true=4600).extrapolated(1e6)


def test_unknown_scatter_gives_the_value_and_refuses_its_uncertainty() -> None:
    fitted = line([3.0, 8.0], [3.3, 8.8])
    assert fitted.corrected(5.5) == pytest.approx(5.0)
    with pytest.raises(Refusal, match="2 readings on 2 pieces leave no scatter"):
        fitted.shared_uncertainty(5.5)
    with pytest.raises(Refusal, match="state the repeatability"):
        fitted.inverse(5.5)
    with pytest.raises(Refusal, match="state the repeatability"):
        known_speed(set_to=5900, true=4600).inverse(5.5)


def test_rescaled_refuses_a_factor_that_is_none() -> None:
    with pytest.raises(Refusal, match="factor must be above 0"):
        line(PIECES, SHOWN).rescaled(0.0)
