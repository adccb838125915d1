"""Welch's analysis: identities, agreement of interval and p, and what it refuses."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.errors import Refusal
from workbench.inference.means.welch import Summary, welch

summaries = st.builds(
    Summary,
    n=st.integers(2, 60),
    mean=st.floats(-50, 50),
    sd=st.floats(0.01, 20),
)


@given(ours=summaries, others=summaries)
@settings(max_examples=100, deadline=None, derandomize=True)
def test_swapping_the_samples_changes_only_the_sign(ours, others):
    here, there = welch(ours, others), welch(others, ours)
    assert here.estimate == -there.estimate
    assert here.standard_error == pytest.approx(there.standard_error, rel=1e-12)
    assert here.p_value() == pytest.approx(there.p_value(), rel=1e-9)


@given(ours=summaries, others=summaries)
@settings(max_examples=100, deadline=None, derandomize=True)
def test_the_degrees_of_freedom_lie_between_the_smaller_sample_and_the_pooled(ours, others):
    degrees = welch(ours, others).degrees_of_freedom
    assert min(ours.n, others.n) - 1 - 1e-9 <= degrees <= ours.n + others.n - 2 + 1e-9


@given(ours=summaries, others=summaries, margin=st.floats(-20, 20))
@settings(max_examples=100, deadline=None, derandomize=True)
def test_the_interval_leaves_out_a_margin_exactly_when_p_is_small(ours, others, margin):
    difference = welch(ours, others)
    p = difference.p_value(margin)
    if abs(p - 0.05) > 1e-9:
        assert difference.interval(0.95).contains(margin) == (p > 0.05)


def test_the_unit_leaves_t_and_p_alone():
    inch = welch(Summary(n=5, mean=0.41, sd=0.02), Summary(n=7, mean=0.39, sd=0.01))
    metric = welch(Summary(n=5, mean=10.414, sd=0.508), Summary(n=7, mean=9.906, sd=0.254))
    assert inch.p_value() == pytest.approx(metric.p_value(), rel=1e-12)
    assert inch.estimate * 25.4 == pytest.approx(metric.estimate)


def test_equal_samples_of_equal_spread_have_the_pooled_degrees_of_freedom():
    difference = welch(Summary(n=8, mean=1, sd=2), Summary(n=8, mean=0, sd=2))
    assert difference.degrees_of_freedom == pytest.approx(14)


def test_a_summary_of_values_is_that_of_numpy():
    values = [3.1, 2.9, 3.4, 3.0]
    summary = Summary.of(values)
    assert (summary.n, summary.mean, summary.sd) == (4, np.mean(values), np.std(values, ddof=1))


@pytest.mark.parametrize(
    ("candidate", "message"),
    [
        (Summary(n=1, mean=1, sd=0), r"at least 2 values.*candidate has 1"),
        (Summary(n=3, mean=1, sd=0), r"any spread"),
    ],
)
def test_too_little_to_compare_is_refused(candidate, message):
    with pytest.raises(Refusal, match=message):
        welch(candidate, Summary(n=4, mean=2, sd=0))


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"n": 0, "mean": 1, "sd": 1}, r"1 or more, not 0"),
        ({"n": 2.5, "mean": 1, "sd": 1}, r"whole number"),
        ({"n": 2, "mean": math.nan, "sd": 1}, r"finite number"),
        ({"n": 2, "mean": 1, "sd": -1}, r"0 or more, not -1"),
        ({"n": 2, "mean": 1, "sd": math.inf}, r"0 or more, not inf"),
    ],
)
def test_an_impossible_summary_is_refused(fields, message):
    with pytest.raises(Refusal, match=message):
        Summary(**fields)


@pytest.mark.parametrize(
    ("values", "message"),
    [([1.0], r"at least 2"), ([1.0, math.nan], r"finite"), ([[1.0, 2.0]], r"at least 2")],
)
def test_values_no_spread_can_be_taken_from_are_refused(values, message):
    with pytest.raises(Refusal, match=message):
        Summary.of(values)
