"""Shares counted within blocks: Newcombe's table, design effect, swap, p with interval."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq
from scipy.stats import binom

from workbench.errors import Refusal
from workbench.inference.shares.count import Count
from workbench.inference.shares.difference import share_difference_interval
from workbench.inference.shares.in_blocks import mid_p_limits, shares_in_blocks


def yes_no(yes: int, of: int) -> list[int]:
    return [1] * yes + [0] * (of - yes)


def mid_p(yes: int, of: int, tail: float) -> tuple[float, float]:
    """Mid-p limits by summing the binomial, root by root."""
    more = np.arange(yes, of + 1)
    ways = np.array([math.comb(of, int(k)) for k in more], dtype=float)
    ways[0] /= 2

    def above(at: float) -> float:
        return float(ways @ (at**more * (1 - at) ** (of - more)))

    return (
        0.0 if yes == 0 else brentq(lambda at: above(at) - tail, 1e-12, 1 - 1e-12, xtol=1e-13),
        1.0 if yes == of else brentq(lambda at: above(at) - 1 + tail, 1e-12, 1 - 1e-12, xtol=1e-13),
    )


def squared_and_added(own: tuple[int, int], other: tuple[int, int]) -> tuple[float, float]:
    (own_low, own_high), (other_low, other_high) = (mid_p(*of, 0.025) for of in (own, other))
    p, q = own[0] / own[1], other[0] / other[1]
    return (
        p - q - math.hypot(p - own_low, other_high - q),
        p - q + math.hypot(own_high - p, q - other_low),
    )


@pytest.mark.parametrize(
    ("yes", "of", "low", "high"),
    [
        (81, 263, 0.2544, 0.3658),
        (15, 148, 0.0601, 0.1581),
        (0, 20, 0.0, 0.1391),
        (1, 29, 0.0017, 0.1585),
    ],
)
def test_limits_of_one_share_are_the_table_of_newcombe(
    yes: int, of: int, low: float, high: float
) -> None:
    """Newcombe (1998), two-sided intervals for the single proportion, table I, mid-P (memory)."""
    lows, highs = mid_p_limits(np.full(2, yes / of), np.full(2, float(of)), 0.025)
    assert (lows[0], highs[0]) == pytest.approx((low, high), abs=6e-5)
    assert (lows[0], highs[0]) == pytest.approx(mid_p(yes, of, 0.025), abs=1e-9)


def test_none_of_many_has_a_closed_form() -> None:
    for many in (3, 12, 59):
        _, highs = mid_p_limits(np.zeros(2), np.full(2, float(many)), 0.025)
        assert highs[0] == pytest.approx(1 - 0.05 ** (1 / many))


@pytest.mark.parametrize(
    ("own", "other", "low", "high"),
    [((56, 70), (48, 80), 0.0524, 0.3339), ((9, 10), (3, 10), 0.1705, 0.8090)],
)
def test_one_place_a_block_is_close_to_newcombe(
    own: tuple[int, int], other: tuple[int, int], low: float, high: float
) -> None:
    """Newcombe (1998), table II, method 10, which adds Wilson's limits (from memory)."""
    found = shares_in_blocks(yes_no(*own), yes_no(*other), places=(1, 1)).interval()
    assert (found.low, found.high) == pytest.approx((low, high), abs=0.03)


@given(
    yes=st.integers(0, 9), of=st.integers(9, 30), more=st.integers(0, 12), total=st.integers(12, 40)
)
@settings(max_examples=40, deadline=None, derandomize=True)
def test_one_place_a_block_adds_the_limits_of_both(
    yes: int, of: int, more: int, total: int
) -> None:
    found = shares_in_blocks(yes_no(yes, of), yes_no(more, total), places=(1, 1))
    ends = found.interval()
    wanted = squared_and_added((yes, of), (more, total))
    assert (ends.low, ends.high) == pytest.approx(wanted, abs=1e-9)
    back = shares_in_blocks(yes_no(more, total), yes_no(yes, of), places=(1, 1))
    assert back.interval().low == pytest.approx(-ends.high, abs=1e-12)
    assert back.p_value(0.1) == pytest.approx(found.p_value(-0.1), rel=1e-6)


@pytest.mark.parametrize("blocks", [(1, 12), (2, 5), (3, 50), (5, 5), (10, 10), (10, 50)])
def test_blocks_below_make_few_false_alarms(blocks: tuple[int, int]) -> None:
    """Every outcome of two binomials summed: at equal shares no more than 6 in 100, exactly."""
    own, other = (np.arange(many + 1) for many in blocks)
    missed = np.array(
        [
            [
                not shares_in_blocks(
                    yes_no(int(yes), blocks[0]), yes_no(int(more), blocks[1]), places=(1, 1)
                )
                .interval()
                .contains(0.0)
                for more in other
            ]
            for yes in own
        ]
    )
    for share in np.linspace(0.02, 0.98, 25):
        alarms = binom.pmf(own, blocks[0], share) @ missed @ binom.pmf(other, blocks[1], share)
        assert alarms < 0.06, share


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


