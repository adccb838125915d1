"""The drawn difference against quantiles that can be written down."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm
from scipy.stats import t as student

from workbench.castings.measuring import SharedError
from workbench.claims.monte_carlo import compared, drawn_difference, poorly_known
from workbench.inference.measuring.budget import Budget, Component
from workbench.inference.measuring.calibration_fit import known_speed, line
from workbench.inference.measuring.calibration_line import LineCovariance
from workbench.inference.measuring.correction_budget import CorrectedPart, correction_budget
from workbench.inference.results import Difference

TAIL = 0.025


def shared(*parts, gauges=()):
    components = (*(correction_budget(parts).components if parts else ()), *gauges)
    budget = Budget(components=components)
    return SharedError(
        uncertainty=budget.combined,
        degrees_of_freedom=budget.degrees_of_freedom,
        budget=budget,
        parts=parts,
        net_weights={},
        unstated=(),
    )


def own(error=1e-9, degrees=math.inf):
    return Difference(estimate=2.0, standard_error=error, degrees_of_freedom=degrees, method="m")


def drawn(difference, error):
    return drawn_difference(difference, error, np.random.default_rng(1)).interval(1 - 2 * TAIL)


def test_a_slope_alone_moves_the_difference_by_its_reciprocal():
    """value = shown / slope with a normal slope: the quantiles are those of the slope, turned."""
    speed = known_speed(set_to=5900, true=4600, true_uncertainty=460)
    part = CorrectedPart(label="S", line=speed, weight=0.0, moment=2.0)
    found = drawn(own(), shared(part))
    z = norm.ppf(1 - TAIL)
    assert found.low == pytest.approx(2.0 / (1 + 0.1 * z), rel=0.005)
    assert found.high == pytest.approx(2.0 / (1 - 0.1 * z), rel=0.005)


def test_the_own_error_is_students():
    gauge = Component(name="gauge g", kind="B", stated=1e-9)
    found = drawn(own(0.1, 4), shared(gauges=(gauge,)))
    half = 0.1 * student.ppf(1 - TAIL, 4)
    assert (found.low, found.high) == pytest.approx((2 - half, 2 + half), abs=0.01)


def test_a_gauge_adds_its_offset():
    gauge = Component(name="gauge g", kind="B", stated=0.1, sensitivity=-2.0)
    found = drawn(own(), shared(gauges=(gauge,)))
    assert found.half_width == pytest.approx(0.2 * norm.ppf(1 - TAIL), rel=0.01)


def test_scatter_and_pieces_of_a_good_line_agree_with_the_formula():
    """Many degrees of freedom, a slope known to 0.2 %: straight, so both answers are one."""
    made = replace(
        line([5.0, 20.0], [5.2, 20.3], reference_uncertainty=0.02, repeatability=0.02),
        scatter_covariance=LineCovariance(zero=4e-4, slope=2e-6, both=-2e-5),
    )
    ours = CorrectedPart(label="C1", line=made, weight=1.0, moment=12.0)
    others = CorrectedPart(label="C2", line=made, weight=-1.0, moment=-11.0)
    error = shared(ours, others)
    difference = own(0.05).widened(error.uncertainty)
    result = drawn_difference(own(0.05), error, np.random.default_rng(2))
    assert result.standard_uncertainty == pytest.approx(difference.standard_error, rel=0.01)
    found = compared(result, difference.interval(0.95), difference.standard_error)
    assert found.agree
    assert not poorly_known((ours, others))


def test_a_piece_common_to_both_lines_is_drawn_once():
    made = line([5.0, 20.0], [5.2, 20.3], reference_uncertainty=0.2, repeatability=0.0)
    ours = CorrectedPart(label="C1", line=made, weight=1.0, moment=12.0)
    others = CorrectedPart(label="C2", line=made, weight=-1.0, moment=-12.0)
    assert drawn(own(1e-6), shared(ours, others)).half_width < 1e-5


def test_a_poorly_known_slope_is_told():
    poor = known_speed(set_to=5900, true=4600, true_uncertainty=100)
    assert poorly_known((CorrectedPart(label="S", line=poor, weight=1, moment=1),))
    assert not poorly_known(())
