"""Intervals of one sample: they move with the unit, shrink with blocks, refuse what they must."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.errors import Refusal
from workbench.inference.means.intervals import (
    coefficient_of_variation_interval,
    mean_interval,
    next_mean_interval,
    next_value_interval,
    next_values_interval,
    sd_interval,
)
from workbench.inference.means.welch import Summary

WALLS = (4.1, 4.4, 3.9, 4.6, 4.2, 4.3)
ANSWERS = (
    mean_interval,
    sd_interval,
    next_value_interval,
    lambda sample, confidence=0.95: next_mean_interval(sample, 4, confidence),
    lambda sample, confidence=0.95: next_values_interval(sample, 4, confidence),
)


@pytest.mark.parametrize("answer", ANSWERS)
def test_inches_give_the_same_interval(answer) -> None:
    metric, inches = answer(WALLS), answer(np.array(WALLS) / 25.4)
    assert (inches.low * 25.4, inches.high * 25.4, inches.estimate * 25.4) == pytest.approx(
        (metric.low, metric.high, metric.estimate)
    )


def test_coefficient_of_variation_has_no_unit() -> None:
    metric = coefficient_of_variation_interval(WALLS)
    inches = coefficient_of_variation_interval(np.array(WALLS) / 25.4)
    assert (inches.low, inches.high) == pytest.approx((metric.low, metric.high))


@pytest.mark.parametrize("answer", ANSWERS)
def test_a_printed_summary_gives_what_the_values_give(answer) -> None:
    printed = Summary(n=6, mean=float(np.mean(WALLS)), sd=float(np.std(WALLS, ddof=1)))
    assert (answer(printed).low, answer(printed).high) == pytest.approx(
        (answer(WALLS).low, answer(WALLS).high)
    )


@pytest.mark.parametrize("answer", ANSWERS)
def test_more_confidence_is_wider_and_more_blocks_are_tighter(answer) -> None:
    few, many = Summary(n=6, mean=4.2, sd=0.3), Summary(n=60, mean=4.2, sd=0.3)
    assert answer(few, 0.99).half_width > answer(few, 0.95).half_width
    assert answer(many).half_width < answer(few).half_width


def test_predictions_are_ordered() -> None:
    """A mean of the next four is easier to foretell than one; all four are harder."""
    widths = [answer(WALLS).half_width for answer in (ANSWERS[0], ANSWERS[3], ANSWERS[2])]
    assert widths[0] < widths[1] < widths[2] < ANSWERS[4](WALLS).half_width
    assert next_values_interval(WALLS, 1).high == pytest.approx(next_value_interval(WALLS).high)


@given(shift=st.floats(-1e3, 1e3))
@settings(max_examples=30, deadline=None)
def test_a_shift_moves_the_mean_and_not_the_spread(shift: float) -> None:
    moved = np.array(WALLS) + shift
    assert mean_interval(moved).low == pytest.approx(mean_interval(WALLS).low + shift, abs=1e-9)
    assert sd_interval(moved).high == pytest.approx(sd_interval(WALLS).high, rel=1e-9)


def test_coefficient_of_variation_is_open_when_the_mean_may_be_nothing() -> None:
    found = coefficient_of_variation_interval(Summary(n=3, mean=0.2, sd=1.0))
    assert found.high == math.inf
    assert 0 < found.low < found.estimate


def test_coverage_of_the_coefficient_of_variation() -> None:
    generator = np.random.default_rng(4)
    samples = generator.normal(5.0, 1.0, (600, 6))
    found = [coefficient_of_variation_interval(row) for row in samples]
    covered = np.mean([interval.contains(0.2) for interval in found])
    assert abs(covered - 0.95) < 4 * math.sqrt(0.95 * 0.05 / 600)


@pytest.mark.parametrize("answer", [*ANSWERS, coefficient_of_variation_interval])
@pytest.mark.parametrize(
    ("sample", "message"),
    [
        ([4.1], "holds 1 number; at least 2"),
        ([], "holds 0 numbers"),
        ([4.1, math.nan, 4.2], "nan at place 2"),
        ([4.1, math.inf], "inf at place 2"),
        (["thick", "thin"], "not a number"),
        ([[4.1, 4.2], [4.3, 4.4]], "2 dimensions"),
        (Summary(n=1, mean=4.0, sd=0.0), "counts 1"),
    ],
)
def test_samples_refused(answer, sample, message) -> None:
    with pytest.raises(Refusal, match=message):
        answer(sample)


@pytest.mark.parametrize("answer", [*ANSWERS, coefficient_of_variation_interval])
@pytest.mark.parametrize("confidence", [0, 1, 95, -0.1, math.nan])
def test_confidence_refused(answer, confidence) -> None:
    with pytest.raises(Refusal, match="Confidence must lie between 0 and 1"):
        answer(WALLS, confidence)


def test_no_spread_refused() -> None:
    with pytest.raises(Refusal, match="All 3 values are equal"):
        sd_interval([4, 4, 4])
    with pytest.raises(Refusal, match="All 3 values are equal"):
        coefficient_of_variation_interval([4, 4, 4])


def test_coefficient_of_variation_below_zero_refused() -> None:
    with pytest.raises(Refusal, match="needs a mean above 0"):
        coefficient_of_variation_interval([-1.0, -2.0, -3.0])


@pytest.mark.parametrize("count", [0, -2, 1.5])
def test_count_of_future_blocks_refused(count) -> None:
    with pytest.raises(Refusal, match="next blocks are 1 or more"):
        next_values_interval(WALLS, count)
