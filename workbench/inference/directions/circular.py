"""Directions as such: their mean, whether they gather at all, and a von Mises fit.

Only for directions that are each determined: a vector near zero points anywhere, and its direction
says nothing. Where sizes matter too, vectors and their regions are the right tool.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from numpy.typing import ArrayLike
from scipy.special import i0e, i1e, j0, j1, jn_zeros, ndtri

from workbench.errors import Refusal
from workbench.inference.directions.vector import direction_of, unit_vectors
from workbench.inference.results import Interval, check_confidence
from workbench.inference.roots import root_between
from workbench.inference.samples import clean_values

TERMS = 2000
RESOLVED = 1e-8  # the series loses its digits below; the approximation is then taken
SMALL_SAMPLE = 16
TOGETHER = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True)
class MeanDirection:
    """The mean of `n` directions in degrees, 0 to 360, and their mean resultant length, 0 to 1."""

    direction: float
    length: float
    n: int

    @property
    def standard_deviation(self) -> float:
        """The circular standard deviation in degrees, sqrt(-2 log length)."""
        return math.degrees(math.sqrt(-2 * math.log(self.length)))

    @property
    def rayleigh(self) -> float:
        """Rayleigh's p against 'all directions are equally likely', from its exact distribution.

        The length of a walk of n unit steps in random directions, by a Fourier-Bessel series
        (Kluyver 1906). Blind to two opposed groups. Below 1e-8 the approximation of Greenwood &
        Durand (1955), as in Zar's textbook, takes over. From memory.
        """
        exact = self._rayleigh_series()
        if exact > RESOLVED:
            return exact
        n, total = self.n, self.n * self.length
        return math.exp(math.sqrt(1 + 4 * n + 4 * (n**2 - total**2)) - (1 + 2 * n))

    def _rayleigh_series(self) -> float:
        n, total = self.n, self.n * self.length
        zeros = jn_zeros(0, TERMS)
        terms = j0(zeros / n) ** n * j1(zeros * total / n) / (zeros * j1(zeros) ** 2)
        return min(1.0, 1 - 2 * self.length * float(terms.sum()))


@dataclass(frozen=True, slots=True, kw_only=True)
class VonMises:
    """The normal curve of the circle: mean `direction` in degrees, `concentration` 0 and up."""

    direction: float
    concentration: float
    length: float
    n: int

    @property
    def concentration_standard_error(self) -> float:
        """The standard error of the concentration, from the information."""
        ratio = _bessel_ratio(self.concentration)
        spread = 1 - ratio / self.concentration - ratio**2
        return 1 / math.sqrt(self.n * spread)

    def direction_interval(self, confidence: float = 0.95) -> Interval:
        """Give the interval of the mean direction, for many directions or tight ones.

        It surrounds `direction` and may so begin below 0 or end above 360.

        References
        ----------
        Fisher, N. I. (1993). Statistical Analysis of Circular Data, section 4.4.5 (from memory).
        """
        check_confidence(confidence)
        error = 1 / math.sqrt(self.n * self.length * self.concentration)
        sine = float(ndtri((1 + confidence) / 2)) * error
        if sine >= 1:
            raise Refusal(
                "direction_not_determined",
                f"The {self.n} directions scatter so much that their mean has no interval.",
            )
        half = math.degrees(math.asin(sine))
        return Interval(
            low=self.direction - half, high=self.direction + half, confidence=confidence
        )


def mean_direction(degrees: ArrayLike) -> MeanDirection:
    """Answer where directions point on the whole, and how closely they gather.

    Parameters
    ----------
    degrees : array_like
        Directions in degrees, three or more.

    Raises
    ------
    Refusal
        `too_few`, `not_finite`; `no_mean_direction` when they cancel exactly.

    Examples
    --------
    >>> lean = mean_direction([45, 55, 81, 96, 110, 117, 132, 154])
    >>> f"{lean.direction:.0f}, r = {lean.length:.5f}, p = {lean.rayleigh:.4f}"
    '99, r = 0.82522, p = 0.0017'
    """
    angles = clean_values(degrees, least=3, name="the list of directions")
    cosine, sine = (float(part.mean()) for part in unit_vectors(angles))
    length = min(1.0, math.hypot(cosine, sine))
    if length < TOGETHER:
        raise Refusal("no_mean_direction", "The directions cancel: they have no mean direction.")
    return MeanDirection(direction=direction_of(cosine, sine), length=length, n=angles.size)


def von_mises_fit(degrees: ArrayLike, *, small_sample: bool = True) -> VonMises:
    """Fit the von Mises curve by maximum likelihood.

    Parameters
    ----------
    degrees : array_like
        Directions in degrees, three or more.
    small_sample : bool
        Correct the concentration of 15 directions or fewer, which likelihood makes too large.

    Raises
    ------
    Refusal
        As `mean_direction`; `no_spread` when all directions are equal; `no_gathering` when the
        correction leaves no concentration.

    References
    ----------
    Best, D. J., Fisher, N. I. (1981). The bias of the maximum likelihood estimators of the von
    Mises-Fisher concentration parameters. Communications in Statistics B 10, 493-502 (from memory).
    """
    found = mean_direction(degrees)
    if found.length > 1 - TOGETHER:
        raise Refusal("no_spread", f"All {found.n} directions are equal: there is no spread.")
    high = 1.0
    while _bessel_ratio(high) < found.length:
        high *= 2
    kappa = root_between(lambda k: _bessel_ratio(k) - found.length, 0.0, high, absolute=1e-13)
    n = found.n
    if small_sample and n < SMALL_SAMPLE:
        kappa = (
            max(0.0, kappa - 2 / (n * kappa))
            if kappa < 2
            else (n - 1) ** 3 * kappa / (n * (n**2 + 1))
        )
    if kappa == 0:
        raise Refusal("no_gathering", f"The {n} directions gather nowhere; see Rayleigh's test.")
    return VonMises(direction=found.direction, concentration=kappa, length=found.length, n=found.n)


def _bessel_ratio(concentration: float) -> float:
    """Give I1 / I0: the mean resultant length of a von Mises curve."""
    return float(i1e(concentration) / i0e(concentration))
