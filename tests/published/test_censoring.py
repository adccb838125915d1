"""Censored normal samples against R."""

import numpy as np
import pytest

from workbench.inference.measuring.censoring import censored_normal

VALUES = [2.0, 2.0, 2.0, 2.31, 2.44, 2.52, 2.60, 2.71, 2.83, 3.02, 3.15, 3.40]


def test_against_survreg() -> None:
    """R survival::survreg, tests/published/r/censoring.txt."""
    found = censored_normal(VALUES, [True] * 3 + [False] * 9)
    assert found.mean == pytest.approx(2.50344390016, rel=1e-8)
    assert found.sd == pytest.approx(0.569791538575, rel=1e-8)
    assert found.mean_standard_error == pytest.approx(0.171370184734, rel=1e-7)
    assert found.sd_standard_error / found.sd == pytest.approx(0.253071435753, rel=1e-7)
    assert found.log_likelihood == pytest.approx(-10.815776933, rel=1e-9)


def test_two_limits_against_survreg() -> None:
    found = censored_normal([2.0, 2.2, *VALUES[2:]], [True] * 3 + [False] * 9)
    assert found.mean == pytest.approx(2.522068066, rel=1e-8)
    assert found.sd == pytest.approx(0.543697568294, rel=1e-8)


def test_fluazinam_turned_about() -> None:
    """Hose & Van den Brink (2004); Delignette-Muller & Dutang (2015), J. Stat. Softw. 64(4).

    R fitdistrplus fluazinam is censored above: on the negative logarithm it is censored below. The
    printed likelihood is that of the data before the logarithm.
    """
    data = np.log([3.8, 33.6, 87, 1700, 640, 1155, 113, 129, 586, 1856, 1.6, 4.8, 82, 155])
    above = np.isin(np.arange(14), [3, 5, 9])
    found = censored_normal(-data, above)
    assert found.mean == pytest.approx(-4.977, rel=1e-3)
    assert found.sd == pytest.approx(2.688, rel=1e-3)
    assert found.mean_standard_error == pytest.approx(0.742, rel=1e-3)
    assert found.sd_standard_error == pytest.approx(0.606, rel=1e-3)
    assert found.log_likelihood - data[~above].sum() == pytest.approx(-72.81, abs=5e-3)
