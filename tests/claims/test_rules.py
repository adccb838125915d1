"""The rule table, edge by edge: an interval against a margin, for the four directions."""

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.claims.rules import DIRECTIONS, decide, inner_confidence, outcome
from workbench.errors import Refusal
from workbench.inference.results import Difference, Interval

MIRROR = {"greater": "less", "less": "greater", "same": "same", "different": "different"}
POINTS = (-3.0, -2.0, -1.0, 0.0, 1.0, 2.0, 3.0)
INTERVALS = tuple(itertools.combinations_with_replacement(POINTS, 2))


def between(low, high, confidence=0.95):
    return Interval(low=low, high=high, confidence=confidence)


@pytest.mark.parametrize(
    ("direction", "margin", "low", "high", "expected"),
    [
        ("greater", 2.0, 2.1, 3.0, "supported"),
        ("greater", 2.0, 2.0, 3.0, "unresolved"),
        ("greater", 2.0, 1.0, 3.0, "unresolved"),
        ("greater", 2.0, 1.0, 2.0, "unresolved"),
        ("greater", 2.0, 1.0, 1.9, "contradicted"),
        ("greater", 0.0, -1.0, -0.1, "contradicted"),
        ("greater", -1.0, -0.9, 0.5, "supported"),
        ("greater", 0.0, -math.inf, math.inf, "unresolved"),
        ("less", 2.0, -3.0, -2.1, "supported"),
        ("less", 2.0, -3.0, -2.0, "unresolved"),
        ("less", 2.0, -1.9, 0.0, "contradicted"),
        ("less", -1.0, -0.5, 0.9, "supported"),
        ("different", 0.0, 0.1, 1.0, "supported"),
        ("different", 0.0, -1.0, -0.1, "supported"),
        ("different", 0.0, 0.0, 1.0, "unresolved"),
        ("different", 0.0, 0.0, 0.0, "unresolved"),
        ("different", 1.0, 1.1, 2.0, "supported"),
        ("different", 1.0, -2.0, -1.1, "supported"),
        ("different", 1.0, -0.9, 0.9, "contradicted"),
        ("different", 1.0, -1.0, 0.9, "unresolved"),
        ("different", 1.0, 0.5, 1.0, "unresolved"),
        ("different", 1.0, -2.0, 2.0, "unresolved"),
    ],
)
def test_outcome_of_an_interval(direction, margin, low, high, expected):
    assert outcome(direction, margin, between(low, high)) == expected


@pytest.mark.parametrize(
    ("outer", "inner", "expected"),
    [
        ((-1.1, 0.9), (-0.9, 0.7), "supported"),  # the inner interval decides
        ((-1.2, 0.9), (-1.0, 0.7), "unresolved"),  # touching is not inside
        ((0.9, 2.0), (1.1, 1.8), "unresolved"),  # the outer one still reaches inside
        ((1.1, 2.0), (1.2, 1.9), "contradicted"),
        ((-2.0, -1.1), (-1.9, -1.2), "contradicted"),
        ((1.0, 2.0), (1.1, 1.9), "unresolved"),
    ],
)
def test_sameness_by_two_one_sided_tests(outer, inner, expected):
    assert outcome("same", 1.0, between(*outer), between(*inner, 0.9)) == expected


def test_sameness_without_its_inner_interval_is_a_mistake_of_the_caller():
    with pytest.raises(ValueError, match="inner interval"):
        outcome("same", 1.0, between(0, 0.1))


@pytest.mark.parametrize("direction", DIRECTIONS)
@pytest.mark.parametrize("margin", [0.0, 1.0, 2.0])
def test_swapping_the_families_mirrors_every_outcome(direction, margin):
    for low, high in INTERVALS:
        here = outcome(direction, margin, between(low, high), between(low, high))
        there = outcome(MIRROR[direction], margin, between(-high, -low), between(-high, -low))
        assert here == there


@pytest.mark.parametrize("margin", [0.0, 1.0, 2.0])
def test_no_interval_both_supports_a_claim_and_its_opposite(margin):
    for low, high in INTERVALS:
        reach = between(low, high)
        greater = outcome("greater", margin, reach)
        less = outcome("less", -margin, reach)
        assert (greater == "supported") == (less == "contradicted")
        same = outcome("same", margin, reach, reach)
        different = outcome("different", margin, reach)
        assert (same == "supported") == (different == "contradicted")
        assert (same == "contradicted") == (different == "supported")


def test_without_a_margin_a_difference_is_never_contradicted():
    for low, high in INTERVALS:
        assert outcome("different", 0.0, between(low, high)) != "contradicted"


@given(
    estimate=st.floats(-5, 5),
    error=st.floats(0.05, 5),
    degrees=st.floats(1, 200),
    margin=st.floats(0.01, 4),
    confidence=st.sampled_from([0.8, 0.9, 0.95, 0.99]),
    direction=st.sampled_from(DIRECTIONS),
)
@settings(max_examples=300, deadline=None, derandomize=True)
def test_a_claim_is_decided_exactly_when_the_deciding_p_says_so(
    estimate, error, degrees, margin, confidence, direction
):
    difference = Difference(
        estimate=estimate, standard_error=error, degrees_of_freedom=degrees, method="t"
    )
    decision = decide(difference, direction=direction, margin=margin, confidence=confidence)
    level = 1 - confidence
    if abs(decision.deciding_p - level) > 1e-9:
        assert (decision.outcome != "unresolved") == (decision.deciding_p < level)
    if direction == "same" and abs(decision.p_value - level) > 1e-9:
        assert (decision.outcome == "supported") == (decision.p_value < level)


def test_same_from_a_published_equivalence_analysis():
    # Lakens (2017), Social Psychological and Personality Science 8, 355-362, example of Moon and
    # Roeder (2014), printed: t(181) = -2.69, p = .004 (from memory); inputs as printed there.
    from workbench.inference.means.welch import Summary, welch

    difference = welch(Summary(n=95, mean=5.25, sd=0.95), Summary(n=89, mean=5.22, sd=0.83))
    margin = 0.43 * math.sqrt((0.95**2 + 0.83**2) / 2)
    decision = decide(difference, direction="same", margin=margin, confidence=0.95)
    assert decision.outcome == "supported"
    assert decision.p_value == pytest.approx(0.004, abs=5e-4)
    assert decision.inner.low == pytest.approx(-0.187, abs=5e-4)
    assert decision.inner.high == pytest.approx(0.247, abs=5e-4)
    assert difference.degrees_of_freedom == pytest.approx(181.13, abs=5e-3)
    assert difference.statistic(margin) == pytest.approx(-2.69, abs=5e-3)


def test_p_of_a_directed_claim_is_that_of_its_margin():
    difference = Difference(estimate=3, standard_error=1, degrees_of_freedom=math.inf, method="z")
    greater = decide(difference, direction="greater", margin=1.04, confidence=0.95)
    # two-sided p of a standard normal deviate of 1.96 is 0.05 (any printed table)
    assert greater.p_value == pytest.approx(0.05, abs=1e-4)
    less = decide(difference, direction="less", margin=-4.96, confidence=0.95)
    assert less.p_value == pytest.approx(0.05, abs=1e-4)
    assert greater.inner is None


def test_sameness_needs_more_than_even_confidence():
    with pytest.raises(Refusal, match=r"above 0\.5"):
        inner_confidence(0.5)
