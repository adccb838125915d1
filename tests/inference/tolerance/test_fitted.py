"""Lognormal and Weibull tolerance limits: simulated confidence, fits against scipy, refusals."""

import math

import numpy as np
import pytest
from scipy import stats

from workbench.errors import Refusal
from workbench.inference.tolerance.fitted import (
    gumbel_fits,
    lognormal_tolerance,
    weibull_tolerance,
)


def test_fits_in_bulk_against_scipy() -> None:
    sample = np.random.default_rng(1).gumbel(size=(20, 30)) * -0.4 + 3
    locations, scales = gumbel_fits(sample)
    for row, location, scale in zip(sample, locations, scales, strict=True):
        assert (location, scale) == pytest.approx(stats.gumbel_l.fit(row), rel=1e-4)


@pytest.mark.parametrize("side", ["lower", "upper", "both"])
def test_weibull_confidence_is_that_seen_in_simulation(side) -> None:
    family = stats.weibull_min(4, scale=4.0)
    rng = np.random.default_rng(2)
    held = []
    for _ in range(200):
        found = weibull_tolerance(
            family.rvs(15, random_state=rng), 0.9, 0.9, side, seed=1, draws=2_000
        )
        held.append(family.cdf(found.high) - family.cdf(found.low) >= 0.9)
    slack = 4 * math.sqrt(0.09 / 200)
    assert np.mean(held) > 0.9 - slack
    if side != "both":
        assert np.mean(held) < 0.9 + slack


def test_lognormal_limits_are_those_of_logarithms() -> None:
    family = stats.lognorm(0.3, scale=4)
    rng = np.random.default_rng(3)
    held = [
        family.sf(lognormal_tolerance(family.rvs(12, random_state=rng), 0.9, 0.9, "lower").low)
        >= 0.9
        for _ in range(800)
    ]
    assert abs(np.mean(held) - 0.9) < 4 * math.sqrt(0.09 / 800)
    assert lognormal_tolerance([1, 2, 3, 4, 5], side="upper").low == 0
    assert lognormal_tolerance([1, 2, 3, 4, 5], side="lower").high == math.inf


def test_weibull_limits_follow_the_unit_and_the_seed() -> None:
    values = stats.weibull_min(4, scale=4.0).ppf((np.arange(20) + 0.5) / 20)
    plain, again, inches = (
        weibull_tolerance(x, seed=7, draws=2_000) for x in (values, values, values / 25.4)
    )
    assert plain == again
    assert (inches.low * 25.4, inches.high * 25.4) == pytest.approx((plain.low, plain.high))


def test_refusals() -> None:
    for tolerance in (lognormal_tolerance, lambda x: weibull_tolerance(x, seed=1)):
        with pytest.raises(Refusal, match="needs values above 0; the least is 0"):
            tolerance([0, 1, 2, 3, 4])
        with pytest.raises(Refusal, match="holds 4 numbers; at least 5"):
            tolerance([1, 2, 3, 4])
        with pytest.raises(Refusal, match="equal"):
            tolerance([2.0] * 6)
