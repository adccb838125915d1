"""York's line against Pearson's data with York's weights."""

import math

import numpy as np
import pytest

from workbench.inference.measuring.errors_in_variables import york

# York (1966), Canadian Journal of Physics 44:1079; York et al. (2004), American Journal of Physics
# 72:367-375, Table II (printed values from memory; the digits read again in public test files).
X = np.array([0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4])
Y = np.array([5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5])
WEIGHT_X = np.array([1000, 1000, 500, 800, 200, 80, 60, 20, 1.8, 1.0])
WEIGHT_Y = np.array([1.0, 1.8, 4, 8, 20, 20, 70, 70, 100, 500])


def test_line_against_york() -> None:
    fitted = york(X, Y, WEIGHT_X**-0.5, WEIGHT_Y**-0.5)
    assert fitted.intercept == pytest.approx(5.47991022, abs=5e-9)
    assert fitted.slope == pytest.approx(-0.480533407, abs=5e-10)
    assert math.sqrt(fitted.covariance.zero) == pytest.approx(0.294971, abs=5e-7)
    assert math.sqrt(fitted.covariance.slope) == pytest.approx(0.0579850, abs=6e-8)
    assert fitted.chi_square == pytest.approx(11.8663532, abs=5e-8)
    assert fitted.chi_square / fitted.degrees_of_freedom == pytest.approx(1.4833, abs=5e-5)
