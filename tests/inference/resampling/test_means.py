"""The bootstrap of means without drawing: every draw listed, unit, swap, coverage, refusals."""

import math
from itertools import product

import numpy as np
import pytest

from workbench.errors import Refusal
from workbench.inference.resampling.blocks import bootstrap_blocks
from workbench.inference.resampling.means import bootstrap_mean

WALLS = np.array([4.137, 4.402, 3.911, 4.688, 4.253, 4.319, 4.004, 4.571])
DECKS = np.array([9.12, 9.41, 8.83, 9.02, 9.33, 9.94])


def difference(own, other, axis):
    return own.mean(axis=axis) - other.mean(axis=axis)


def test_every_draw_of_five_blocks() -> None:
    """All 3125 draws listed: the same share of them below each point between two atoms."""
    row = WALLS[:5]
    means = np.array([np.mean(draw) for draw in product(row, repeat=5)])
    found = bootstrap_mean(row)
    assert found.standard_error == pytest.approx(means.std())
    for value in np.quantile(means, [0.01, 0.1, 0.35, 0.7, 0.95]) + 0.0011:
        assert found.chance_below(value) == pytest.approx(np.mean(means < value), abs=0.004)


@pytest.mark.parametrize("method", ["bca", "percentile"])
def test_many_draws_tend_to_it(method: str) -> None:
    skewed = np.random.default_rng(1).lognormal(size=60)
    for families in ((skewed,), (skewed, DECKS)):
        figure = np.mean if len(families) == 1 else difference
        ideal = bootstrap_mean(*families).interval(0.9, method)
        drawn = bootstrap_blocks(families, figure, seed=1, resamples=100_000).interval(0.9, method)
        assert (ideal.low, ideal.high) == pytest.approx((drawn.low, drawn.high), abs=0.02)


def test_constants_are_those_of_the_drawn_bootstrap() -> None:
    ideal = bootstrap_mean(WALLS, DECKS)
    drawn = bootstrap_blocks((WALLS, DECKS), difference, seed=2, resamples=100_000)
    assert ideal.estimate == pytest.approx(drawn.estimate)
    assert ideal.acceleration == pytest.approx(drawn.acceleration, abs=1e-12)
    assert ideal.bias_correction == pytest.approx(drawn.bias_correction, abs=0.02)
    assert ideal.blocks == drawn.blocks
    assert ideal.warning == drawn.warning


@pytest.mark.parametrize("method", ["bca", "percentile"])
def test_unit_origin_and_swap(method: str) -> None:
    plain = bootstrap_mean(DECKS, WALLS).interval(0.9, method)
    moved = bootstrap_mean(DECKS / 25.4 + 3, WALLS / 25.4).interval(0.9, method)
    back = bootstrap_mean(WALLS, DECKS).interval(0.9, method)
    assert (moved.low, moved.high) == pytest.approx((plain.low / 25.4 + 3, plain.high / 25.4 + 3))
    assert (back.low, back.high) == pytest.approx((-plain.high, -plain.low))


def test_symmetric_blocks_give_the_normal_interval() -> None:
    row = np.random.default_rng(3).normal(size=300)
    row = np.concatenate([row, -row])
    found = bootstrap_mean(row).interval(0.95)
    assert found.high == pytest.approx(1.95996 * row.std() / math.sqrt(600), rel=1e-3)
    assert found.low == pytest.approx(-found.high)


def test_one_far_block_among_many() -> None:
    row = np.zeros(500)
    row[0] = 1.0
    found = bootstrap_mean(row + np.linspace(0, 1e-3, 500))
    # Drawn 0, 1, 2 ... times like Poisson: P(0) = (499/500)^500.
    assert found.chance_below(0.001 / 2 + 0.001) == pytest.approx(0.998**500, abs=2e-3)


def test_refusals() -> None:
    with pytest.raises(Refusal, match="the candidate holds 4 numbers; at least 5"):
        bootstrap_mean([1, 2, 3, 4])
    with pytest.raises(Refusal, match="the reference holds nan"):
        bootstrap_mean(WALLS, [1, 2, 3, math.nan, 5])
    with pytest.raises(Refusal, match="there is no spread"):
        bootstrap_mean([2] * 6, [3] * 6)
    with pytest.raises(Refusal, match="not 'studentised'"):
        bootstrap_mean(WALLS).interval(0.95, "studentised")
    with pytest.raises(Refusal, match="Confidence must lie"):
        bootstrap_mean(WALLS).interval(0)
