"""Thin spots against printed constants and R (r/extremes.txt)."""

import numpy as np
import pandas as pd
import pytest

from workbench.inference.extremes.block_minimum import minimum_by_grid, predicted_minimum
from workbench.inference.extremes.counted import counted_in_blocks
from workbench.inference.extremes.same_place import same_place
from workbench.inference.extremes.share_below import share_below
from workbench.inference.nested.mean_squares import MeanSquare
from workbench.inference.nested.nested_study import NestedSquares

# Harter (1961), Biometrika 48:151-165: expected greatest of n standard normals (from memory).
HARTER = {2: 0.56419, 3: 0.84628, 5: 1.16296, 10: 1.53875, 16: 1.76599, 25: 1.96531}
KNOWN = 10**9  # degrees of freedom at which nothing is left open


def known(sd_block, sd_bore, sd_place, pattern, mean=4.6, bores=4):
    """Give a study that left nothing open: the spreads are as good as known."""
    places = len(pattern)
    names = [str(place) for place in range(places)]
    bore = sd_bore**2 + sd_place**2 / places
    return NestedSquares(
        mean=mean,
        block=MeanSquare(value=sd_block**2 + bore / bores, degrees_of_freedom=KNOWN),
        bore=MeanSquare(value=bore, degrees_of_freedom=KNOWN),
        place=MeanSquare(value=sd_place**2, degrees_of_freedom=KNOWN),
        bore_in_block=1 / bores,
        place_in_block=1 / (bores * places),
        place_in_bore=1 / places,
        pattern=dict(zip(names, pattern, strict=True)),
        place_counts=dict.fromkeys(names, KNOWN),
        mean_of=KNOWN,
    )


@pytest.mark.parametrize("n", [5, 16])
def test_the_least_of_n_places_lies_harters_constant_below_the_mean(n) -> None:
    squares = known(0, 0, 1.0, [0.0] * n, mean=0.0)
    found = predicted_minimum(squares, bores=1, seed=1, blocks=200_000)
    assert found.mean == pytest.approx(-HARTER[n], abs=4 * 0.7 / np.sqrt(200_000))


def test_the_curve_over_the_grid_runs_through_harters_constants(printed_by_r) -> None:
    squares = known(0, 0, 1.0, [0.0] * 5, mean=0.0)
    found = minimum_by_grid(squares, bores=1, seed=2, times=5, blocks=100_000)
    at = dict(zip(found.places.tolist(), found.expected.tolist(), strict=True))
    for n, constant in HARTER.items():
        assert at[n] == pytest.approx(-constant, abs=4 * 0.9 / np.sqrt(100_000))
    assert printed_by_r("extremes")["expected_least"] == pytest.approx(
        [-constant for constant in HARTER.values()], abs=5e-6
    )


def test_shares_below_limits_against_integration_in_r(printed_by_r) -> None:
    squares = known(0.22, 0.12, 0.10, [0.12, -0.02, -0.10, 0.0])
    limits = (3.6, 3.9, 4.2, 4.5)
    for column, unit in enumerate(("place", "bore", "block")):
        found = share_below(squares, limits, unit, bores=4, seed=1, draws=50)
        for place, limit in enumerate(limits):
            expected = printed_by_r("extremes")[f"share_below_{limit}"][column]
            assert found.share[place] == pytest.approx(expected, rel=2e-4)


def test_drawn_blocks_have_the_shares_of_r(printed_by_r) -> None:
    squares = known(0.22, 0.12, 0.10, [0.12, -0.02, -0.10, 0.0])
    found = predicted_minimum(squares, bores=4, seed=3)
    for limit in (3.9, 4.2, 4.5):
        expected = printed_by_r("extremes")[f"share_below_{limit}"][2]
        slack = 4 * np.sqrt(expected * (1 - expected) / 100_000)
        assert abs(found.chance_below(limit) - expected) < slack


def test_agreeing_pairs_against_listing_in_r(printed_by_r) -> None:
    witness = printed_by_r("extremes")
    chances = dict(enumerate(witness["agreeing_6_of_4"]))
    for thinnest, pairs in (("aaaaaa", 15), ("aaaabb", 7), ("aaabbc", 4), ("aabbcd", 2)):
        found = same_place([[place] for place in thinnest], "abcd", seed=1)
        assert found.exact
        assert found.pairs == pairs
        assert found.p_value == pytest.approx(chances[pairs], rel=1e-9)
    chances = dict(enumerate(witness["agreeing_5_uneven"]))
    labels = {"a": "x", "b": "x", "c": "y", "d": "z"}
    for thinnest, pairs in (("ababa", 10), ("abacd", 3), ("aaacc", 4), ("cccdd", 4)):
        found = same_place([[place] for place in thinnest], "abcd", labels=labels, seed=1)
        assert found.pairs == pairs
        assert found.p_value == pytest.approx(chances[pairs], rel=1e-9)


def test_shares_counted_in_blocks_against_korn_and_graubard_in_r(printed_by_r) -> None:
    below = (1, 1, 0, 1, 0, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 1, 1)
    data = pd.DataFrame(
        {
            "block": np.repeat(list("abcdef"), [4, 4, 3, 5, 4, 4]),
            "value": 4.0 - np.array(below),
        }
    )
    for confidence in (0.95, 0.80):
        found = counted_in_blocks(data, 3.5, confidence)
        assert (found.estimate, found.low, found.high) == pytest.approx(
            printed_by_r("extremes")[f"share_in_clusters_{confidence * 100:.0f}"], rel=1e-8
        )
