"""A cost that starts at what the least work takes, and grows with a power of its size."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

FLAT = 1.3  # a cost that grows by less over the whole curve is said to stay


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerLaw:
    """`start + factor * size ** exponent`, and how far it rises over the sizes it was fitted to."""

    start: float
    factor: float
    exponent: float
    rise: float

    def at(self, sizes: np.ndarray) -> np.ndarray:
        """Give the cost at sizes."""
        return self.start + self.factor * sizes**self.exponent

    def words(self) -> str:
        """Say how it grows."""
        return "stays" if self.rise < FLAT else f"exponent {self.exponent:.2f}"


def fitted(sizes: np.ndarray, costs: np.ndarray) -> PowerLaw:
    """Fit by least squares of logarithms: for each exponent the two others have a best pair.

    Relative errors count alike at both ends of the curve; neither part is below nought.
    """
    from scipy.optimize import least_squares

    def misfit(free: np.ndarray) -> np.ndarray:
        start, factor, exponent = np.exp(free[0]), np.exp(free[1]), free[2]
        return np.log(start + factor * (sizes / sizes[-1]) ** exponent) - np.log(costs)

    least = np.log(costs.min())
    best = min(
        (
            least_squares(misfit, [least - 0.1, np.log(costs[-1]), exponent], xtol=1e-12)
            for exponent in (0.5, 1.0, 1.5, 2.0)
        ),
        key=lambda one: one.cost,
    )
    start, factor, exponent = np.exp(best.x[0]), np.exp(best.x[1]), best.x[2]
    return PowerLaw(
        start=float(start),
        factor=float(factor / sizes[-1] ** exponent),
        exponent=float(exponent),
        rise=float(costs[-1] / costs[0]),
    )
