"""Standard shapes: densities, both tails and quantiles of a variate without location and scale.

Arrays broadcast; `shape` is ignored by shapes that have none. `smooth` tells that the density is
smooth on the whole line, so that narrow intervals can be integrated instead of differenced.
"""

from __future__ import annotations

import math
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.special import (
    expit,
    gammainc,
    gammaincc,
    gammaincinv,
    gammaln,
    log_ndtr,
    logit,
    ndtr,
    ndtri,
    owens_t,
    stdtr,
    stdtrit,
)

from workbench.inference.distributions.inverse import inverse

Values = NDArray[np.float64]

LOG_ROOT_2PI = 0.5 * math.log(2 * math.pi)
LARGE_SHAPE = 30.0
LIMIT_SHAPE = 1e-9


class Standard(Protocol):
    """What a standard shape can be asked."""

    smooth: bool

    def log_density(self, z: Values, shape: Values) -> Values:
        """Give the logarithm of the density; minus infinity outside the support."""
        ...

    def tails(self, z: Values, shape: Values) -> tuple[Values, Values]:
        """Give P(Z <= z) and P(Z > z), each exact where it is small."""
        ...

    def quantile(self, share: Values, shape: Values) -> Values:
        """Give z with P(Z <= z) = share."""
        ...


class Normal:
    """The standard normal."""

    smooth = True

    def log_density(self, z: Values, shape: Values) -> Values:
        """Give -z^2 / 2 and its constant."""
        return -0.5 * z * z - LOG_ROOT_2PI

    def tails(self, z: Values, shape: Values) -> tuple[Values, Values]:
        """Give both tails."""
        return ndtr(z), ndtr(-z)

    def quantile(self, share: Values, shape: Values) -> Values:
        """Invert the normal."""
        return np.asarray(ndtri(share), dtype=float)


class Logistic:
    """The standard logistic: 1 / (1 + exp(-z))."""

    smooth = True

    def log_density(self, z: Values, shape: Values) -> Values:
        """Give the density, symmetric about 0."""
        size = np.abs(z)
        return np.asarray(-size - 2 * np.log1p(np.exp(-size)), dtype=float)

    def tails(self, z: Values, shape: Values) -> tuple[Values, Values]:
        """Give both tails."""
        return expit(z), expit(-z)

    def quantile(self, share: Values, shape: Values) -> Values:
        """Give the logit."""
        return np.asarray(logit(share), dtype=float)


class StudentT:
    """Student's t; the shape is its degrees of freedom."""

    smooth = True

    def log_density(self, z: Values, shape: Values) -> Values:
        """Give the density."""
        constant = gammaln((shape + 1) / 2) - gammaln(shape / 2) - 0.5 * np.log(math.pi * shape)
        return np.asarray(constant - (shape + 1) / 2 * np.log1p(z * z / shape), dtype=float)

    def tails(self, z: Values, shape: Values) -> tuple[Values, Values]:
        """Give both tails."""
        return stdtr(shape, z), stdtr(shape, -z)

    def quantile(self, share: Values, shape: Values) -> Values:
        """Invert Student's t."""
        return np.asarray(stdtrit(shape, share), dtype=float)


class SkewNormal:
    """Azzalini's skew-normal: density 2 phi(z) Phi(shape z)."""

    smooth = True

    def log_density(self, z: Values, shape: Values) -> Values:
        """Give the density."""
        bent = math.log(2) - LOG_ROOT_2PI + log_ndtr(shape * z) - 0.5 * z * z
        return np.asarray(bent, dtype=float)

    def tails(self, z: Values, shape: Values) -> tuple[Values, Values]:
        """Give both tails by Owen's T; far in the short tail to 16 decimals, not digits."""
        owen = 2 * owens_t(z, shape)
        return np.maximum(ndtr(z) - owen, 0.0), np.maximum(ndtr(-z) + owen, 0.0)

    def quantile(self, share: Values, shape: Values) -> Values:
        """Invert by closing in."""
        return inverse(lambda z: self.tails(z, shape)[0], share, shape)


