"""Least differences and margins: they have the power asked for, mirrors, units, refusals."""

from __future__ import annotations

import math

import pytest

from workbench.errors import Refusal
from workbench.inference.means.welch import Summary, welch
from workbench.inference.planning.aims import Aim
from workbench.inference.planning.detectable import (
    detectable_difference,
    precision_of,
    showable_margin,
)
from workbench.inference.planning.layouts import Precision

FREEDOMS = [1.0, 3.0, 20.0, 1198.0, math.inf]


@pytest.mark.parametrize("df", FREEDOMS)
@pytest.mark.parametrize("power", [0.06, 0.5, 0.8, 0.99])
def test_the_difference_found_has_that_power(df, power):
    precision = Precision(standard_error=0.2, degrees_of_freedom=df)
    for kind, margin in (("greater", 0.3), ("less", 0.3), ("greater", -0.3), ("different", 0.0)):
        found = detectable_difference(precision, kind=kind, margin=margin, power=power)
        aim = Aim(kind=kind, difference=found, margin=margin)
        assert aim.power(0.2, df) == pytest.approx(power, abs=1e-7)
    greater = detectable_difference(precision, kind="greater", margin=0.3, power=power)
    less = detectable_difference(precision, kind="less", margin=0.3, power=power)
    assert less == pytest.approx(-greater)


@pytest.mark.parametrize("df", FREEDOMS)
@pytest.mark.parametrize("difference", [0.0, 0.1, -0.1])
def test_the_margin_found_has_that_power(df, difference):
    precision = Precision(standard_error=0.2, degrees_of_freedom=df)
    found = showable_margin(precision, difference=difference)
    aim = Aim(kind="same", difference=difference, margin=found)
    assert aim.power(0.2, df) == pytest.approx(0.8, abs=1e-7)


def test_what_is_measured_may_be_asked():
    difference = welch(Summary(n=9, mean=10.2, sd=0.4), Summary(n=12, mean=9.1, sd=0.3))
    precision = precision_of(difference)
    assert precision.standard_error == difference.standard_error
    # by 1.1 more than the half-width at least, whatever was found
    assert detectable_difference(precision) > difference.interval().half_width


def test_unit_does_not_matter_and_less_error_shows_less():
    plain = detectable_difference(Precision(standard_error=0.2, degrees_of_freedom=9))
    inches = detectable_difference(Precision(standard_error=0.2 / 25.4, degrees_of_freedom=9))
    assert inches == pytest.approx(plain / 25.4)
    assert detectable_difference(Precision(standard_error=0.1, degrees_of_freedom=9)) < plain
    assert detectable_difference(Precision(standard_error=0.2, degrees_of_freedom=30)) < plain


def test_a_power_below_the_level_needs_no_difference():
    precision = Precision(standard_error=0.2, degrees_of_freedom=9)
    assert detectable_difference(precision, power=0.04) == 0


def test_refusals():
    precision = Precision(standard_error=0.2, degrees_of_freedom=9)
    with pytest.raises(Refusal, match="For sameness ask which margin"):
        detectable_difference(precision, kind="same", margin=1)
    with pytest.raises(Refusal, match="Power must lie"):
        detectable_difference(precision, power=1)
    with pytest.raises(Refusal, match="Power must lie"):
        showable_margin(precision, power=0)
    with pytest.raises(Refusal, match="kind is one of"):
        detectable_difference(precision, kind="more")
