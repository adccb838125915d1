"""One share: the three intervals, exact p against exact ends, coverage, refusals."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from workbench.errors import Refusal
from workbench.inference.shares.count import (
    METHODS,
    Count,
    binomial_probabilities,
    share_against,
    share_bound,
    share_interval,
)

COUNTS = st.integers(1, 60).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


@given(counts=COUNTS, method=st.sampled_from(METHODS), confidence=st.floats(0.5, 0.999))
@settings(max_examples=80, deadline=None)
def test_without_and_with_mirror_each_other(counts, method, confidence) -> None:
    yes, of = counts
    found = share_interval(Count(yes=yes, of=of), confidence, method)
    other = share_interval(Count(yes=of - yes, of=of), confidence, method)
    assert (other.low, other.high) == pytest.approx((1 - found.high, 1 - found.low), abs=1e-12)
    assert 0 <= found.low <= found.estimate <= found.high <= 1


@given(counts=COUNTS, confidence=st.sampled_from([0.5, 0.9, 0.95, 0.99]))
@settings(max_examples=60, deadline=None)
def test_exact_ends_lie_where_the_exact_p_is_the_tail(counts, confidence) -> None:
    count = Count(yes=counts[0], of=counts[1])
    found = share_interval(count, confidence, "clopper-pearson")
    if found.low > 0:
        assert share_against(count, found.low).p_above == pytest.approx((1 - confidence) / 2)
    if found.high < 1:
        assert share_against(count, found.high).p_below == pytest.approx((1 - confidence) / 2)


@pytest.mark.parametrize(("yes", "of", "limit"), [(3, 12, 0.5), (0, 9, 0.1), (17, 17, 0.8)])
def test_exact_p_against_scipy(yes, of, limit) -> None:
    tested = share_against(Count(yes=yes, of=of), limit)
    for p, side in (
        (tested.p_value, "two-sided"),
        (tested.p_above, "greater"),
        (tested.p_below, "less"),
    ):
        assert p == pytest.approx(stats.binomtest(yes, of, limit, side).pvalue, rel=1e-10)
    assert tested.interval().low == share_interval(tested.count, 0.95, "clopper-pearson").low


def test_exact_coverage_of_each_method() -> None:
    """Clopper-Pearson never falls short; Wilson and Jeffreys hold on average over the shares."""
    shares = np.linspace(0.02, 0.98, 97)
    weights = binomial_probabilities(20, shares)
    coverage = {}
    for method in METHODS:
        ends = [share_interval(Count(yes=k, of=20), 0.95, method) for k in range(21)]
        inside = np.array([[end.contains(share) for share in shares] for end in ends])
        coverage[method] = (weights * inside).sum(axis=0)
    assert coverage["clopper-pearson"].min() >= 0.95
    assert coverage["wilson"].mean() == pytest.approx(0.95, abs=0.012)
    assert coverage["jeffreys"].mean() == pytest.approx(0.95, abs=0.012)


def test_probabilities_add_up() -> None:
    assert binomial_probabilities(300, np.array([0.0, 0.2, 1.0])).sum(axis=0) == pytest.approx(1)


@pytest.mark.parametrize(
    ("yes", "of", "message"),
    [
        (-1, 5, "-1 blocks with the feature cannot be among 5"),
        (6, 5, "6 blocks with the feature cannot be among 5"),
        (0, 0, "needs 1 block or more"),
        (0, -3, "needs 1 block or more, not -3"),
        (2.5, 5, "a whole number, not 2.5"),
        (math.nan, 5, "a whole number, not nan"),
    ],
)
def test_counts_refused(yes, of, message) -> None:
    with pytest.raises(Refusal, match=message):
        Count(yes=yes, of=of)


def test_other_refusals() -> None:
    count = Count(yes=2, of=5)
    with pytest.raises(Refusal, match="not 'wald'"):
        share_interval(count, 0.95, "wald")
    with pytest.raises(Refusal, match="not 'left'"):
        share_bound(count, side="left")
    for bad in (0, 1, 1.2):
        with pytest.raises(Refusal, match="Confidence must lie"):
            share_interval(count, bad)
        with pytest.raises(Refusal, match="Confidence must lie"):
            share_bound(count, bad)
    for limit in (0, 1, math.nan):
        with pytest.raises(Refusal, match="between 0 and 1"):
            share_against(count, limit)
