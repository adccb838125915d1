"""Readings as intervals: joining, censoring, and what is refused."""

import math

import numpy as np
import pytest

from workbench.errors import Refusal
from workbench.inference.distributions.readings import EVERYWHERE, Readings


def test_equal_values_are_counted_together() -> None:
    found = Readings.of([4.2, 4.1, 4.2, 4.2, 4.4], step=0.1)
    assert found.counts.tolist() == [1, 3, 1]
    assert found.size == 5
    assert found.low == pytest.approx([4.05, 4.15, 4.35])


def test_neighbouring_steps_share_their_edge_to_the_last_bit() -> None:
    found = Readings.of_steps(range(300, 600), [1] * 300, 0.01)
    assert (found.high[:-1] == found.low[1:]).all()


def test_censored_readings_have_an_open_end() -> None:
    found = Readings.of([4.1, 4.3, 4.4], below={4.0: 2}, above={5.0: 1})
    assert (found.censored, found.size) == (3, 6)
    assert (found.low[0], found.high[0], found.counts[0]) == (-math.inf, 4.0, 2)
    assert found.high[-1] == math.inf


def test_joining_keeps_every_reading_and_the_ends() -> None:
    generator = np.random.default_rng(1)
    steps, counts = np.unique(generator.normal(4600, 300, 50_000).round(), return_counts=True)
    whole = Readings.of_steps(steps, counts, 0.001)
    joined = whole.merged(100)
    assert joined.size == whole.size
    assert len(joined.counts) <= 101
    assert (joined.low[0], joined.high[-1]) == (whole.low[0], whole.high[-1])
    assert (joined.high[:-1] <= joined.low[1:]).all()
    assert whole.merged(100_000) is whole


def test_joining_leaves_censored_readings_alone() -> None:
    found = Readings.of(np.linspace(4, 5, 900), step=0.001, below={4.0: 7}).merged(50)
    assert (found.high[0], found.counts[0]) == (4.0, 7)
    assert found.size == 907


def test_steps_of_two_gauges_are_joined_as_they_are() -> None:
    fine = Readings.of([4.11, 4.12, 4.15, 4.18, 4.2], step=0.01)
    coarse = Readings.of([4.1, 4.2, 4.3, 4.1, 4.4], step=0.1)
    both = fine.together(coarse)
    assert both.size == 10
    assert both.merged(2) is both


def test_readings_of_two_windows_are_joined_each_with_its_own() -> None:
    blind = Readings.of([4.1, 4.2, 4.3, 4.1, 4.4], step=0.1, window=(4.05, 9.0))
    sharp = Readings.of([3.9, 4.1, 4.2, 4.3, 4.4], step=0.1)
    both = blind.together(sharp)
    assert both.window == EVERYWHERE
    assert both.windows is not None
    assert both.size == 10
    assert len(both.low) == 9  # equal intervals of two windows are kept apart
    parts = {part.window: part.size for part in both.by_window}
    assert parts == {(4.05, 9.0): 5, EVERYWHERE: 5}
    assert both.together(blind).size == 15
    same = blind.together(blind)
    assert (same.windows, same.window) == (None, (4.05, 9.0))


def test_joining_neighbours_never_crosses_windows() -> None:
    values = np.linspace(4, 5, 900)
    blind = Readings.of(values[values > 4.5], step=0.001, window=(4.5, math.inf))
    joined = blind.together(Readings.of(values, step=0.001)).merged(60)
    assert len(joined.low) <= 62
    assert {part.window: part.size for part in joined.by_window} == {
        (4.5, math.inf): blind.size,
        EVERYWHERE: 900,
    }


def test_a_reading_outside_its_own_window_is_refused() -> None:
    with pytest.raises(
        Refusal, match=r"1 of the readings, the first 4, lie outside the window from 4\.2"
    ):
        Readings.between(
            [4.0, 4.3, 4.4, 4.5, 4.6],
            [4.0, 4.3, 4.4, 4.5, 4.6],
            np.ones(5),
            window=np.array([[4.2, 9.0], *[[-math.inf, math.inf]] * 4]),
        )


@pytest.mark.parametrize(
    ("values", "options", "sentence"),
    [
        ([4.1, 4.2, 4.3, 4.4], {}, "4 readings tell no shape: at least 5 readings of at least 3"),
        ([4.1] * 9, {}, "All 9 readings equal 4.1: a constant has no shape; at least 5"),
        ([4.1] * 5 + [4.2] * 5, {}, "two values only, 4.1 and 4.2: .* finer step"),
        ([], {"below": {4.0: 9}}, "All 9 readings are known only to lie beyond a limit; at least"),
        ([4.1, 4.2, 4.3, 4.4, math.nan], {}, "holds nan at place 5"),
        (
            [4.1, 4.2, 4.3, 4.4, 9],
            {"window": (0, 5)},
            "1 of the readings, the first 9, lie outside",
        ),
        ([4.1, 4.2, 4.3, 4.4, 4.5], {"window": (5, 0)}, "runs upwards, not from 5 to 0"),
        ([4.1, 4.2, 4.3, 4.4, 4.5], {"step": -1}, "0 or more and finite, not -1"),
        ([4.1, 4.2, 4.3], {"counts": [1, 2]}, "2 counts were given for 3 values"),
        ([4.1, 4.2, 4.3], {"counts": [1, 2, 0]}, "place 3 is 0; it must be a whole number"),
        ([4.1, 4.2, 4.3], {"counts": [1, 2.5, 3]}, "place 2 is 2.5"),
    ],
)
def test_refusals(values, options, sentence) -> None:
    with pytest.raises(Refusal, match=sentence):
        Readings.of(values, **options)


def test_intervals_that_run_downwards_are_refused() -> None:
    with pytest.raises(Refusal, match="place 2 runs from 3"):
        Readings.between([1, 3, 4], [2, 2, 5], [2, 2, 2])
    with pytest.raises(Refusal, match="lower and an upper end"):
        Readings.between([1, math.nan], [2, 3], [2, 4])
    with pytest.raises(Refusal, match="A step is above 0"):
        Readings.of_steps([1, 2, 3], [2, 2, 2], 0.0)
