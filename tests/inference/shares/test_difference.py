"""Difference of shares: swap, interval against p, the boundary estimates, refusals."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar
from scipy.special import xlog1py, xlogy

from workbench.errors import Refusal
from workbench.inference.shares.count import Count
from workbench.inference.shares.difference import (
    METHODS,
    score_statistic,
    share_difference,
    share_difference_interval,
)

COUNT = st.integers(2, 40).flatmap(lambda n: st.builds(Count, yes=st.integers(0, n), of=st.just(n)))


@given(own=COUNT, other=COUNT, method=st.sampled_from(METHODS))
@settings(max_examples=60, deadline=None)
def test_swapped_families_change_the_sign(own, other, method) -> None:
    forward, back = share_difference(own, other, method), share_difference(other, own, method)
    assert back.estimate == pytest.approx(-forward.estimate)
    assert back.p_value(-0.1) == pytest.approx(forward.p_value(0.1), abs=1e-9)
    found, swapped = forward.interval(), back.interval()
    assert (swapped.low, swapped.high) == pytest.approx((-found.high, -found.low), abs=1e-9)
    newcombe, mirror = share_difference_interval(own, other), share_difference_interval(other, own)
    assert (mirror.low, mirror.high) == pytest.approx((-newcombe.high, -newcombe.low), abs=1e-12)


@given(
    own=COUNT,
    other=COUNT,
    method=st.sampled_from(METHODS),
    confidence=st.sampled_from([0.8, 0.9, 0.95, 0.99]),
)
@settings(max_examples=60, deadline=None)
def test_the_interval_ends_where_p_says(own, other, method, confidence) -> None:
    apart = share_difference(own, other, method)
    found = apart.interval(confidence)
    if found.low > -1:
        assert apart.p_above(found.low) == pytest.approx((1 - confidence) / 2, abs=1e-8)
    if found.high < 1:
        assert apart.p_below(found.high) == pytest.approx((1 - confidence) / 2, abs=1e-8)


@pytest.mark.parametrize("table", [(5, 12, 3, 20), (0, 7, 2, 9), (9, 9, 4, 11), (0, 6, 0, 6)])
@pytest.mark.parametrize("margin", [-0.4, -0.1, 0.0, 0.2, 0.7])
def test_standard_error_uses_the_likeliest_shares(table, margin) -> None:
    """The closed form against a plain search for the greatest likelihood on the boundary."""
    own, own_of, other, other_of = table

    def minus(share: float) -> float:
        rest = share - margin
        return -(
            xlogy(own, share)
            + xlog1py(own_of - own, -share)
            + xlogy(other, rest)
            + xlog1py(other_of - other, -rest)
        )

    bounds = (max(0.0, margin), min(1.0, 1 + margin))
    best = minimize_scalar(minus, bounds=bounds, method="bounded", options={"xatol": 1e-12}).x
    rest = best - margin
    error = np.sqrt(best * (1 - best) / own_of + rest * (1 - rest) / other_of)
    expected = (own / own_of - other / other_of - margin) / error if error > 1e-5 else None
    found = float(score_statistic(own, other, own_of, other_of, margin))
    if expected is None:
        assert found == 0
        assert margin == 0
    else:
        assert found == pytest.approx(expected, rel=2e-4, abs=1e-6)


def test_every_table_has_a_number_and_rises_with_the_count() -> None:
    z = score_statistic(np.arange(9)[:, None], np.arange(6), 8, 5, -0.3)
    assert np.isfinite(z).all()
    assert (np.diff(z, axis=0) > 0).all()
    assert (np.diff(z, axis=1) < 0).all()


def test_refusals() -> None:
    few, many = Count(yes=1, of=4), Count(yes=10, of=40)
    with pytest.raises(Refusal, match="not 'wald'"):
        share_difference(few, many, "wald")
    with pytest.raises(Refusal, match=r"Shares differ by less than 1; the margin is 1\.5"):
        share_difference(few, many).p_value(1.5)
    with pytest.raises(Refusal, match="Confidence must lie"):
        share_difference(few, many).interval(1)
    with pytest.raises(Refusal, match="Confidence must lie"):
        share_difference_interval(few, many, 0)
