from __future__ import annotations

import numpy as np

from workbench.inference.distributions.fit import covariance_of
from workbench.inference.distributions.maximise import maximise

BOUNDS = np.array([[-10.0, 10.0], [-10.0, 10.0]])


def test_a_quadratic_is_climbed_to_its_top() -> None:
    found = maximise(
        lambda at: -((at[:, 0] - 1) ** 2) - 2 * (at[:, 1] + 3) ** 2, np.zeros(2), BOUNDS, gain=1e-12
    )
    assert found.converged
    np.testing.assert_allclose(found.at, (1, -3), atol=1e-6)


def test_a_slope_beyond_all_numbers_ends_the_search_without_a_maximum() -> None:
    """Readings wildly far off bring likelihoods whose differences overflow."""

    def cliff(at: np.ndarray) -> np.ndarray:
        return np.where(at[:, 0] > 0, 1.0, -1.0) * 1.7e308

    with np.errstate(over="ignore", invalid="ignore"):
        found = maximise(cliff, np.zeros(2), BOUNDS, gain=1e-12)
        covariance, singular = covariance_of(found, 100)
    assert not found.converged
    assert singular
    assert np.isnan(covariance).all()


def test_a_whole_step_that_gains_too_little_is_tried_in_parts() -> None:
    """From the flank of a bell Newton's step leads far beyond its top."""

    def bell(at: np.ndarray) -> np.ndarray:
        return np.exp(-((at[:, 0] - 2) ** 2) - 0.5 * (at[:, 1] - at[:, 0]) ** 2)

    for start in ((0.5, 0.0), (4.0, 3.0), (2.0, 0.3)):
        found = maximise(bell, np.array(start), BOUNDS, gain=1e-14)
        assert found.converged
        np.testing.assert_allclose(found.at, (2, 2), atol=1e-6)
        np.testing.assert_allclose(found.curvature, [[3, -1], [-1, 1]], atol=1e-6)


def test_neighbours_that_are_not_possible_are_looked_for_nearer() -> None:
    """The top lies a ten-thousandth inside the edge of what is possible."""

    def edged(at: np.ndarray) -> np.ndarray:
        x, y = at.T
        return np.where(x > 1 - 1e-4, -((x - 1) ** 2) - (y + 1) ** 2, -np.inf)

    found = maximise(edged, np.array([1.5, 0.0]), BOUNDS, gain=1e-14)
    assert found.converged
    np.testing.assert_allclose(found.at, (1, -1), atol=1e-6)


def test_a_bound_stops_the_climb_and_is_named() -> None:
    found = maximise(
        lambda at: -((at[:, 0] - 30) ** 2) - (at[:, 1] - 1) ** 2, np.zeros(2), BOUNDS, gain=1e-12
    )
    np.testing.assert_allclose(found.at, (10, 1), atol=1e-6)
    assert found.held.tolist() == [1, 0]
