"""Unconditional exact tests: true size and coverage by full enumeration, swap, refusals."""

from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.errors import Refusal
from workbench.inference.shares.count import Count, binomial_probabilities
from workbench.inference.shares.fisher import fisher
from workbench.inference.shares.unconditional import (
    ExactShareTest,
    barnard,
    boschloo,
    exact_share_interval,
)

COUNT = st.integers(2, 14).flatmap(lambda n: st.builds(Count, yes=st.integers(0, n), of=st.just(n)))
ALL_TABLES = [
    (Count(yes=own, of=6), Count(yes=other, of=9)) for own in range(7) for other in range(10)
]


@cache
def all_tested(margin: float) -> list[ExactShareTest]:
    """Test every table, once for all levels."""
    return [barnard(own, other, margin) for own, other in ALL_TABLES]


def chances(shares: np.ndarray, margin: float = 0.0, of: tuple[int, int] = (6, 9)) -> np.ndarray:
    """Give the probability of each table (rows) under each reference share."""
    own = binomial_probabilities(of[0], shares + margin)[:, None]
    return (own * binomial_probabilities(of[1], shares)).reshape(-1, shares.size)


@pytest.mark.parametrize("margin", [0.0, -0.2, 0.3])
@pytest.mark.parametrize("level", [0.01, 0.05, 0.2])
def test_false_alarms_never_exceed_the_level(margin: float, level: float) -> None:
    shares = np.linspace(max(0, -margin), min(1, 1 - margin), 501)
    for p in ("p_value", "p_above", "p_below"):
        rejected = np.array([getattr(one, p) <= level for one in all_tested(margin)])
        assert (rejected @ chances(shares, margin)).max() <= level + 1e-9


def test_boschloo_keeps_its_level_and_beats_fisher() -> None:
    shares = np.linspace(0, 1, 501)
    tests = [boschloo(own, other) for own, other in ALL_TABLES]
    ps = np.array([one.p_above for one in tests])
    fishers = np.array([fisher(own, other).p_above for own, other in ALL_TABLES])
    assert (ps <= fishers + 1e-12).all()
    assert (ps < fishers - 0.01).any()
    assert ((ps <= 0.05) @ chances(shares)).max() <= 0.05 + 1e-9


def test_exact_interval_covers_at_least_as_promised() -> None:
    tables = [(Count(yes=a, of=3), Count(yes=b, of=5)) for a in range(4) for b in range(6)]
    found = [exact_share_interval(own, other, 0.90) for own, other in tables]
    for margin in (-0.35, 0.0, 0.15):
        shares = np.linspace(max(0, -margin), min(1, 1 - margin), 101)
        inside = np.array([interval.contains(margin) for interval in found])
        assert (inside @ chances(shares, margin, (3, 5))).min() >= 0.90 - 1e-9


@given(own=COUNT, other=COUNT)
@settings(max_examples=25, deadline=None)
def test_swapped_families_swap_the_sides(own: Count, other: Count) -> None:
    for test in (barnard, boschloo):
        forward, back = test(own, other), test(other, own)
        assert back.estimate == pytest.approx(-forward.estimate)
        assert back.p_value == pytest.approx(forward.p_value, abs=1e-7)
        assert back.p_above == pytest.approx(forward.p_below, abs=1e-7)


@given(own=COUNT, other=COUNT, confidence=st.sampled_from([0.8, 0.95]))
@settings(max_examples=6, deadline=None)
def test_the_interval_ends_where_p_says(own: Count, other: Count, confidence: float) -> None:
    found = exact_share_interval(own, other, confidence)
    tail = (1 - confidence) / 2
    if found.low > -0.99:
        assert barnard(own, other, found.low - 1e-4).p_above <= tail
        assert barnard(own, other, found.low + 1e-4).p_above > tail
    if found.high < 0.99:
        assert barnard(own, other, found.high + 1e-4).p_below <= tail
        assert barnard(own, other, found.high - 1e-4).p_below > tail


def test_refusals() -> None:
    few, many = Count(yes=1, of=4), Count(yes=10, of=501)
    with pytest.raises(Refusal, match="the margin is -1"):
        barnard(few, few, -1)
    for test in (barnard, boschloo, exact_share_interval):
        with pytest.raises(Refusal, match="go up to 500 blocks a family; with 501 and 4"):
            test(many, few)
    with pytest.raises(Refusal, match="Confidence must lie"):
        exact_share_interval(few, few, 1)
