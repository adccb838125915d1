"""Ratio of means: swap, unit, interval against p, refusals."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.errors import Refusal
from workbench.inference.means.ratio_of_means import ratio_of_means
from workbench.inference.means.welch import Summary

HEAVY = (91.2, 93.0, 92.4, 90.8, 94.1)
LIGHT = (80.3, 79.5, 81.1, 80.0)


def test_swapped_families_give_the_inverse() -> None:
    forward, back = ratio_of_means(HEAVY, LIGHT), ratio_of_means(LIGHT, HEAVY)
    assert back.estimate == pytest.approx(1 / forward.estimate)
    assert back.p_value(1 / 1.14) == pytest.approx(forward.p_value(1.14))
    found, inverse = forward.interval(), back.interval()
    assert (inverse.low, inverse.high) == pytest.approx((1 / found.high, 1 / found.low))


def test_pounds_give_the_same_ratio() -> None:
    kilograms = ratio_of_means(HEAVY, LIGHT)
    pounds = ratio_of_means(np.array(HEAVY) / 0.45359237, np.array(LIGHT) / 0.45359237)
    assert pounds.p_value(1.1) == pytest.approx(kilograms.p_value(1.1))
    assert pounds.interval().low == pytest.approx(kilograms.interval().low)


@given(
    mean=st.floats(1, 100),
    sd=st.floats(0.01, 1),
    other=st.floats(5, 100),
    confidence=st.sampled_from([0.5, 0.9, 0.95, 0.99]),
)
@settings(max_examples=60, deadline=None)
def test_the_interval_ends_where_p_says(mean, sd, other, confidence) -> None:
    ratio = ratio_of_means(Summary(n=7, mean=mean, sd=sd), Summary(n=5, mean=other, sd=0.5))
    found = ratio.interval(confidence)
    for end in (found.low, found.high):
        assert ratio.p_value(end) == pytest.approx(1 - confidence, rel=1e-6)


def test_refusals() -> None:
    with pytest.raises(Refusal, match=r"cannot be told from 0 at 0\.95"):
        ratio_of_means(HEAVY, Summary(n=4, mean=0.5, sd=1.0)).interval()
    with pytest.raises(Refusal, match="reference mean is 0"):
        ratio_of_means(HEAVY, [-1.0, 1.0])
    with pytest.raises(Refusal, match="Neither sample shows any spread"):
        ratio_of_means([2, 2, 2], [1, 1])
    with pytest.raises(Refusal, match="the candidate holds 1 number"):
        ratio_of_means([90.0], LIGHT)
    with pytest.raises(Refusal, match="Confidence must lie"):
        ratio_of_means(HEAVY, LIGHT).interval(0)