def test_a_family_that_varies_more_is_judged_by_its_own_design_effect() -> None:
    even, uneven = [0.1, 0.2, 0.1, 0.2, 0.1, 0.2], [0.0, 0.8, 0.0, 0.1, 0.9, 0.0]
    found = shares_in_blocks(uneven, even * 4, places=(10, 10))
    assert found.candidate.design_effect > 2 * found.reference.design_effect
    alone = np.var(uneven, ddof=1) / (np.mean(uneven) * (1 - np.mean(uneven)) / 10)
    assert found.candidate.design_effect == pytest.approx(alone)


def test_a_share_that_rests_on_few_blocks_is_known_poorly() -> None:
    """The same number of places below, in two blocks or spread over twenty."""
    rest = [0.0] * 30
    few = shares_in_blocks([0.5, 0.5, *rest], [0.05] * 20 + [0.0] * 12, places=(20, 20))
    many = shares_in_blocks([0.05] * 20 + rest[:12], [0.05] * 20 + [0.0] * 12, places=(20, 20))
    assert few.degrees_of_freedom == 22
    assert many.degrees_of_freedom == 40
    assert few.interval().half_width > 1.5 * many.interval().half_width
    two = shares_in_blocks([0.05, *rest], [0.05, *rest], places=(20, 20))
    assert two.degrees_of_freedom == 2


def test_no_interval_is_wider_than_if_each_block_counted_once() -> None:
    found = shares_in_blocks([0.05] + [0] * 19, [0.1] + [0] * 29, places=(20, 20)).interval()
    assert -0.17 < found.low < found.high < 0.25


@pytest.mark.parametrize(
    ("blocks", "wider", "limit"),
    [((5, 12), 2.0, -0.6), ((10, 50), 2.0, -0.6), ((10, 50), 0.5, -0.6), ((3, 50), 0.5, -0.45)],
)
def test_coverage_of_families_that_vary_unlike(
    blocks: tuple[int, int], wider: float, limit: float
) -> None:
    """The designs where a design effect common to both left 8 to 22 false alarms in 100."""
    generator = np.random.default_rng(7)
    scales = (wider, 1.0)

    def drawn(many: int, scale: float) -> np.ndarray:
        height = 0.2 * generator.standard_normal((many, 1, 1))
        height = height + 0.12 * generator.standard_normal((many, 4, 1))
        return scale * (height + 0.11 * generator.standard_normal((many, 4, 4))) < limit

    truth = -np.subtract.outer(*(drawn(100_000, scale).mean() for scale in scales[::-1]))
    held = [
        shares_in_blocks(
            *(drawn(many, s).mean(axis=(1, 2)) for many, s in zip(blocks, scales, strict=True)),
            places=(16, 16),
        )
        .interval()
        .contains(float(truth))
        for _ in range(400)
    ]
    assert np.mean(held) > 0.925


def test_blocks_wholly_alike_count_once_each() -> None:
    """Blocks that are all yes or all no have one place's worth of evidence each."""
    own, other = yes_no(6, 10), yes_no(12, 40)
    found = shares_in_blocks(own, other, places=(20, 20))
    assert found.candidate.design_effect == pytest.approx(20, rel=0.05)
    low, high = squared_and_added((6, 10), (12, 40))
    assert found.interval().half_width == pytest.approx((high - low) / 2, rel=0.03)


def test_independent_places_count_every_one() -> None:
    generator = np.random.default_rng(4)
    own, other = generator.binomial(30, 0.2, 40) / 30, generator.binomial(30, 0.2, 60) / 30
    found = shares_in_blocks(own, other, places=(30, 30))
    effects = [family.design_effect for family in (found.candidate, found.reference)]
    assert effects == pytest.approx([1, 1], abs=0.35)
    counts = Count(yes=round(own.sum() * 30), of=1200), Count(yes=round(other.sum() * 30), of=1800)
    plain = share_difference_interval(*counts)
    wide = math.sqrt(sum(effects) / 2)
    assert found.interval().half_width == pytest.approx(plain.half_width * wide, rel=0.03)


def test_none_below_anywhere_still_has_an_interval() -> None:
    found = shares_in_blocks([0, 0, 0], [0] * 48, places=(48, 48))
    assert (found.estimate, found.candidate.design_effect) == (0, 48)
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
