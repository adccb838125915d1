"""What is known of one input of a measurement, as a distribution to draw from (JCGM 101, 6.4)."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from workbench.errors import Refusal
from workbench.inference.admissible import finite, positive, uncertainty
from workbench.inference.samples import Values


class InputQuantity(Protocol):
    """An input with a mean, a standard uncertainty, and draws."""

    @property
    def mean(self) -> float:
        """The expectation; NaN where there is none."""
        ...

    @property
    def standard_uncertainty(self) -> float:
        """The standard deviation; infinite where there is none."""
        ...

    def draw(self, generator: np.random.Generator, size: int) -> Values:
        """Give `size` independent draws."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Normal:
    """A best estimate with a standard uncertainty taken as known (6.4.7)."""

    mean: float
    standard_uncertainty: float

    def __post_init__(self) -> None:
        """Refuse a distribution that is none."""
        finite("The mean", self.mean)
        positive("The standard uncertainty", self.standard_uncertainty)

    def draw(self, generator: np.random.Generator, size: int) -> Values:
        """Give `size` independent draws."""
        return generator.normal(self.mean, self.standard_uncertainty, size)


@dataclass(frozen=True, slots=True, kw_only=True)
class NormalErrors:
    """The sum of normal errors, some of which are known from few readings: scaled t (6.4.9).

    `known` is the standard uncertainty of those taken as known, together. Each of the `few` has its
    standard uncertainty as JCGM 100 has it, for example s / root n, and its degrees of freedom; its
    standard deviation is larger, and infinite for 2 degrees of freedom or fewer.

    A t is a normal error of a variance drawn from its chi-square. So the sum, these variances being
    drawn, is one normal error.
    """

    mean: float
    known: float = 0.0
    few: tuple[tuple[float, float], ...] = ()

    def __post_init__(self) -> None:
        """Refuse a distribution that is none."""
        finite("The mean", self.mean)
        uncertainty("The standard uncertainty taken as known", self.known)
        for scale, degrees in self.few:
            positive("The scale", scale)
            positive("The number of degrees of freedom", degrees)

    @property
    def standard_uncertainty(self) -> float:
        """The standard deviation of the sum."""
        if any(degrees <= 2 for _, degrees in self.few):
            return math.inf
        drawn = sum(scale**2 * degrees / (degrees - 2) for scale, degrees in self.few)
        return math.sqrt(self.known**2 + drawn)

    def draw(self, generator: np.random.Generator, size: int) -> Values:
        """Give `size` independent draws."""
        variance = np.full(size, self.known**2)
        for scale, degrees in self.few:
            drawn = _chi_square(generator, degrees, size)
            variance += np.divide(scale**2 * degrees, drawn, out=drawn)
        drawn = generator.standard_normal(size)
        drawn *= np.sqrt(variance, out=variance)
        drawn += self.mean
        return drawn


def _chi_square(generator: np.random.Generator, degrees: float, size: int) -> Values:
    """Draw chi-squares; of 2 and 4 degrees as a sum of exponentials, in half the time."""
    if degrees not in (2, 4):
        return generator.chisquare(degrees, size)
    drawn = generator.exponential(2.0, size)
    if degrees == 4:
        drawn += generator.exponential(2.0, size)
    return drawn


@dataclass(frozen=True, slots=True, kw_only=True)
class _Bounded:
    """Symmetric between `low` and `high`."""

    low: float
    high: float

    def __post_init__(self) -> None:
        """Refuse bounds that enclose nothing."""
        finite("The lower bound", self.low)
        finite("The upper bound", self.high)
        if not self.low < self.high:
            raise Refusal("bad_bounds", f"The bounds must rise: {self.low} to {self.high}.")

    @property
    def mean(self) -> float:
        """The middle."""
        return (self.low + self.high) / 2

    @property
    def half_width(self) -> float:
        """Half the distance of the bounds."""
        return (self.high - self.low) / 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Rectangular(_Bounded):
    """Somewhere between two bounds, nothing else known (6.4.2)."""

    @property
    def standard_uncertainty(self) -> float:
        """The half-width over root 3."""
        return self.half_width / math.sqrt(3)

    def draw(self, generator: np.random.Generator, size: int) -> Values:
        """Give `size` independent draws."""
        return generator.uniform(self.low, self.high, size)


@dataclass(frozen=True, slots=True, kw_only=True)
class Triangular(_Bounded):
    """The sum of two equal rectangular errors (6.4.5)."""

    @property
    def standard_uncertainty(self) -> float:
        """The half-width over root 6."""
        return self.half_width / math.sqrt(6)

    def draw(self, generator: np.random.Generator, size: int) -> Values:
        """Give `size` independent draws."""
        return generator.triangular(self.low, self.mean, self.high, size)


@dataclass(frozen=True, slots=True, kw_only=True)
class Arcsine(_Bounded):
    """A quantity that swings between two bounds, met at a chance moment (6.4.6)."""

    @property
    def standard_uncertainty(self) -> float:
        """The half-width over root 2."""
        return self.half_width / math.sqrt(2)

    def draw(self, generator: np.random.Generator, size: int) -> Values:
        """Give `size` independent draws."""
        return self.mean + self.half_width * np.sin(generator.uniform(0, 2 * math.pi, size))


@dataclass(frozen=True, slots=True, kw_only=True)
class CurvilinearTrapezoid(_Bounded):
    """Rectangular, the bounds themselves known only to -/+ `blur` (6.4.3)."""

    blur: float

    def __post_init__(self) -> None:
        """Refuse a blur that lets the bounds cross."""
        super(CurvilinearTrapezoid, self).__post_init__()
        if not 0 < self.blur < self.half_width:
            raise Refusal(
                "bad_bounds",
                f"The blur must be above 0 and below the half-width {self.half_width:g}, "
                f"not {self.blur}.",
            )

    @property
    def standard_uncertainty(self) -> float:
        """Root of half-width squared over 3 plus blur squared over 9."""
        return math.sqrt(self.half_width**2 / 3 + self.blur**2 / 9)

    def draw(self, generator: np.random.Generator, size: int) -> Values:
        """Give `size` independent draws."""
        low = self.low - self.blur + 2 * self.blur * generator.random(size)
        return low + (self.low + self.high - 2 * low) * generator.random(size)
