"""The predicted thinnest place: coverage, seeds, units, the curve over the grid, refusals."""

import math

import numpy as np
import pytest

from workbench.errors import Refusal
from workbench.inference.extremes.block_minimum import minimum_by_grid, predicted_minimum
from workbench.inference.extremes.share_below import share_below
from workbench.inference.nested.squares import nested_squares


def test_predictions_keep_their_confidence(drawn_study, true_minima) -> None:
    following = true_minima(120)
    held = [
        predicted_minimum(
            nested_squares(drawn_study(seed, blocks=8)), bores=4, seed=1, blocks=2_000
        )
        .interval(0.9)
        .contains(block)
        for seed, block in enumerate(following)
    ]
    assert abs(np.mean(held) - 0.9) < 4 * math.sqrt(0.09 / 120)


def test_a_large_study_predicts_what_is_drawn_from_the_truth(drawn_study, true_minima) -> None:
    found = predicted_minimum(nested_squares(drawn_study(1, blocks=800)), bores=4, seed=1)
    truth = true_minima(100_000)
    assert found.mean == pytest.approx(truth.mean(), abs=0.03)
    shares = np.array([0.01, 0.1, 0.5, 0.9])
    assert found.quantile(shares) == pytest.approx(np.quantile(truth, shares), abs=0.05)


def test_few_blocks_leave_more_open(drawn_study) -> None:
    few, many = (
        predicted_minimum(nested_squares(drawn_study(2, blocks=n)), bores=4, seed=1)
        for n in (5, 200)
    )
    assert few.interval().half_width > many.interval().half_width


def test_quantiles_and_chances_are_each_others_inverse(drawn_study) -> None:
    found = predicted_minimum(nested_squares(drawn_study(3)), bores=4, seed=1)
    shares = np.array([0.005, 0.2, 0.7])
    assert found.chance_below(found.quantile(shares)) == pytest.approx(shares, abs=2e-5)


def test_the_mean_chance_is_that_of_the_integral(drawn_study) -> None:
    """Averaged over what is open, the drawn chance is the mean of the integral's shares."""
    squares = nested_squares(drawn_study(4, blocks=300))
    found = predicted_minimum(squares, bores=4, seed=1)
    curve = share_below(squares, [4.0, 4.3], "block", bores=4, seed=1)
    assert found.chance_below([4.0, 4.3]) == pytest.approx(curve.share, rel=0.05)


def test_the_seed_and_the_unit(drawn_study) -> None:
    data = drawn_study(5)
    plain, again = (
        predicted_minimum(nested_squares(data), bores=4, seed=7, blocks=500) for _ in range(2)
    )
    assert (plain.minima == again.minima).all()
    inches = data.assign(value=data["value"] / 25.4)
    other = predicted_minimum(nested_squares(inches), bores=4, seed=7, blocks=500)
    assert other.minima * 25.4 == pytest.approx(plain.minima)


def test_repeat_error_makes_a_reading_thinner_than_the_iron(drawn_study) -> None:
    squares = nested_squares(drawn_study(6))
    reading = predicted_minimum(squares, bores=4, seed=1, blocks=20_000)
    iron = predicted_minimum(squares, bores=4, seed=1, blocks=20_000, error_variance=0.07**2)
    assert reading.mean < iron.mean


class TestCurve:
    def test_it_falls_and_meets_the_prediction_at_the_grid(self, drawn_study) -> None:
        squares = nested_squares(drawn_study(7))
        curve = minimum_by_grid(squares, bores=4, seed=1, times=3, blocks=40_000)
        assert (np.diff(curve.expected) < 0).all()
        assert ((curve.low < curve.expected) & (curve.expected < curve.high)).all()
        whole = predicted_minimum(squares, bores=4, seed=2)
        assert curve.expected[curve.read - 1] == pytest.approx(whole.mean, abs=0.008)

    def test_one_place_is_any_place(self, drawn_study) -> None:
        squares = nested_squares(drawn_study(8, blocks=200, spreads=(0.2, 0.0, 0.001)))
        curve = minimum_by_grid(squares, bores=1, seed=1, times=1, blocks=40_000)
        assert curve.expected[0] == pytest.approx(squares.mean, abs=0.01)
        # of four places with a pattern and nothing else, the whole grid holds the lowest
        assert curve.expected[3] == pytest.approx(squares.mean - 0.10, abs=0.01)

    def test_the_fall_is_read_from_the_curve(self, drawn_study) -> None:
        curve = minimum_by_grid(nested_squares(drawn_study(9)), bores=4, seed=1, times=2)
        assert curve.fall(2) == pytest.approx(curve.expected[3] - curve.expected[7])
        assert curve.fall(1) == 0
        assert curve.fall(0.5) < 0
        with pytest.raises(Refusal, match="runs from 1 to 8 places a bore, not to 12"):
            curve.fall(3)


def test_refusals(drawn_study) -> None:
    squares = nested_squares(drawn_study(1))
    with pytest.raises(Refusal, match="There are 1 bores or more, not 0"):
        predicted_minimum(squares, bores=0, seed=1)
    with pytest.raises(Refusal, match="There are 100 drawn blocks or more, not 10"):
        predicted_minimum(squares, bores=4, seed=1, blocks=10)
    with pytest.raises(Refusal, match="A variance is 0 or more"):
        minimum_by_grid(squares, bores=4, seed=1, error_variance=math.nan)
    with pytest.raises(Refusal, match=r"grows a whole number of times, not 1\.5"):
        minimum_by_grid(squares, bores=4, seed=1, times=1.5)
    found = predicted_minimum(squares, bores=4, seed=1, blocks=200)
    with pytest.raises(Refusal, match="A share lies between 0 and 1"):
        found.quantile([0.5, 1.0])
    with pytest.raises(Refusal, match="Confidence must lie"):
        found.interval(0)
