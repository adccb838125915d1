"""Shares counted within blocks: Newcombe's table, design effect, swap, p with interval."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.errors import Refusal
from workbench.inference.shares.count import Count
from workbench.inference.shares.difference import share_difference_interval
from workbench.inference.shares.in_blocks import shares_in_blocks


def yes_no(yes: int, of: int) -> list[int]:
    return [1] * yes + [0] * (of - yes)


@pytest.mark.parametrize(
    ("own", "other", "low", "high"),
    [
        ((56, 70), (48, 80), 0.0524, 0.3339),
        ((9, 10), (3, 10), 0.1705, 0.8090),
        ((10, 10), (0, 20), 0.6791, 1.0000),
    ],
)
def test_one_place_a_block_is_the_table_of_newcombe(
    own: tuple[int, int], other: tuple[int, int], low: float, high: float
) -> None:
    """Newcombe (1998), table II, method 10, columns a, b and g or h (from memory)."""
    found = shares_in_blocks(yes_no(*own), yes_no(*other), places=(1, 1)).interval()
    assert (found.low, found.high) == pytest.approx((low, high), abs=6e-5)


@given(
    yes=st.integers(0, 9), of=st.integers(9, 30), more=st.integers(0, 12), total=st.integers(12, 40)
)
@settings(max_examples=40, deadline=None, derandomize=True)
def test_one_place_a_block_is_the_plain_interval(yes: int, of: int, more: int, total: int) -> None:
    found = shares_in_blocks(yes_no(yes, of), yes_no(more, total), places=(1, 1))
    wanted = share_difference_interval(Count(yes=yes, of=of), Count(yes=more, of=total))
    ends = found.interval()
    assert (ends.low, ends.high) == pytest.approx((wanted.low, wanted.high), abs=1e-9)
    back = shares_in_blocks(yes_no(more, total), yes_no(yes, of), places=(1, 1))
    assert back.interval().low == pytest.approx(-ends.high, abs=1e-12)
    assert back.p_value(0.1) == pytest.approx(found.p_value(-0.1), rel=1e-6)


@given(margin=st.floats(-0.6, 0.6), seed=st.integers(0, 50))
@settings(max_examples=40, deadline=None, derandomize=True)
def test_the_interval_leaves_out_a_margin_exactly_when_p_says_so(margin: float, seed: int) -> None:
    generator = np.random.default_rng(seed)
    own, other = generator.integers(0, 5, 6) / 12, generator.integers(0, 9, 10) / 12
    found = shares_in_blocks(own, other, places=(12, 12)).widened(0.02)
    p = found.p_value(margin)
    if abs(p - 0.05) > 1e-6:
        assert found.interval().contains(margin) == (p > 0.05)
    assert found.p_above(margin) + found.p_below(margin) == pytest.approx(1)


def test_blocks_wholly_alike_count_once_each() -> None:
    """Blocks that are all yes or all no have one place's worth of evidence each."""
    own, other = yes_no(6, 10), yes_no(12, 40)
    found = shares_in_blocks(own, other, places=(20, 20))
    assert found.design_effect == pytest.approx(20, rel=0.05)
    plain = share_difference_interval(Count(yes=6, of=10), Count(yes=12, of=40))
    assert found.interval().half_width == pytest.approx(plain.half_width, rel=0.06)


def test_independent_places_count_every_one() -> None:
    generator = np.random.default_rng(4)
    own, other = generator.binomial(30, 0.2, 40) / 30, generator.binomial(30, 0.2, 60) / 30
    found = shares_in_blocks(own, other, places=(30, 30))
    assert found.design_effect == pytest.approx(1, abs=0.35)
    counts = Count(yes=round(own.sum() * 30), of=1200), Count(yes=round(other.sum() * 30), of=1800)
    plain = share_difference_interval(*counts)
    wide = math.sqrt(found.design_effect)
    assert found.interval().half_width == pytest.approx(plain.half_width * wide, rel=0.03)


def test_none_below_anywhere_still_has_an_interval() -> None:
    found = shares_in_blocks([0, 0, 0], [0] * 48, places=(48, 48))
    assert (found.estimate, found.design_effect) == (0, 48)
    assert found.interval().low < -0.05
    assert found.interval().high > 0.5
    assert found.p_value() == 1


def test_one_block_borrows_how_alike_places_are() -> None:
    generator = np.random.default_rng(1)
    others = np.clip(generator.normal(0.3, 0.2, 12), 0, 1)
    found = shares_in_blocks([0.5], others, places=(24, 24))
    assert found.interval().contains(0.0)
    assert found.degrees_of_freedom == 11


@pytest.mark.parametrize(("blocks", "least"), [((3, 48), 0.92), ((10, 10), 0.94)])
def test_coverage_of_blocks_that_differ(blocks: tuple[int, int], least: float) -> None:
    """Latent normal places, 4 bores of 12: a quarter of the variance in blocks; 9 % below."""
    generator = np.random.default_rng(12)
    held = []
    for _ in range(400):
        shares = []
        for many in blocks:
            height = 0.2 * generator.standard_normal((many, 1, 1))
            height = height + 0.12 * generator.standard_normal((many, 4, 1))
            height = height + 0.19 * generator.standard_normal((many, 4, 12))
            shares.append((height < -0.4).mean(axis=(1, 2)))
        held.append(shares_in_blocks(*shares, places=(48, 48)).interval().contains(0.0))
    assert np.mean(held) > least


def test_refusals() -> None:
    with pytest.raises(Refusal, match="2 blocks do not tell"):
        shares_in_blocks([0.5], [0.2], places=(4, 4))
    with pytest.raises(Refusal, match="A share of the reference lies between 0 and 1"):
        shares_in_blocks([0.5], [1.2, 0.1], places=(4, 4))
    with pytest.raises(Refusal, match="a place or more, not 0"):
        shares_in_blocks([0.5, 0.1], [0.2], places=(4, 0))
    found = shares_in_blocks([0.5, 0.1], [0.2, 0.3], places=(4, 4))
    with pytest.raises(Refusal, match="less than 1; the margin is 1"):
        found.p_value(1.0)
    with pytest.raises(Refusal, match="0 or more, not nan"):
        found.widened(math.nan)
