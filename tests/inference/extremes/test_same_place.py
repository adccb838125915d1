"""Where the thinnest place lies: exact against drawn, error rate, ties, labels, refusals."""

import math

import numpy as np
import pandas as pd
import pytest

from workbench.errors import Refusal
from workbench.inference.extremes.same_place import same_place, thinnest_places

GRID = [f"{bore}{station}" for bore in "12" for station in ("front", "thrust", "rear", "counter")]
STATION = {place: place[1:] for place in GRID}


def anywhere(seed, blocks=12, pattern=None):
    rng = np.random.default_rng(seed)
    value = rng.normal(size=(blocks, len(GRID))) + (0 if pattern is None else pattern)
    return pd.DataFrame(
        {
            "block": np.repeat(np.arange(blocks), len(GRID)),
            "place": GRID * blocks,
            "value": value.ravel(),
        }
    )


def test_chance_keeps_its_error_rate() -> None:
    found = np.array(
        [
            same_place(thinnest_places(anywhere(s)), GRID, labels=STATION, seed=1).p_value
            for s in range(400)
        ]
    )
    for share in (0.05, 0.2, 0.5):
        seen = (found <= share).mean()
        assert seen < share + 4 * math.sqrt(share * (1 - share) / 400)
    assert found.mean() > 0.45


def test_a_pattern_is_found() -> None:
    pattern = np.where([place.endswith("rear") for place in GRID], -1.0, 0.0)
    found = same_place(
        thinnest_places(anywhere(1, blocks=20, pattern=pattern)), GRID, labels=STATION, seed=1
    )
    assert found.p_value < 0.01
    assert max(found.counts, key=found.counts.get) == "rear"
    share = found.share("rear")
    assert share.low > found.chances["rear"]
    assert found.pairs > found.expected_pairs


def test_drawn_chance_agrees_with_the_exact_one() -> None:
    thinnest = thinnest_places(anywhere(4, blocks=20))
    exact = same_place(thinnest, GRID, seed=1)
    blocks = list(thinnest.values())
    many = same_place(blocks * 4, GRID, seed=1)  # beyond 60 blocks chance is drawn
    assert exact.exact
    assert not many.exact
    # the same by drawing: one tied block, tied over the whole grid, agrees with all alike
    drawn = same_place([*blocks, tuple(GRID)], GRID, seed=1)
    assert not drawn.exact
    assert drawn.p_value == pytest.approx(exact.p_value, abs=0.015)


def test_ties_share_a_block_out() -> None:
    found = same_place([("1rear", "2rear"), ("1rear",), ("2rear",)], GRID, seed=1)
    assert found.pairs == pytest.approx(1.0)
    assert found.counts["1rear"] == 2
    by_station = same_place(
        [("1rear", "2rear"), ("1rear",), ("2rear",)], GRID, labels=STATION, seed=1
    )
    assert by_station.pairs == pytest.approx(3)
    # of two places drawn, both at one station: 4 in 28; then the other two blocks there
    assert by_station.p_value == pytest.approx(1 / 7 / 16, abs=0.003)


def test_order_and_names_do_not_matter() -> None:
    thinnest = list(thinnest_places(anywhere(5)).values())
    renamed = [[place[::-1] for place in places] for places in thinnest[::-1]]
    plain = same_place(thinnest, GRID, seed=1)
    other = same_place(renamed, [place[::-1] for place in GRID[::-1]], seed=1)
    assert other.p_value == pytest.approx(plain.p_value, rel=1e-12)


def test_thinnest_places_with_ties_and_repeats() -> None:
    table = pd.DataFrame(
        {
            "block": ["a"] * 3 + ["b"] * 4,
            "place": ["x", "y", "z", "x", "y", "z", "z"],
            "value": [4.1, 4.0, 4.0, 4.5, 4.4, 4.2, 4.8],
        }
    )
    assert thinnest_places(table) == {"a": ("y", "z"), "b": ("y",)}


def test_refusals() -> None:
    table = anywhere(1, blocks=3)
    with pytest.raises(Refusal, match="1 of 3 blocks, the first 0, were not read at every place"):
        thinnest_places(table.iloc[1:])
    with pytest.raises(Refusal, match="no column 'depth'"):
        thinnest_places(table, place="depth")
    with pytest.raises(Refusal, match="2 blocks show no pattern; at least 3"):
        same_place([["1rear"], ["2rear"]], GRID, seed=1)
    with pytest.raises(Refusal, match="thinnest at deck, which is not on the grid of 8 places"):
        same_place([["deck"]] * 3, GRID, seed=1)
    with pytest.raises(Refusal, match="All places bear one label"):
        same_place([["1rear"]] * 3, GRID, labels=dict.fromkeys(GRID, "all"), seed=1)
    with pytest.raises(Refusal, match="no 'deck'; there are 1front"):
        same_place([["1rear"]] * 3, GRID, seed=1).share("deck")
