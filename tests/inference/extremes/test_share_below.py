"""Shares below a limit: order, coverage, monotony, units, limits of the model, refusals."""

import math

import numpy as np
import pytest
from scipy.special import ndtr

from workbench.errors import Refusal
from workbench.inference.extremes.nested_integral import Parameters
from workbench.inference.extremes.share_below import share_below, share_curves
from workbench.inference.nested.mean_squares import MeanSquare
from workbench.inference.nested.nested_study import NestedSquares
from workbench.inference.nested.squares import nested_squares

LIMITS = np.linspace(3.6, 4.8, 25)


def test_a_block_has_more_chances_than_a_bore_than_a_place(drawn_study) -> None:
    squares = nested_squares(drawn_study(1))
    place, bore, block = (
        share_below(squares, LIMITS, unit, bores=4, seed=1) for unit in ("place", "bore", "block")
    )
    assert (place.share < bore.share).all()
    assert (bore.share < block.share).all()
    assert (block.share <= 4 * bore.share + 1e-12).all()  # Bonferroni's inequality
    assert (bore.share <= 4 * place.share + 1e-12).all()
    for curve in (place, bore, block):
        assert (np.diff(curve.share) > 0).all()
        assert ((curve.low <= curve.share) & (curve.share <= curve.high)).all()


def test_one_bore_is_a_block_of_one_bore(drawn_study) -> None:
    squares = nested_squares(drawn_study(2))
    bore = share_below(squares, LIMITS, "bore", bores=4, seed=1)
    block = share_below(squares, LIMITS, "block", bores=1, seed=1)
    assert block.share == pytest.approx(bore.share, rel=1e-9)


def test_independent_places_multiply() -> None:
    """Without block and bore spread a block is so many independent places."""
    squares = NestedSquares(
        mean=4.6,
        block=MeanSquare(value=0.09 / 8, degrees_of_freedom=10**9),
        bore=MeanSquare(value=0.09 / 2, degrees_of_freedom=10**9),
        place=MeanSquare(value=0.09, degrees_of_freedom=10**9),
        bore_in_block=1 / 4,
        place_in_block=1 / 8,
        place_in_bore=1 / 2,
        pattern={"a": 0.0, "b": 0.0},
        place_counts={"a": 10**9, "b": 10**9},
        mean_of=10**9,
    )
    found = share_below(squares, LIMITS, "block", bores=4, seed=1, draws=10)
    expected = 1 - ndtr((4.6 - LIMITS) / 0.3) ** 8
    assert found.share == pytest.approx(expected, rel=3e-4)


@pytest.mark.parametrize("unit", ["place", "block"])
def test_intervals_keep_their_confidence(drawn_study, true_minima, unit) -> None:
    limit = 4.1
    if unit == "block":
        truth = float((true_minima(400_000) < limit).mean())
    else:
        deviation = math.sqrt(0.22**2 + 0.12**2 + 0.10**2)
        pattern = np.array([0.12, -0.02, -0.10, 0.0])
        truth = float(ndtr((limit - 4.6 - pattern) / deviation).mean())
    held = [
        share_below(
            nested_squares(drawn_study(seed, blocks=8)),
            limit,
            unit,
            bores=4,
            seed=seed,
            confidence=0.9,
            draws=200,
        )
        .at(0)
        .contains(truth)
        for seed in range(100)
    ]
    assert abs(np.mean(held) - 0.9) < 4 * math.sqrt(0.09 / 100)


def test_the_unit_changes_nothing(drawn_study) -> None:
    data = drawn_study(3)
    plain = share_below(nested_squares(data), LIMITS, bores=4, seed=1, draws=50)
    inches = data.assign(value=data["value"] / 25.4)
    other = share_below(nested_squares(inches), LIMITS / 25.4, bores=4, seed=1, draws=50)
    assert other.share == pytest.approx(plain.share, rel=1e-9)
    assert other.low == pytest.approx(plain.low, rel=1e-9)


def test_repeat_error_is_taken_off(drawn_study) -> None:
    squares = nested_squares(drawn_study(4))
    reading = share_below(squares, 4.0, bores=4, seed=1)
    iron = share_below(squares, 4.0, bores=4, seed=1, error_variance=0.07**2)
    assert iron.share[0] < reading.share[0]
    gone = share_below(squares, 4.0, bores=4, seed=1, error_variance=1.0)  # more than there is
    assert 0 < gone.share[0] < iron.share[0]


def test_refusals(drawn_study) -> None:
    squares = nested_squares(drawn_study(5))
    with pytest.raises(Refusal, match=r"0\.18 lies 17 standard deviations .* unit of the readings"):
        share_below(squares, 0.18, bores=4, seed=1)
    with pytest.raises(Refusal, match="of place, bore, block, not of 'deck'"):
        share_below(squares, 4.0, "deck", bores=4, seed=1)
    with pytest.raises(Refusal, match="the limits holds nan"):
        share_below(squares, [4.0, math.nan], bores=4, seed=1)
    with pytest.raises(Refusal, match="1 bores or more"):
        share_below(squares, 4.0, bores=0, seed=1)


def test_the_spread_of_a_place_stays_as_drawn_where_blocks_do_not_vary(drawn_study) -> None:
    """Set to 0 one by one, components drawn below 0 would widen every draw of the whole."""
    squares = nested_squares(drawn_study(3, blocks=8, spreads=(0.0, 0.05, 0.3)))
    draws = squares.draws(2000, np.random.default_rng(1))
    found = Parameters.drawn(draws)
    whole = found.block**2 + found.bore**2 + found.place**2
    assert (draws.components["block"] < 0).mean() > 0.1
    assert whole == pytest.approx(draws.total(["block", "bore", "place"]))
    above = found.block**2 + found.bore**2
    inside = draws.total(["block", "bore"]) <= whole
    assert above[inside] == pytest.approx(draws.total(["block", "bore"])[inside])


def test_units_and_limits_asked_for_together_are_answered_as_by_themselves(drawn_study) -> None:
    """However far apart limits lie, and whichever units share the work, each stands alone."""
    squares = nested_squares(drawn_study(5))
    limits = {"place": [4.4], "bore": [3.9, 4.4], "block": [*LIMITS, 2.5, 6.5]}
    given = {"bores": 4, "seed": 3, "draws": 60, "error_variance": 0.03**2, "shared": 0.05}
    together = share_curves(squares, limits, **given)
    for unit, own in limits.items():
        for at, limit in enumerate(own):
            alone = share_below(squares, limit, unit, **given).at(0)
            found = together[unit].at(at)
            for end in ("estimate", "low", "high"):
                assert getattr(found, end) == pytest.approx(getattr(alone, end), abs=1e-12)
