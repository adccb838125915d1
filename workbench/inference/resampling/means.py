"""The bootstrap of means without drawing: what ever more draws of blocks would settle at.

A mean of blocks drawn anew is a sum of independent draws, so its whole distribution follows from
the characteristic function of one draw, raised to the number of blocks. The answer has no random
error, needs no seed, and comes in about a millisecond.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtr, ndtri

from workbench.errors import Refusal
from workbench.inference.resampling.few_blocks import few_blocks_warning
from workbench.inference.results import Interval, check_confidence
from workbench.inference.roots import root_between
from workbench.inference.samples import Values, clean_values, require_spread

METHODS = ("bca", "percentile")
LEAST_BLOCKS = 5
# In standard errors: how far the distribution is followed, and where its transform is given up.
REACH = 14.0
FIRST_TERMS = 40
LAST_TERMS = 8
MOST_TERMS = 16_384
NEGLIGIBLE = 1e-13
# A drawn mean is taken to this part of its standard error, so that the series always ends.
SMOOTHING = 1 / 400


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MeanBootstrap:
    """A mean, or a difference of means, and its distribution over all ways of drawing blocks."""

    estimate: float
    standard_error: float
    acceleration: float
    blocks: tuple[int, ...]
    frequencies: Values = field(repr=False)
    transform: np.ndarray = field(repr=False)

    @property
    def bias_correction(self) -> float:
        """z0 of the BCa method: how far the median lies from the estimate, in normal sd."""
        return float(ndtri(self.chance_below(self.estimate)))

    @property
    def warning(self) -> str | None:
        """What a reader must know when the blocks are too few for this method."""
        return few_blocks_warning(min(self.blocks))

    def chance_below(self, value: float) -> float:
        """Give the share of all draws whose figure lies below `value`."""
        phase = np.exp(-1j * self.frequencies * (value - self.estimate)) * self.transform
        steps = np.arange(self.frequencies.size) + 0.5
        return float(0.5 - (phase.imag / (math.pi * steps)).sum())

    def interval(self, confidence: float = 0.95, method: str = "bca") -> Interval:
        """Give the interval by `method`: "bca" or "percentile"."""
        check_confidence(confidence)
        if method not in METHODS:
            raise Refusal("unknown_method", f"The method is one of {METHODS}, not {method!r}.")
        tails = [(1 - confidence) / 2, (1 + confidence) / 2]
        if method == "bca":
            z0 = self.bias_correction
            z = [z0 + float(ndtri(tail)) for tail in tails]
            tails = [float(ndtr(z0 + x / (1 - self.acceleration * x))) for x in z]
        low, high = (self._quantile(tail) for tail in tails)
        return Interval(low=low, high=high, confidence=confidence)

    def _quantile(self, share: float) -> float:
        reach = (REACH - 2) / 2 * self.standard_error
        return root_between(
            lambda value: self.chance_below(value) - share,
            self.estimate - reach,
            self.estimate + reach,
            absolute=1e-9 * self.standard_error,
        )


def bootstrap_mean(candidate: ArrayLike, reference: ArrayLike | None = None) -> MeanBootstrap:
    """Answer how sure a mean of blocks is, or a difference of two, over every way of drawing them.

    Parameters
    ----------
    candidate : array_like
        One number a block, five blocks or more.
    reference : array_like, optional
        A second family: the figure is then candidate minus reference.

    Returns
    -------
    MeanBootstrap
        What `bootstrap_blocks` tends to with ever more draws (values in steps of a gauge are
        smoothed over one step).

    Raises
    ------
    Refusal
        `too_few` below five blocks; `zero_spread`, `not_finite`.

    References
    ----------
    Davies, R. B. (1973). Numerical inversion of a characteristic function. Biometrika 60, 415-417;
    Efron, B. (1987). Better bootstrap confidence intervals. Journal of the American Statistical
    Association 82, 171-185. Both from memory.

    Examples
    --------
    >>> hours = [3, 5, 7, 18, 43, 85, 91, 98, 100, 130, 230, 487]
    >>> found = bootstrap_mean(hours).interval()
    >>> f"{found.low:.1f} to {found.high:.1f}"
    '57.0 to 226.1'
    """
    rows = [clean_values(candidate, least=LEAST_BLOCKS, name="the candidate")]
    if reference is not None:
        rows.append(-clean_values(reference, least=LEAST_BLOCKS, name="the reference"))
    require_spread(np.concatenate([row - row[0] for row in rows]), name="each family")
    centred = [row - row.mean() for row in rows]
    error = math.sqrt(sum(float((row**2).mean()) / row.size for row in centred))
    cubes = sum(float((row**3).mean()) / row.size**2 for row in centred)
    frequencies, transform = _transform(centred, error)
    return MeanBootstrap(
        estimate=float(sum(row.mean() for row in rows)),
        standard_error=error,
        acceleration=cubes / (6 * error**3),
        blocks=tuple(row.size for row in rows),
        frequencies=frequencies,
        transform=transform,
    )


def _transform(centred: list[Values], error: float) -> tuple[Values, np.ndarray]:
    """Follow the characteristic function of the drawn figure until it has died away."""
    step = 2 * math.pi / (REACH * error)
    found = np.empty(0, dtype=complex)
    while found.size < MOST_TERMS:
        more = max(FIRST_TERMS, found.size)
        t = step * (np.arange(found.size, found.size + more) + 0.5)
        value = np.exp(-((t * error * SMOOTHING) ** 2) / 2).astype(complex)
        for row in centred:
            # exp(i t x / k) for equally spaced t: one factor after the other.
            turns = np.broadcast_to(np.exp(1j * step * row / row.size), (more, row.size)).copy()
            turns[0] = np.exp(1j * t[0] * row / row.size)
            value *= np.multiply.accumulate(turns, axis=0).mean(axis=1) ** row.size
        found = np.concatenate([found, value])
        if np.abs(value[-LAST_TERMS:]).max() < NEGLIGIBLE:
            break
    return np.asarray(step * (np.arange(found.size) + 0.5), dtype=np.float64), found