class GumbelMinima:
    """The limit of minima without a lower end: P(Z > z) = exp(-exp(z))."""

    smooth = True

    def log_density(self, z: Values, shape: Values) -> Values:
        """Give z - exp(z)."""
        with np.errstate(over="ignore"):
            return np.asarray(z - np.exp(z), dtype=float)

    def tails(self, z: Values, shape: Values) -> tuple[Values, Values]:
        """Give both tails."""
        with np.errstate(over="ignore"):
            hazard = np.exp(z)
        return -np.expm1(-hazard), np.exp(-hazard)

    def quantile(self, share: Values, shape: Values) -> Values:
        """Invert in closed form."""
        return np.asarray(np.log(-np.log1p(-share)), dtype=float)


class LogGamma:
    """The logarithm of a gamma variate over its mean; the shape is that of the gamma."""

    smooth = True

    def log_density(self, z: Values, shape: Values) -> Values:
        """Give shape (z - exp(z) + 1) and its constant."""
        with np.errstate(over="ignore"):
            return np.asarray(shape * (z - np.expm1(z)) + _gamma_constant(shape), dtype=float)

    def tails(self, z: Values, shape: Values) -> tuple[Values, Values]:
        """Give both tails by the incomplete gamma function."""
        with np.errstate(over="ignore"):
            x = shape * np.exp(z)
        return gammainc(shape, x), gammaincc(shape, x)

    def quantile(self, share: Values, shape: Values) -> Values:
        """Invert the incomplete gamma function."""
        with np.errstate(divide="ignore"):
            return np.asarray(np.log(gammaincinv(shape, share) / shape), dtype=float)


def _gamma_constant(shape: Values) -> Values:
    """Give shape log(shape) - shape - log Gamma(shape), by Stirling's series where it cancels."""
    k = np.asarray(shape, dtype=float)
    plain = k * np.log(k) - k - gammaln(k)
    series = 0.5 * np.log(k / (2 * math.pi)) - 1 / (12 * k) + 1 / (360 * k**3) - 1 / (1260 * k**5)
    return np.asarray(np.where(k > LARGE_SHAPE, series, plain), dtype=float)


class ExtremeMinima:
    """The generalised extreme value for minima; the shape is that of the maxima of -Z.

    Below 0 the minima have a lower end (at z = 1 / shape), above 0 an upper end. At 0 it is
    `GumbelMinima`.
    """

    smooth = False

    def log_density(self, z: Values, shape: Values) -> Values:
        """Give the density."""
        level = _reduced(z, shape)
        with np.errstate(over="ignore", invalid="ignore"):
            density = -(1 + shape) * level - np.exp(-level)
        return np.where(np.isfinite(level), density, -np.inf)

    def tails(self, z: Values, shape: Values) -> tuple[Values, Values]:
        """Give both tails."""
        with np.errstate(over="ignore"):
            hazard = np.exp(-_reduced(z, shape))
        return -np.expm1(-hazard), np.exp(-hazard)

    def quantile(self, share: Values, shape: Values) -> Values:
        """Invert in closed form."""
        level = -np.log(-np.log1p(-np.asarray(share, dtype=float)))
        limit = np.abs(shape) < LIMIT_SHAPE
        safe = np.where(limit, 1.0, shape)
        return np.asarray(-np.where(limit, level, np.expm1(safe * level) / safe), dtype=float)


def _reduced(z: Values, shape: Values) -> Values:
    """Give the Gumbel variate that -z stands for; infinite beyond the ends."""
    limit = np.abs(shape) < LIMIT_SHAPE
    safe = np.where(limit, 1.0, shape)
    inner = -safe * z
    with np.errstate(divide="ignore", invalid="ignore"):
        level = np.log1p(np.maximum(inner, -1.0)) / safe
    return np.asarray(np.where(limit, -z, level), dtype=float)
