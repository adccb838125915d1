"""Inverse prediction: limits that hold as often as they say, and agree with their parts."""

from __future__ import annotations

import math

import numpy as np
import pytest

from workbench.errors import Refusal
from workbench.inference.measuring.calibration_fit import known_speed, line


def test_fieller_limits_hold_as_often_as_they_say() -> None:
    """Simulated at 90 %: with a short, noisy calibration; three standard errors allowed."""
    generator = np.random.default_rng(11)
    references, trials, held = np.array([2.0, 4.0, 6.0, 8.0, 10.0]), 3000, 0
    for _ in range(trials):
        fitted = line(references, 0.3 + 1.1 * references + generator.normal(0, 0.8, 5))
        shown = 0.3 + 1.1 * 9.0 + generator.normal(0, 0.8, 2).mean()
        held += fitted.inverse(shown, readings=2).interval(0.90).contains(9.0)
    assert held / trials == pytest.approx(0.90, abs=3 * math.sqrt(0.09 / trials))


def test_fieller_ends_are_the_values_just_contradicted() -> None:
    """At each end the new mean lies exactly t standard errors from the line."""
    fitted = line([2.0, 4.0, 6.0, 10.0], [2.4, 4.3, 6.9, 10.7], reference_uncertainty=0.05)
    answer = fitted.inverse(7.7, readings=3)
    limits = answer.interval(0.95)
    assert fitted.reading_sd is not None
    from scipy.stats import t

    factor = t.ppf(0.975, answer.degrees_of_freedom)
    for end in (limits.low, limits.high):
        error = math.sqrt(fitted.reading_sd**2 / 3 + float(fitted.covariance().between(end, end)))
        assert abs(7.7 - fitted.indicated(end)) / error == pytest.approx(factor, rel=1e-9)


def test_a_known_slope_makes_the_limits_symmetric() -> None:
    exact = known_speed(set_to=5900, true=4600, repeatability=0.05).inverse(6.0, readings=4)
    assert exact.interval().low == pytest.approx(exact.wald_interval().low, rel=1e-12)
    assert exact.interval().high == pytest.approx(exact.wald_interval().high, rel=1e-12)
    assert exact.standard_uncertainty == pytest.approx(0.05 / 2 * 4600 / 5900, rel=1e-12)
    assert exact.degrees_of_freedom == math.inf


def test_more_readings_reduce_only_their_own_part() -> None:
    fitted = line([2.0, 4.0, 6.0, 10.0], [2.4, 4.3, 6.9, 10.7])
    one, many = fitted.inverse(7.0), fitted.inverse(7.0, readings=100)
    assert many.line_uncertainty == one.line_uncertainty
    assert many.reading_uncertainty == pytest.approx(one.reading_uncertainty / 10)
    assert fitted.inverse(7.0, readings=math.inf).standard_uncertainty == one.line_uncertainty


def test_stated_uncertainty_raises_the_degrees_of_freedom() -> None:
    references, shown = [2.0, 4.0, 6.0, 10.0], [2.4, 4.3, 6.9, 10.7]
    plain = line(references, shown).inverse(7.0)
    stated = line(references, shown, reference_uncertainty=0.2).inverse(7.0)
    assert plain.degrees_of_freedom == 2
    assert 2 < stated.degrees_of_freedom < math.inf


def test_extrapolation_is_said() -> None:
    fitted = line([2.0, 4.0, 6.0, 10.0], [2.4, 4.3, 6.9, 10.7])
    assert fitted.inverse(11.0).extrapolated
    assert not fitted.inverse(10.0).extrapolated


def test_a_slope_not_told_from_nothing_is_refused() -> None:
    fitted = line([2.0, 4.0, 6.0, 10.0], [5.0, 9.0, 4.0, 8.0])
    with pytest.raises(Refusal, match="is not told from 0 at confidence"):
        fitted.inverse(6.0).interval()


def test_bad_questions_are_refused() -> None:
    fitted = line([2.0, 4.0, 6.0, 10.0], [2.4, 4.3, 6.9, 10.7])
    with pytest.raises(Refusal, match="The indicated value must be a finite number, not inf"):
        fitted.inverse(math.inf)
    with pytest.raises(Refusal, match="A mean is of 1 or more readings, not of 0"):
        fitted.inverse(6.0, readings=0)
    with pytest.raises(Refusal, match="Confidence must lie between 0 and 1"):
        fitted.inverse(6.0).interval(95)
