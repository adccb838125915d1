"""Tests of the slope of the likelihood under several chance factors."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from workbench.inference.nested.crossed_likelihood import (
    Sums,
    curved_at,
    sums_of,
)

VARIANCES = [
    np.array([1.1, 0.3, 0.2, 0.15]),
    np.array([0.0, 0.3, 0.0, 2.0]),
    np.array([1e-6, 4.0, 1e-3, 0.01]),
]


@pytest.fixture(scope="module")
def codes() -> list[np.ndarray]:
    part = np.repeat(np.arange(8), 6)[2:]
    operator = np.tile([0, 0, 1, 1, 2, 2], 8)[2:]
    return [part, operator, np.unique(3 * part + operator, return_inverse=True)[1]]


@pytest.fixture(scope="module")
def y(codes: list[np.ndarray]) -> np.ndarray:
    draw = np.random.default_rng(3).standard_normal
    return 9 + draw(8)[codes[0]] + 0.5 * draw(3)[codes[1]] + 0.4 * draw(codes[0].size)


@pytest.fixture(scope="module")
def sums(codes: list[np.ndarray], y: np.ndarray) -> Sums:
    return sums_of(codes, y)


@pytest.mark.parametrize("restricted", [True, False])
@pytest.mark.parametrize("variances", VARIANCES, ids=["all", "none of two", "small"])
@pytest.mark.parametrize("scaled", [False, True], ids=["as they are", "at their scale"])
def test_slope_and_curvature_in_logarithms_are_those_of_small_steps(
    sums: Sums, variances: np.ndarray, restricted: bool, scaled: bool
) -> None:
    logs = np.log(np.maximum(variances, 1e-4))

    def at(where: np.ndarray) -> tuple[float, np.ndarray, np.ndarray]:
        return curved_at(sums, np.exp(where), restricted, scaled=scaled)

    _, slope, curvature = at(logs)
    for place in range(logs.size):
        step = np.where(np.arange(logs.size) == place, 1e-4, 0.0)
        up, down = at(logs + step), at(logs - step)
        assert (up[0] - down[0]) / 2e-4 == pytest.approx(
            slope[place], rel=1e-5, abs=1e-5 * np.abs(slope).max()
        )
        assert (up[1] - down[1]) / 2e-4 == pytest.approx(
            curvature[place], rel=1e-5, abs=1e-5 * np.abs(curvature).max()
        )


def test_full_criterion_is_that_of_the_joint_normal(
    codes: list[np.ndarray], y: np.ndarray, sums: Sums
) -> None:
    """The density as scipy has it, at the mean the model itself would take."""
    variances = VARIANCES[0]
    v = variances[-1] * np.eye(y.size)
    for variance, code in zip(variances, codes, strict=False):
        v += variance * (code[:, None] == code)
    weights = np.linalg.solve(v, np.ones(y.size))
    mean = weights @ y / weights.sum()
    density = float(multivariate_normal.logpdf(y, np.full(y.size, mean), v))
    assert curved_at(sums, variances, False)[0] == pytest.approx(-2 * density, rel=1e-10)
    restricted = curved_at(sums, variances, True)[0]
    assert restricted + math.log(2 * math.pi) == pytest.approx(
        -2 * density + math.log(weights.sum()), rel=1e-10
    )


@pytest.mark.parametrize("restricted", [True, False])
def test_a_common_scale_is_free_in_the_profile(sums: Sums, restricted: bool) -> None:
    criterion, slope, curvature = curved_at(sums, VARIANCES[0], restricted, scaled=True)
    larger = curved_at(sums, 7 * VARIANCES[0], restricted, scaled=True)
    assert larger[0] == pytest.approx(criterion)
    assert slope.sum() == pytest.approx(0, abs=1e-8)
    assert curvature.sum(axis=0) == pytest.approx(0, abs=1e-8)
    assert curved_at(sums, VARIANCES[0], restricted)[0] >= criterion
