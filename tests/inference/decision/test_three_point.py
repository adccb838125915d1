"""Ranges of three values against scipy's distributions."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from workbench.errors import Refusal
from workbench.inference.decision.three_point import ThreePoint


def of_scipy(found: ThreePoint):
    width = found.high - found.low
    rise = (found.likely - found.low) / width
    if found.shape == "triangular":
        return stats.triang(rise, found.low, width)
    return stats.beta(1 + 4 * rise, 1 + 4 * (1 - rise), found.low, width)


@pytest.mark.parametrize("shape", ["triangular", "pert"])
@pytest.mark.parametrize("ends", [(800, 900, 1300), (0, 0, 5), (2, 7, 7)])
def test_against_scipy(shape, ends) -> None:
    low, likely, high = ends
    found = ThreePoint(low=low, likely=likely, high=high, shape=shape)
    p = np.linspace(0, 1, 11)
    assert found.quantile(p) == pytest.approx(of_scipy(found).ppf(p))
    assert found.mean == pytest.approx(of_scipy(found).mean())


def test_draws_have_the_mean() -> None:
    found = ThreePoint(low=10, likely=12, high=20)
    draws = found.draw(np.random.default_rng(1), 100_000)
    error = draws.std() / math.sqrt(draws.size)
    assert draws.mean() == pytest.approx(found.mean, abs=4 * error)


@given(st.floats(0.01, 100), st.sampled_from(["triangular", "pert"]))
def test_another_unit(factor, shape) -> None:
    found = ThreePoint(low=3, likely=4, high=9, shape=shape)
    assert found.times(factor).mean == pytest.approx(factor * found.mean)
    assert found.times(factor).quantile(0.3) == pytest.approx(factor * found.quantile(0.3))


def test_a_known_number() -> None:
    found = ThreePoint.exactly(5.0)
    assert found.known
    assert found.mean == 5
    assert set(found.draw(np.random.default_rng(1), 10)) == {5.0}


@pytest.mark.parametrize(
    ("ends", "shape", "message"),
    [
        ((3, 2, 5), "triangular", "rises from low to likely to high, not 3, 2, 5"),
        ((3, 6, 5), "pert", "rises from low to likely to high, not 3, 6, 5"),
        ((3, math.nan, 5), "pert", "three finite numbers"),
        ((3, 4, math.inf), "pert", "three finite numbers"),
        ((3, 4, 5), "normal", "is one of .*not 'normal'"),
    ],
)
def test_refusals(ends, shape, message) -> None:
    with pytest.raises(Refusal, match=message):
        ThreePoint(low=ends[0], likely=ends[1], high=ends[2], shape=shape)
