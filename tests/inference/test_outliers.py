"""Outliers: unit, mirror, false alarms, masked values, nothing dropped, refusals."""

import math

import numpy as np
import pytest

from workbench.errors import Refusal
from workbench.inference.outliers import SIDES, generalised_esd, grubbs

WALLS = (4.1, 4.4, 3.9, 4.6, 4.2, 4.3, 4.0, 6.5)


def test_unit_and_origin_do_not_matter() -> None:
    moved = grubbs(np.array(WALLS) / 25.4 - 8)
    assert moved.place == grubbs(WALLS).place == 7
    assert moved.p_value == pytest.approx(grubbs(WALLS).p_value)


def test_mirrored_values_swap_the_sides() -> None:
    mirrored = [-value for value in WALLS]
    assert grubbs(mirrored, "lower").p_value == pytest.approx(grubbs(WALLS, "upper").p_value)
    assert grubbs(WALLS, "lower").value == 3.9


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("confidence", [0.9, 0.95, 0.99])
def test_p_is_the_level_at_the_critical_distance(side: str, confidence: float) -> None:
    """A value moved until it lies at its own critical distance has p = 1 - confidence."""
    sign = -1 if side == "lower" else 1
    row = np.array([4.1, 4.4, 3.9, 4.6, 4.2, 4.3, 4.0])
    low, high = 0.0, 50.0
    for _ in range(80):
        middle = (low + high) / 2
        found = grubbs(np.append(row, row.mean() + sign * middle), side)
        low, high = (
            (middle, high) if found.statistic < found.critical(confidence) else (low, middle)
        )
    assert found.p_value == pytest.approx(1 - confidence, rel=1e-6)


def test_false_alarms_are_what_the_level_says() -> None:
    generator = np.random.default_rng(3)
    samples = generator.normal(size=(3000, 12))
    alarms = np.mean([grubbs(row).p_value < 0.05 for row in samples])
    found = np.mean([bool(generalised_esd(row, 3).suspects) for row in samples[:1500]])
    assert alarms == pytest.approx(0.05, abs=0.016)
    assert found == pytest.approx(0.05, abs=0.025)


def test_two_far_values_do_not_hide_each_other() -> None:
    row = [*np.linspace(-1, 1, 30), 4.0, 4.1]
    found = generalised_esd(row, 5)
    assert found.suspects == (31, 30)
    assert len(found.steps) == 5


def test_the_search_ends_when_nothing_varies_any_more() -> None:
    found = generalised_esd([3.0] * 10 + [9.0], 4)
    assert found.suspects == (10,)
    assert len(found.steps) == 1


def test_a_value_infinitely_far_has_no_odds() -> None:
    assert grubbs([0, 0, 0, 0, 1e9]).p_value == pytest.approx(0, abs=1e-12)


def test_refusals() -> None:
    with pytest.raises(Refusal, match="holds 2 numbers; at least 3"):
        grubbs([1, 2])
    with pytest.raises(Refusal, match="All 4 numbers of the sample are equal"):
        grubbs([1, 1, 1, 1])
    with pytest.raises(Refusal, match="nan at place 2"):
        generalised_esd([1, math.nan, 3], 1)
    with pytest.raises(Refusal, match="not 'left'"):
        grubbs(WALLS, "left")
    for most in (0, 7, 1.5):
        with pytest.raises(Refusal, match="From 1 to 6 values can be looked for"):
            generalised_esd(WALLS, most)
    with pytest.raises(Refusal, match="Confidence must lie"):
        generalised_esd(WALLS, 1, 1)
    with pytest.raises(Refusal, match="Confidence must lie"):
        grubbs(WALLS).critical(0)
