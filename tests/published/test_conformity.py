"""Decisions at a limit against the standards' examples (from memory)."""

import pytest

from workbench.inference.measuring.conformity import Limits, decide


def test_guard_band_at_a_least_wall() -> None:
    """ISO 14253-1:2017: the one-sided factor 1.65 at 95 %; 4.62 is inside, but not proven."""
    found = decide(4.62, 0.08, Limits(lower=4.5))
    assert found.guard_band / 0.08 == pytest.approx(1.645, abs=5e-4)
    assert found.guard_band == pytest.approx(0.132, abs=5e-4)
    assert found.probability == pytest.approx(0.9332, abs=5e-5)
    assert found.outcome == "too_close"
    assert decide(4.633, 0.08, Limits(lower=4.5)).outcome == "conforming"
    assert decide(4.631, 0.08, Limits(lower=4.5)).outcome == "too_close"


def test_breakdown_voltage_of_a_diode() -> None:
    """JCGM 106:2012, 7.3.2: -5.47 V, u = 0.05 V, at most -5.40 V: probability 0.92."""
    assert decide(-5.47, 0.05, Limits(upper=-5.40)).probability == pytest.approx(0.92, abs=5e-3)


def test_viscosity_of_an_oil() -> None:
    """JCGM 106:2012, 7.4: 13.6, u = 1.8, between 12.5 and 16.3 (mm^2/s): probability 0.66."""
    found = decide(13.6, 1.8, Limits(lower=12.5, upper=16.3))
    assert found.probability == pytest.approx(0.66, abs=5e-3)
    assert found.outcome == "too_close"
