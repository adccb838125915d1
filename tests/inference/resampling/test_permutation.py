"""Blocks dealt anew: identities, exact against drawn, strata, intervals, and what it refuses."""

import math
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.errors import Refusal
from workbench.inference.resampling.permutation import EXACT_UP_TO, _subsets, permute_blocks

tenths = st.lists(st.integers(-30, 30), min_size=2, max_size=5)


def by_hand(ours, others):
    """Count, in whole numbers, the dealings at least as far out as the real one."""
    everything = [*ours, *others]
    mine, size, total = len(ours), len(everything), sum(everything)
    seen = abs(sum(ours) * size - mine * total)
    dealt = [
        abs(sum(everything[i] for i in chosen) * size - mine * total)
        for chosen in combinations(range(size), mine)
    ]
    return sum(far >= seen for far in dealt) / len(dealt)


@given(ours=tenths, others=tenths)
@settings(max_examples=100, deadline=None, derandomize=True)
def test_ties_are_counted_as_whole_numbers_would(ours, others):
    dealt = permute_blocks([v / 10 for v in ours], [v / 10 for v in others], seed=1)
    assert dealt.exact
    assert dealt.p_value() == pytest.approx(by_hand(ours, others), abs=1e-12)


@given(ours=tenths, others=tenths, margin=st.integers(-20, 20))
@settings(max_examples=60, deadline=None, derandomize=True)
def test_a_margin_is_a_shift_of_the_candidate(ours, others, margin):
    dealt = permute_blocks(ours, others, seed=1)
    shifted = [v - margin for v in ours]
    assert dealt.p_value(margin) == pytest.approx(by_hand(shifted, others), abs=1e-12)


@given(ours=tenths, others=tenths)
@settings(max_examples=60, deadline=None, derandomize=True)
def test_swapping_the_families_mirrors_everything(ours, others):
    here, there = permute_blocks(ours, others, seed=1), permute_blocks(others, ours, seed=1)
    assert here.estimate == pytest.approx(-there.estimate, abs=1e-9)
    assert here.p_value(1.0) == pytest.approx(there.p_value(-1.0), abs=1e-12)
    assert here.p_above(0.5) == pytest.approx(there.p_below(-0.5), abs=1e-12)
    assert here.interval(0.8).low == pytest.approx(-there.interval(0.8).high, abs=1e-6)


def test_the_interval_holds_the_margins_that_are_not_refused():
    generator = np.random.default_rng(4)
    dealt = permute_blocks(generator.normal(1, 1, 6), generator.normal(0, 1, 7), seed=1)
    interval = dealt.interval(0.95)
    assert interval.low < dealt.estimate < interval.high
    for end, inward in ((interval.low, 1), (interval.high, -1)):
        assert dealt.p_value(end + inward * 1e-6) > 0.05
        assert dealt.p_value(end - inward * 1e-6) <= 0.05


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("confidence", [0.95, 0.8])
def test_an_end_is_where_p_falls_to_the_level(seed, confidence):
    """Ties, strata and drawn dealings too: p is above the level up to the end, not beyond it."""
    rng = np.random.default_rng(seed)
    ours, others = rng.integers(3, 14, 2)
    values = np.round(rng.normal(3, 1, ours + others), seed % 3)
    gauges = rng.choice(["a", "b"], ours + others).tolist() if seed % 2 else None
    strata = (gauges[:ours], gauges[ours:]) if gauges else None
    dealt = permute_blocks(values[:ours], values[ours:], strata=strata, seed=1)
    interval, level = dealt.interval(confidence), 1 - confidence
    for end, outward in ((interval.low, -1), (interval.high, 1)):
        if math.isinf(end):
            assert dealt.p_value(outward * 1e6) > level
        else:
            assert dealt.p_value(end - outward * 1e-7) > level
            assert dealt.p_value(end + outward * 1e-7) <= level


def test_too_few_blocks_give_an_open_interval_and_say_the_smallest_p():
    dealt = permute_blocks([5.0], [1.0, 2.0, 3.0], seed=1)
    assert dealt.smallest_p == 1 / 4
    assert dealt.interval(0.95).low == -math.inf
    assert dealt.interval(0.95).high == math.inf
    assert permute_blocks([5.0, 6.0], [1.0, 2.0], seed=1).smallest_p == 2 / 6


def test_three_against_forty_eight_are_enumerated():
    generator = np.random.default_rng(2)
    dealt = permute_blocks(generator.normal(size=3), generator.normal(size=48), seed=1)
    assert (dealt.exact, dealt.resamples) == (True, 20_825)
    assert math.comb(51, 3) < EXACT_UP_TO


def test_drawn_arrangements_depend_on_the_seed_alone_and_come_near_the_exact_p():
    generator = np.random.default_rng(3)
    ours, others = generator.normal(0.8, 1, 20), generator.normal(0, 1, 25)
    dealt = permute_blocks(ours, others, seed=7)
    again = permute_blocks(ours, others, seed=7)
    assert (dealt.exact, dealt.resamples) == (False, 445 * 45 - 1)
    assert dealt.p_value() == again.p_value()
    assert permute_blocks(ours, others, seed=8).p_value() != dealt.p_value()
    # Student's t of the same means, by scipy, is close for normal values of this many blocks.
    from scipy.stats import ttest_ind

    assert dealt.p_value() == pytest.approx(ttest_ind(ours, others).pvalue, abs=0.005)


