"""Fisher's test: swap, complement, interval against p, edges."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.errors import Refusal
from workbench.inference.shares.count import Count
from workbench.inference.shares.fisher import fisher

COUNT = st.integers(1, 25).flatmap(lambda n: st.builds(Count, yes=st.integers(0, n), of=st.just(n)))


def complement(count: Count) -> Count:
    return Count(yes=count.of - count.yes, of=count.of)


@given(own=COUNT, other=COUNT)
@settings(max_examples=60, deadline=None)
def test_swapped_families_invert_the_odds(own: Count, other: Count) -> None:
    forward, back = fisher(own, other), fisher(other, own)
    assert back.p_value == pytest.approx(forward.p_value)
    assert back.p_above == pytest.approx(forward.p_below)
    found, swapped = forward.interval(), back.interval()
    if found.low > 0:
        assert swapped.high == pytest.approx(1 / found.low, rel=1e-8)
    else:
        assert swapped.high == math.inf
    assert fisher(complement(own), complement(other)).p_above == pytest.approx(forward.p_below)


@given(own=COUNT, other=COUNT, confidence=st.sampled_from([0.5, 0.8, 0.9, 0.95, 0.99]))
@settings(max_examples=60, deadline=None)
def test_the_interval_holds_one_unless_a_tail_is_rare(own, other, confidence) -> None:
    tested = fisher(own, other)
    found = tested.interval(confidence)
    tail = (1 - confidence) / 2
    if abs(tested.p_above - tail) > 1e-9 and abs(tested.p_below - tail) > 1e-9:
        assert found.contains(1.0) == (min(tested.p_above, tested.p_below) > tail)


def test_edges_are_open() -> None:
    none_else = fisher(Count(yes=4, of=9), Count(yes=0, of=7))
    assert none_else.odds_ratio == math.inf
    assert none_else.interval().high == math.inf
    nothing = fisher(Count(yes=0, of=9), Count(yes=0, of=7))
    assert math.isnan(nothing.odds_ratio)
    assert (nothing.p_value, nothing.interval().low) == (1.0, 0.0)
    with pytest.raises(Refusal, match="Confidence must lie"):
        none_else.interval(1)
