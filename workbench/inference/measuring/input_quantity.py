"""What is known of one input of a measurement, as a distribution to draw from (JCGM 101, 6.4)."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from workbench.errors import Refusal
from workbench.inference.admissible import finite, positive
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
class Student:
    """A best estimate from few readings: scaled and shifted t (6.4.9).

    `scale` is the standard uncertainty as JCGM 100 has it, for example s / root n; the standard
    deviation is larger, and infinite for 2 degrees of freedom or fewer.
    """

    mean: float
    scale: float
    degrees_of_freedom: float

    def __post_init__(self) -> None:
        """Refuse a distribution that is none."""
        finite("The mean", self.mean)
        positive("The scale", self.scale)
        positive("The number of degrees of freedom", self.degrees_of_freedom)

    @property
    def standard_uncertainty(self) -> float:
        """The standard deviation of the scaled t."""
        nu = self.degrees_of_freedom
        return self.scale * math.sqrt(nu / (nu - 2)) if nu > 2 else math.inf

    def draw(self, generator: np.random.Generator, size: int) -> Values:
        """Give `size` independent draws."""
        drawn = generator.standard_t(self.degrees_of_freedom, size)
        drawn *= self.scale
        drawn += self.mean
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