def test_subsets_are_drawn_evenly_whether_many_or_few_are_chosen():
    generator = np.random.default_rng(5)
    for size, chosen in ((6, 3), (40, 2)):
        drawn = _subsets(generator, 60_000, size, chosen)
        counts = np.bincount(drawn.ravel(), minlength=size)
        expected = 60_000 * chosen / size
        assert (np.diff(np.sort(drawn, axis=1), axis=1) > 0).all()
        assert counts == pytest.approx(np.full(size, expected), rel=0.06)


@pytest.mark.parametrize("mine", [8, 10, 13])
def test_turned_dealings_tend_to_all_of_them(mine):
    """As near to the p of every dealing listed as independent ones would come."""
    values = np.random.default_rng(8).gamma(2, 1, 20) + 0.7 * (np.arange(20) < mine)
    centred = values - values.mean()
    sums = np.array([centred[list(chosen)].sum() for chosen in combinations(range(20), mine)])
    exact = np.mean(np.abs(sums) >= abs(centred[:mine].sum()) - 1e-9)
    found = [permute_blocks(values[:mine], values[mine:], seed=seed) for seed in range(60)]
    assert {dealt.exact for dealt in found} == {False}
    several = np.array([dealt.p_value() for dealt in found])
    error = math.sqrt(exact * (1 - exact) / 20_000)
    assert several.mean() == pytest.approx(exact, abs=4 * error / math.sqrt(60))
    assert several.std() < 1.5 * error


def test_turned_dealings_keep_their_level():
    """Families alike and far from normal: p at most 0.1 in at most one case of ten."""
    generator = np.random.default_rng(9)
    small = 0
    for seed in range(600):
        values = generator.lognormal(0, 1, 24)
        small += permute_blocks(values[:9], values[9:], seed=seed).p_value() <= 0.1
    assert abs(small / 600 - 0.1) < 4 * math.sqrt(0.09 / 600)


def test_a_turned_dealing_has_the_sum_and_overlap_of_the_blocks_in_it():
    """A shift of the candidate moves each sum by its overlap: the line is one of real dealings."""
    generator = np.random.default_rng(10)
    ours, others = generator.normal(0, 1, 30), generator.normal(0, 1, 35)
    plain = permute_blocks(ours, others, seed=1)
    moved = permute_blocks(ours + 2.5, others, seed=1)
    assert moved.sums == pytest.approx(plain.sums + 2.5 * plain.overlaps, abs=1e-9)
    assert moved.p_value(2.5) == pytest.approx(plain.p_value(0.0), abs=1e-12)
    met = plain.overlaps + 30 * 30 / 65
    assert met == pytest.approx(np.rint(met), abs=1e-9)
    assert met.min() >= 0
    assert met.max() <= 30


def test_few_against_very_many_are_drawn_quickly_and_fairly():
    generator = np.random.default_rng(6)
    others = generator.normal(0, 1, 20_000)
    dealt = permute_blocks([2.2, 1.1], others, seed=1)
    assert dealt.resamples == 4_999
    # the mean of two is 1.65: a normal deviate of 1.65 times the root of 2
    assert dealt.p_value() == pytest.approx(math.erfc(1.65), abs=0.006)


def test_a_drawn_p_is_never_zero():
    dealt = permute_blocks(np.arange(30) + 100.0, np.arange(30) * 1.0, seed=1)
    assert dealt.p_value() == 1 / (334 * 60)


def test_values_that_are_all_alike_tell_nothing():
    dealt = permute_blocks([2.0, 2.0], [2.0, 2.0, 2.0], seed=1)
    assert dealt.p_value() == 1.0


def test_strata_deal_within_each_and_compare_within_each():
    # Two gauges, one reading 10 high; within each gauge the candidate is 1 higher.
    ours, others = [11.0, 11.2, 1.0], [10.0, 0.0, 0.2]
    strata = (["high", "high", "low"], ["high", "low", "low"])
    dealt = permute_blocks(ours, others, strata=strata, seed=1)
    assert dealt.resamples == 3 * 3
    # within-stratum differences 1.1 and 0.9, weights 2/3 each
    assert dealt.estimate == pytest.approx(1.0)
    assert dealt.p_value() == pytest.approx(1 / 9)


def test_a_stratum_with_one_family_drops_out():
    whole = permute_blocks([3.0, 4.0], [1.0, 2.0], seed=1)
    with_idle = permute_blocks(
        [3.0, 4.0, 90.0], [1.0, 2.0], strata=(["a", "a", "b"], ["a", "a"]), seed=1
    )
    assert with_idle.estimate == whole.estimate
    assert with_idle.p_value() == whole.p_value()


@pytest.mark.parametrize(
    ("ours", "others", "strata", "message"),
    [
        ([], [1.0], None, r"candidate has no block"),
        ([1.0], [], None, r"reference has no block"),
        ([math.nan], [1.0], None, r"not a finite number"),
        ([1.0], [math.inf], None, r"not a finite number"),
        ([1.0], [2.0], (["a"], []), r"one label a block: 1 and 1, not 1 and 0"),
        ([1.0], [2.0], (["a"], ["b"]), r"No stratum holds blocks of both"),
    ],
)
def test_what_cannot_be_dealt_is_refused(ours, others, strata, message):
    with pytest.raises(Refusal, match=message):
        permute_blocks(ours, others, strata=strata, seed=1)
