"""Pooling of sources: units, mirrors, agreement of interval and p, coverage, refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.errors import Refusal
from workbench.inference.means.pooling import BETWEEN, Source, pool
from workbench.inference.means.welch import Summary, welch


def drawn(seed, many=5, between=0.5, mean=1.0):
    rng = np.random.default_rng(seed)
    errors = rng.uniform(0.1, 0.6, many)
    estimates = mean + between * rng.normal(size=many) + errors * rng.normal(size=many)
    return [
        Source(name=str(place), estimate=float(y), standard_error=float(e))
        for place, (y, e) in enumerate(zip(estimates, errors, strict=True))
    ]


def turned(sources, scale=1.0, shift=0.0):
    return [
        Source(
            name=one.name,
            estimate=scale * one.estimate + shift,
            standard_error=abs(scale) * one.standard_error,
        )
        for one in sources
    ]


@pytest.mark.parametrize("between", BETWEEN)
@settings(max_examples=20, deadline=None)
@given(seed=st.integers(0, 10**6), scale=st.sampled_from([25.4, 1 / 25.4, -1.0]))
def test_unit_origin_and_sign(between, seed, scale):
    sources = drawn(seed)
    one, other = pool(sources, between=between), pool(turned(sources, scale, 3.0), between=between)
    assert other.estimate == pytest.approx(scale * one.estimate + 3, rel=1e-6, abs=1e-9)
    assert other.adjusted_error == pytest.approx(abs(scale) * one.adjusted_error, rel=1e-6)
    assert other.between_variance == pytest.approx(
        scale**2 * one.between_variance, rel=1e-5, abs=1e-9 * scale**2
    )
    assert other.heterogeneity == pytest.approx(one.heterogeneity)
    assert other.p_value(scale * 0.2 + 3) == pytest.approx(one.p_value(0.2), rel=1e-4)


@settings(max_examples=30, deadline=None)
@given(
    seed=st.integers(0, 10**6),
    margin=st.floats(-1, 2),
    confidence=st.sampled_from([0.5, 0.8, 0.95, 0.99]),
)
def test_the_interval_leaves_the_margin_out_exactly_when_p_is_small(seed, margin, confidence):
    found = pool(drawn(seed))
    outside = not found.interval(confidence).contains(margin)
    assert outside == (found.p_value(margin) < 1 - confidence)


def test_it_is_a_comparison_for_margins():
    found = pool(drawn(3, between=0.0, mean=1.0, many=8))
    assert found.p_above(0.2) < 0.025
    assert max(found.p_above(0.0), found.p_below(2.0)) < 0.05


@pytest.mark.parametrize("between", BETWEEN)
def test_sources_that_agree_are_weighted_by_their_errors_alone(between):
    sources = [
        Source(name=name, estimate=1.0 + shift, standard_error=error)
        for name, shift, error in (("a", 0.01, 0.3), ("b", -0.02, 0.2), ("c", 0.0, 0.5))
    ]
    found = pool(sources, between=between)
    inverse = np.array([one.standard_error**-2 for one in sources])
    assert found.between_variance == 0
    assert found.inconsistency == 0
    assert found.weights == pytest.approx(tuple(inverse / inverse.sum()))
    assert found.standard_error == pytest.approx(inverse.sum() ** -0.5)
    # their agreement beyond chance does not make the pooled figure surer
    assert found.knapp_factor < 1
    assert found.adjusted_error == found.standard_error
    assert found.between_interval().low == 0


@pytest.mark.parametrize("between", BETWEEN)
def test_sources_of_one_error_are_a_t_interval_of_their_estimates(between):
    values = np.array([1.2, 0.4, 2.2, 1.5, 3.0])
    sources = [
        Source(name=str(place), estimate=float(y), standard_error=0.1)
        for place, y in enumerate(values)
    ]
    found = pool(sources, between=between)
    assert found.estimate == pytest.approx(values.mean())
    assert found.between_variance == pytest.approx(values.var(ddof=1) - 0.01)
    assert found.adjusted_error == pytest.approx(values.std(ddof=1) / math.sqrt(5))
    assert found.degrees_of_freedom == 4


def test_coverage_with_few_unequal_sources():
    """Hartung-Knapp keeps its name where the normal interval falls short.

    The prediction interval is known to fall short of its own with few sources.
    """
    hits = {"knapp": 0, "normal": 0, "next": 0}
    rng = np.random.default_rng(4)
    for seed in range(1500):
        found = pool(drawn(seed, many=5))
        hits["knapp"] += found.interval().contains(1.0)
        hits["normal"] += found.unadjusted_interval().contains(1.0)
        hits["next"] += found.prediction_interval().contains(1.0 + 0.5 * rng.normal())
    assert hits["knapp"] / 1500 == pytest.approx(0.95, abs=0.02)
    assert hits["normal"] / 1500 < 0.92
    assert 0.87 < hits["next"] / 1500 < 0.95


def test_sources_from_printed_tables():
    mean = Source.of_mean("shop", Summary(n=9, mean=9.4, sd=0.6))
    assert (mean.estimate, mean.standard_error) == pytest.approx((9.4, 0.2))
    pair = Summary(n=9, mean=9.4, sd=0.6), Summary(n=12, mean=8.8, sd=0.5)
    difference = Source.of_difference("shop", *pair)
    expected = welch(*pair)
    assert difference.estimate == expected.estimate
    assert difference.standard_error == expected.standard_error


def test_refusals():
    two = drawn(1, many=2)
    with pytest.raises(Refusal, match="1 source pools nothing"):
        pool(two[:1])
    with pytest.raises(Refusal, match="A source is named twice among 0, 0"):
        pool([two[0], two[0]])
    with pytest.raises(Refusal, match="between is one of paule-mandel, reml, dersimonian-laird"):
        pool(two, between="ml")
    with pytest.raises(Refusal, match="do not tell where a further one may lie"):
        pool(two).prediction_interval()
    with pytest.raises(Refusal, match="'shop' gives nan, no number"):
        Source(name="shop", estimate=math.nan, standard_error=1)
    with pytest.raises(Refusal, match="'shop' has a standard error of 0"):
        Source(name="shop", estimate=1, standard_error=0)
    with pytest.raises(Refusal, match="'shop' counts 1; a standard error needs 2"):
        Source.of_mean("shop", Summary(n=1, mean=9, sd=0))
    with pytest.raises(Refusal, match="Confidence must lie"):
        pool(two).interval(0)
