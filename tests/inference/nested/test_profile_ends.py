"""Ends of profiles that are known in closed form, and of a jump."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq
from scipy.stats import chi2

from workbench.inference.nested.profile_ends import back, ends, forth

RISE = float(chi2.ppf(0.95, 1))


@given(freedom=st.floats(1, 200), scale=st.floats(1e-6, 1e6))
def test_ends_of_a_single_variance_are_those_of_its_own_equation(
    freedom: float, scale: float
) -> None:
    """-2 log-likelihood of a variance known from its mean square, on so many degrees of freedom."""

    def rise(value: float) -> float:
        return freedom * (math.log(value / scale) + scale / value - 1)

    asked = []

    def above(value: float) -> tuple[float, float]:
        asked.append(value)
        return rise(value) - RISE, freedom * (1 - scale / value)

    low, high = ends(above, scale, RISE, least=1e-4 * scale)
    of = scale
    assert low == pytest.approx(brentq(lambda v: rise(v) - RISE, 1e-3 * of, of), rel=1e-4)
    assert high == pytest.approx(brentq(lambda v: rise(v) - RISE, of, 1e6 * of), rel=1e-4)
    assert len(asked) < 20


@pytest.mark.parametrize("estimate", [0.0, 0.3, 1.0])
def test_ends_of_a_share_are_those_of_a_count(estimate: float) -> None:
    """The likelihood of 10 draws, a whole line of shares; nothing and all are ends themselves."""
    hits = 10 * estimate

    def rise(share: float) -> float:
        logs = hits * math.log(share) + (10 - hits) * math.log1p(-share)
        best = 0.0 if estimate in {0.0, 1.0} else 10 * (
            estimate * math.log(estimate) + (1 - estimate) * math.log1p(-estimate)
        )  # fmt: skip
        return 2 * (best - logs)

    low, high = ends(
        lambda share: (rise(share) - RISE, 2 * (10 * share - hits)),
        estimate,
        RISE,
        least=1e-6,
        limit=1.0,
    )
    if estimate == 0:
        assert low == 0
    else:
        assert rise(low) == pytest.approx(RISE, rel=1e-3)
    if estimate == 1:
        assert high == 1
    else:
        assert rise(high) == pytest.approx(RISE, rel=1e-3)


def test_a_profile_that_stays_below_its_bound_has_no_ends() -> None:
    def above(value: float) -> tuple[float, float]:
        return -RISE / 2, 0.0

    assert ends(above, 2.0, RISE, least=1e-4) == (0.0, math.inf)
    assert ends(above, 0.2, RISE, least=1e-4, limit=1.0) == (0.0, 1.0)


def test_a_jump_is_closed_in_on() -> None:
    """Where one of several least points ends, the profile may leap over its bound."""

    def above(value: float) -> tuple[float, float]:
        return (math.log(value) ** 2 - RISE if value < 3 else 5.0), 2 * math.log(value)

    low, high = ends(above, 1.0, RISE, least=1e-4)
    assert high == pytest.approx(3, rel=2e-4)
    assert low == pytest.approx(math.exp(-math.sqrt(RISE)), rel=1e-4)


@given(value=st.floats(1e-9, 1 - 1e-9))
def test_the_line_leads_back(value: float) -> None:
    for limit in (1.0, math.inf):
        assert back(forth(value, limit), limit) == pytest.approx(value)
    assert (forth(0.0, 1.0), forth(1.0, 1.0)) == (-math.inf, math.inf)
    assert (back(-math.inf, 1.0), back(math.inf, 1.0)) == (0.0, 1.0)
