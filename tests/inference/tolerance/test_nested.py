"""Tolerance and prediction limits of nested studies: coverage kept short, identities, refusals.

The long run of the same simulation is tests/calibration/coverage_tolerance.py.
"""

import math

import numpy as np
import pandas as pd
import pytest
from scipy.special import ndtr

from workbench.errors import Refusal
from workbench.inference.means.intervals import next_value_interval
from workbench.inference.nested.squares import nested_squares
from workbench.inference.tolerance.nested import (
    nested_prediction,
    nested_predictions,
    nested_tolerance,
)
from workbench.inference.tolerance.normal import normal_tolerance

SPREADS = {"block": 0.2, "bore": 0.12, "place": 0.1}
PATTERN = np.array([0.12, -0.02, -0.10])


def study(rng, blocks=8, bores=3, lost=0.0):
    bore = np.repeat(np.arange(blocks * bores), 3)
    place = np.tile(np.arange(3), blocks * bores)
    value = (
        4.6
        + SPREADS["block"] * rng.standard_normal(blocks)[bore // bores]
        + SPREADS["bore"] * rng.standard_normal(blocks * bores)[bore]
        + SPREADS["place"] * rng.standard_normal(bore.size)
        + PATTERN[place]
    )
    table = pd.DataFrame({"block": bore // bores, "bore": bore, "place": place, "value": value})
    return table[rng.random(len(table)) >= lost]


def true_share_above(low, what):
    levels = {"block": 1, "bore": 2, "place": 3}[what]
    deviation = math.sqrt(sum(v**2 for v in list(SPREADS.values())[:levels]))
    means = 4.6 + (PATTERN if what == "place" else np.zeros(1))
    return float(ndtr((means - low) / deviation).mean())


@pytest.mark.parametrize("what", ["block", "bore", "place"])
def test_lower_limits_keep_their_confidence(what) -> None:
    rng = np.random.default_rng(5)
    held = []
    for seed in range(150):
        squares = nested_squares(study(rng, lost=0.1))
        found = nested_tolerance(
            squares, what, coverage=0.9, confidence=0.9, seed=seed, draws=1_000
        )
        held.append(true_share_above(found.low, what) >= 0.9)
    assert abs(np.mean(held) - 0.9) < 4 * math.sqrt(0.09 / 150)


def test_two_sided_limits_keep_their_confidence() -> None:
    rng = np.random.default_rng(6)
    held = []
    for seed in range(150):
        found = nested_tolerance(
            nested_squares(study(rng)),
            "bore",
            coverage=0.9,
            confidence=0.9,
            side="both",
            seed=seed,
            draws=1_000,
        )
        inside = true_share_above(found.low, "bore") - true_share_above(found.high, "bore")
        held.append(inside >= 0.9)
    assert abs(np.mean(held) - 0.9) < 4 * math.sqrt(0.09 / 150)


def test_predictions_keep_their_confidence() -> None:
    rng = np.random.default_rng(7)
    held = []
    for seed in range(150):
        squares = nested_squares(study(rng))
        found = nested_prediction(squares, "bore", confidence=0.9, seed=seed, draws=4_000)
        deviation = math.hypot(SPREADS["block"], SPREADS["bore"])
        held.append(found.contains(4.6 + deviation * rng.standard_normal()))
    assert abs(np.mean(held) - 0.9) < 4 * math.sqrt(0.09 / 150)


def test_blocks_alone_have_the_exact_normal_limits() -> None:
    values = np.random.default_rng(8).normal(4.6, 0.3, 12)
    squares = nested_squares(
        pd.DataFrame({"block": np.arange(12), "value": values}), bore=None, place=None
    )
    for side in ("lower", "upper", "both"):
        exact = normal_tolerance(values, 0.9, 0.95, side)
        found = nested_tolerance(
            squares, "block", coverage=0.9, confidence=0.95, side=side, seed=1, draws=100_000
        )
        assert (found.low, found.high) == pytest.approx((exact.low, exact.high), abs=0.012)
    following, exact = nested_prediction(squares, "block", seed=1), next_value_interval(values)
    assert (following.low, following.high) == pytest.approx((exact.low, exact.high), abs=0.01)


def test_a_thin_place_of_the_pattern_lies_lower() -> None:
    squares = nested_squares(study(np.random.default_rng(9), blocks=30))
    low = {
        place: nested_tolerance(squares, "place", seed=1, place=place).low
        for place in (None, *squares.pattern)
    }
    assert low["2"] < low[None] < low["0"]


def test_repeat_error_is_taken_off() -> None:
    squares = nested_squares(study(np.random.default_rng(10), blocks=30))
    reading = nested_tolerance(squares, "place", seed=1).low
    iron = nested_tolerance(squares, "place", seed=1, error_variance=0.05**2).low
    assert iron > reading
    bore = nested_tolerance(squares, "bore", seed=1).low
    assert bore > iron
    assert nested_tolerance(squares, "bore", seed=1, error_variance=0.05**2).low == bore


def test_limits_follow_the_unit_and_mirror() -> None:
    data = study(np.random.default_rng(11))
    plain = nested_tolerance(nested_squares(data), "place", seed=3)
    inches = data.assign(value=data["value"] / 25.4)
    assert nested_tolerance(nested_squares(inches), "place", seed=3).low * 25.4 == pytest.approx(
        plain.low
    )
    mirrored = nested_squares(data.assign(value=-data["value"]))
    upper = nested_tolerance(mirrored, "place", side="upper", seed=3)
    assert upper.high == pytest.approx(-plain.low, abs=0.02)


def test_refusals() -> None:
    squares = nested_squares(study(np.random.default_rng(12)))
    with pytest.raises(Refusal, match="One of block, bore, place is asked for, not 'deck'"):
        nested_tolerance(squares, "deck", seed=1)
    with pytest.raises(Refusal, match="no place 'rear'; there are 0, 1, 2"):
        nested_tolerance(squares, "place", place="rear", seed=1)
    with pytest.raises(Refusal, match="A variance is 0 or more, not -1"):
        nested_prediction(squares, "place", error_variance=-1, seed=1)
    with pytest.raises(Refusal, match="Coverage must lie"):
        nested_tolerance(squares, "bore", coverage=0, seed=1)


def test_levels_predicted_at_once_are_predicted_as_by_themselves() -> None:
    squares = nested_squares(study(np.random.default_rng(7)))
    errors = {"block": 0.0, "bore": 0.0, "place": 0.02**2}
    together = nested_predictions(squares, errors, seed=5, draws=2_000)
    for what, error in errors.items():
        alone = nested_prediction(squares, what, seed=5, draws=2_000, error_variance=error)
        assert together[what] == alone
