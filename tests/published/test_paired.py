"""Paired analyses against printed examples."""

import numpy as np
import pytest

from workbench.inference.means.paired import paired
from workbench.inference.ranks.signed_rank import signed_rank
from workbench.inference.resampling.sign_permutation import sign_permutation

# Student (1908), Biometrika 6, 1-25: extra sleep; R datasets::sleep (printed digits from memory).
SLEEP_FIRST = (0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0)
SLEEP_SECOND = (1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4)

# Fisher (1935), The Design of Experiments, sections 17 and 21: Darwin's maize, eighths of an inch.
MAIZE = (49, -67, 8, 16, 6, 23, 28, 41, 14, 29, 56, 24, 75, 60, -48)

# Hollander & Wolfe (1973), p. 29: depression scale; R wilcox.test help (from memory).
FIRST_VISIT = (1.83, 0.50, 1.62, 2.48, 1.68, 1.88, 1.55, 3.06, 1.30)
SECOND_VISIT = (0.878, 0.647, 0.598, 2.05, 1.06, 1.29, 1.06, 3.14, 1.29)


def test_sleep() -> None:
    found = paired(SLEEP_FIRST, SLEEP_SECOND)
    interval = found.interval()
    assert found.statistic() == pytest.approx(-4.0621, abs=5e-5)
    assert found.degrees_of_freedom == 9
    assert found.p_value() == pytest.approx(0.002833, abs=5e-7)
    assert (interval.low, interval.high) == pytest.approx((-2.4598858, -0.7001142), abs=5e-8)


def test_maize_by_student() -> None:
    found = paired(MAIZE, np.zeros(15))
    assert found.estimate == pytest.approx(20.93, abs=5e-3)
    assert found.statistic() == pytest.approx(2.148, abs=5e-4)
    assert found.p_value() == pytest.approx(0.0497, abs=5e-5)


def test_maize_by_turning_signs() -> None:
    """835 arrangements greater, 28 as great, of 32 768."""
    found = sign_permutation(MAIZE)
    assert found.arrangements == 32768
    assert found.p_above(0) * 32768 == 863
    assert (1 - found.p_below(0)) * 32768 == 835
    assert found.p_value() == pytest.approx(0.05267, abs=5e-6)


def test_depression_scale() -> None:
    found = signed_rank(np.subtract(FIRST_VISIT, SECOND_VISIT))
    interval = found.interval()
    assert found.statistic == 40
    assert found.p_above(0) == pytest.approx(0.01953, abs=5e-6)
    assert found.estimate == pytest.approx(0.46, abs=5e-3)
    assert (interval.low, interval.high) == pytest.approx((0.010, 0.786), abs=5e-4)
