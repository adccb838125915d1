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
