"""Shares below by counting: coverage in blocks, the plain count as a case, refusals."""

import math

import numpy as np
import pandas as pd
import pytest

from workbench.errors import Refusal
from workbench.inference.extremes.counted import counted_below, counted_in_blocks


def test_intervals_in_blocks_keep_their_confidence_where_plain_ones_do_not() -> None:
    rng = np.random.default_rng(1)
    truth, held = 0.2, {"blocks": [], "plain": []}
    for _ in range(400):
        share = rng.beta(0.8, 3.2, 20)  # of places below, block by block; its mean is 0.2
        below = rng.random((20, 16)) < share[:, None]
        data = pd.DataFrame({"block": np.repeat(np.arange(20), 16), "value": -1.0 * below.ravel()})
        held["blocks"].append(counted_in_blocks(data, -0.5, 0.9).contains(truth))
        held["plain"].append(counted_below(data["value"], -0.5, 0.9).contains(truth))
    assert np.mean(held["blocks"]) > 0.9 - 4 * math.sqrt(0.09 / 400)
    assert np.mean(held["plain"]) < 0.7


def test_independent_values_are_worth_about_what_they_are() -> None:
    rng = np.random.default_rng(2)
    data = pd.DataFrame({"block": np.repeat(np.arange(200), 5), "value": rng.random(1000)})
    blocks = counted_in_blocks(data, 0.3)
    plain = counted_below(data["value"], 0.3)
    assert (blocks.low, blocks.high) == pytest.approx((plain.low, plain.high), abs=0.01)


def test_one_value_a_block_is_a_plain_count() -> None:
    values = [3.1, 3.4, 3.9, 4.2, 4.4, 4.9]
    data = pd.DataFrame({"block": range(6), "value": values})
    blocks, plain = counted_in_blocks(data, 3.5), counted_below(values, 3.5)
    assert (blocks.low, blocks.high) == pytest.approx((plain.low, plain.high), rel=1e-9)


def test_none_below_counts_every_block_once() -> None:
    data = pd.DataFrame({"block": np.repeat(np.arange(59), 12), "value": 4.0})
    found = counted_in_blocks(data, 3.0, 0.90)
    assert (found.estimate, found.low) == (0, 0)
    assert found.high == pytest.approx(1 - 0.05 ** (1 / 59))  # closed form; 59 blocks make 0.0495
    assert counted_in_blocks(data, 5.0, 0.90).low == pytest.approx(0.05 ** (1 / 59))


def test_the_mirror() -> None:
    rng = np.random.default_rng(3)
    data = pd.DataFrame({"block": np.repeat(np.arange(12), 6), "value": rng.normal(size=72)})
    plain = counted_in_blocks(data, 0.4)
    other = counted_in_blocks(data.assign(value=-data["value"]), -0.4)
    assert (other.low, other.high) == pytest.approx((1 - plain.high, 1 - plain.low))


def test_refusals() -> None:
    data = pd.DataFrame({"block": ["a", "a", "b"], "value": [1.0, 2.0, 3.0]})
    with pytest.raises(Refusal, match="2 blocks do not tell how shares vary; at least 3"):
        counted_in_blocks(data, 1.5)
    with pytest.raises(Refusal, match="no column 'wall'"):
        counted_in_blocks(data, 1.5, value="wall")
    with pytest.raises(Refusal, match="holds nan at place 2"):
        counted_below([4.1, math.nan], 4.0)
    with pytest.raises(Refusal, match="Confidence must lie"):
        counted_in_blocks(data, 1.5, 1.5)
