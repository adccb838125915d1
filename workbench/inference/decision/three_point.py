"""A number known by its least, likeliest and greatest value, as a distribution to draw from."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import betaincinv

from workbench.errors import Refusal
from workbench.inference.samples import Values

SHAPES = ("triangular", "pert")


@dataclass(frozen=True, slots=True, kw_only=True)
class ThreePoint:
    """A range `low` to `high` with its peak at `likely`; one number where all three are equal.

    `triangular` runs straight from the ends to the peak. `pert` is a beta distribution of the same
    ends and peak that lies closer about the peak: its mean is (low + 4 likely + high) / 6.

    Raises
    ------
    Refusal
        `bad_range` where a value is not finite or they are out of order, `unknown_shape`.

    References
    ----------
    Malcolm, D. G., Roseboom, J. H., Clark, C. E., Fazar, W. (1959). Application of a technique for
    research and development program evaluation. Operations Research 7, 646-669 (from memory).

    Examples
    --------
    >>> ThreePoint(low=800, likely=900, high=1300).mean
    1000.0
    >>> ThreePoint(low=800, likely=900, high=1300, shape="pert").mean
    950.0
    """

    low: float
    likely: float
    high: float
    shape: str = "triangular"

    def __post_init__(self) -> None:
        """Refuse a range that is none."""
        ends = (self.low, self.likely, self.high)
        if not all(math.isfinite(end) for end in ends):
            raise Refusal("bad_range", f"A range needs three finite numbers, not {ends}.")
        if not self.low <= self.likely <= self.high:
            raise Refusal(
                "bad_range",
                f"A range rises from low to likely to high, not {self.low}, {self.likely}, "
                f"{self.high}.",
            )
        if self.shape not in SHAPES:
            raise Refusal("unknown_shape", f"A range is one of {SHAPES}, not {self.shape!r}.")

    @classmethod
    def exactly(cls, value: float) -> ThreePoint:
        """Give a number that is known."""
        return cls(low=value, likely=value, high=value)

    @property
    def known(self) -> bool:
        """Whether there is nothing to be unsure of."""
        return self.low == self.high

    @property
    def mean(self) -> float:
        """The expectation."""
        if self.known:
            return self.likely
        weight = 1 if self.shape == "triangular" else 4
        return (self.low + weight * self.likely + self.high) / (weight + 2)

    def quantile(self, share: ArrayLike) -> Values:
        """Give the values that `share` of the draws lie below."""
        p = np.asarray(share, dtype=float)
        width = self.high - self.low
        if width == 0:
            return np.full_like(p, self.likely)
        if self.shape == "pert":
            rise, fall = (
                4 * (self.likely - self.low) / width,
                4 * (self.high - self.likely) / width,
            )
            return np.asarray(self.low + width * betaincinv(1 + rise, 1 + fall, p))
        left = math.sqrt(width * (self.likely - self.low)) * np.sqrt(p)
        right = math.sqrt(width * (self.high - self.likely)) * np.sqrt(1 - p)
        at_peak = (self.likely - self.low) / width
        return np.asarray(np.where(p < at_peak, self.low + left, self.high - right))

    def draw(self, generator: np.random.Generator, size: int) -> Values:
        """Give `size` independent draws."""
        return self.quantile(generator.random(size))

    def times(self, factor: float) -> ThreePoint:
        """Give the range in another unit; the factor is above 0."""
        return ThreePoint(
            low=self.low * factor,
            likely=self.likely * factor,
            high=self.high * factor,
            shape=self.shape,
        )
