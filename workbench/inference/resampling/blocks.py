"""The bootstrap of blocks: whole blocks drawn anew, any figure of their summaries, in one pass.

Works on reduced summaries, one row a block, so its cost does not grow with the readings. Blocks
are the unit: drawing readings anew would make a standard error many times too small.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr, ndtri

from workbench.errors import Refusal
from workbench.inference.resampling.few_blocks import few_blocks_warning
from workbench.inference.results import Interval, check_confidence

Values = NDArray[np.float64]
Figure = Callable[..., Values]

RESAMPLES = 10_000
METHODS = ("bca", "percentile", "studentised")
LEAST_BLOCKS = 3
UNDEFINED_ALLOWED = 0.05
# Numbers gathered at a time: small enough to stay in the processor's cache.
CHUNK = 100_000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bootstrap:
    """A figure, and the values it took when whole blocks were drawn anew.

    `undefined` counts draws in which the figure had no value (left out). `acceleration` comes from
    leaving out one block at a time. `errors` are the draws' own standard errors where asked for.
    """

    estimate: float
    replicates: Values = field(repr=False)
    acceleration: float
    blocks: tuple[int, ...]
    seed: int
    undefined: int = 0
    own_error: float | None = None
    errors: Values | None = field(default=None, repr=False)

    @property
    def standard_error(self) -> float:
        """The standard deviation of the figure over the draws (infinite values left out)."""
        return float(self.replicates[np.isfinite(self.replicates)].std(ddof=1))

    @property
    def bias_correction(self) -> float:
        """z0 of the BCa method: how far the draws' median lies from the estimate, in normal sd."""
        below = np.mean(self.replicates < self.estimate) + np.mean(self.replicates <= self.estimate)
        return float(ndtri(below / 2))

    @property
    def warning(self) -> str | None:
        """What a reader must know when the blocks are too few for this method."""
        return few_blocks_warning(min(self.blocks))

    def interval(self, confidence: float = 0.95, method: str = "bca") -> Interval:
        """Give the interval by `method`: "bca", "percentile" or "studentised"."""
        check_confidence(confidence)
        tails = np.array([(1 - confidence) / 2, (1 + confidence) / 2])
        if method == "percentile":
            low, high = _quantiles(self.replicates, tails)
        elif method == "bca":
            low, high = _quantiles(self.replicates, self._corrected(tails))
        elif method == "studentised":
            low, high = self._studentised(tails)
        else:
            raise Refusal("unknown_method", f"The method is one of {METHODS}, not {method!r}.")
        return Interval(low=low, high=high, confidence=confidence)

    def _corrected(self, tails: Values) -> Values:
        z0 = self.bias_correction
        if not math.isfinite(z0):
            raise Refusal(
                "estimate_at_edge",
                f"All {self.replicates.size} draws lie on one side of the estimate "
                f"{self.estimate:g}; no bias correction is possible.",
            )
        z = z0 + ndtri(tails)
        corrected: Values = ndtr(z0 + z / (1 - self.acceleration * z))
        return corrected

    def _studentised(self, tails: Values) -> tuple[float, float]:
        if self.errors is None or self.own_error is None:
            raise Refusal(
                "no_standard_error",
                "The studentised interval needs `standard_error`, a function giving the figure's "
                "standard error in each draw.",
            )
        t = (self.replicates - self.estimate) / np.where(self.errors > 0, self.errors, np.nan)
        high, low = _quantiles(t[np.isfinite(t)], tails)
        return self.estimate - low * self.own_error, self.estimate - high * self.own_error


def bootstrap_blocks(
    families: ArrayLike | tuple[ArrayLike, ...],
    figure: Figure,
    *,
    seed: int,
    resamples: int = RESAMPLES,
    standard_error: Figure | None = None,
) -> Bootstrap:
    """Answer how sure any figure of block summaries is, by drawing whole blocks anew.

    Parameters
    ----------
    families : array_like, or tuple of array_like
        One row a block: k numbers, or k rows of several (sums, counts). A tuple of such families
        is drawn family by family, each with its own number of blocks.
    figure : callable
        `figure(family, ..., axis=1)` takes every family with draws along axis 0 and blocks along
        axis 1 and gives one value a draw: `numpy.mean`, `numpy.median`, or your own.
    seed : int
        Of the draws; the same seed gives the same numbers.
    resamples : int
        How many draws, 100 or more.
    standard_error : callable, optional
        Like `figure`, its standard error; needed for the studentised interval.

    Raises
    ------
    Refusal
        `too_few_blocks` below 3; `not_finite`; `undefined_figure` when the figure has no value on
        the blocks or in more than one draw of twenty; `zero_spread` when it never changes.

    References
    ----------
    Efron, B., Tibshirani, R. J. (1993). An Introduction to the Bootstrap, chapters 12 to 14.
    Davison, A. C., Hinkley, D. V. (1997). Bootstrap Methods and their Application, section 3.8
    (whole clusters). Both from memory.

    Examples
    --------
    >>> walls = [4.1, 4.4, 3.9, 4.6, 4.2, 4.3, 4.0, 4.5]
    >>> found = bootstrap_blocks(walls, np.mean, seed=1)
    >>> f"{found.estimate:.2f}, standard error {found.standard_error:.2f}"
    '4.25, standard error 0.08'
    """
    rows = checked_families(families)
    check_resamples(resamples)
    generator = np.random.default_rng(seed)
    drawn = (
        [row.take(generator.integers(0, len(row), (size, len(row))), axis=0) for row in rows]
        for size in chunk_sizes(resamples, sum(row.size for row in rows))
    )
    return assembled(rows, drawn, figure, standard_error, seed)


def assembled(
    rows: Sequence[Values],
    drawn: Iterator[list[Values]],
    figure: Figure,
    standard_error: Figure | None,
    seed: int,
) -> Bootstrap:
    """Evaluate the figure on the blocks as they are and on every chunk of draws."""
    with np.errstate(divide="ignore", invalid="ignore"):
        estimate = _one(figure, rows, "figure")
        own_error = None if standard_error is None else _one(standard_error, rows, "standard error")
        found, errors = [], []
        for chunk in drawn:
            found.append(_each(figure, chunk, "figure"))
            if standard_error is not None:
                errors.append(_each(standard_error, chunk, "standard error"))
        acceleration = _acceleration(rows, figure)
    replicates = np.concatenate(found)
    defined = ~np.isnan(replicates)
    undefined = int(replicates.size - defined.sum())
    if undefined > UNDEFINED_ALLOWED * replicates.size:
        raise Refusal(
            "undefined_figure",
            f"The figure has no value in {undefined} of {replicates.size} draws; "
            "the blocks are too few for it.",
        )
    replicates = replicates[defined]
    if replicates.min() == replicates.max():
        raise Refusal("zero_spread", "The figure is the same in every draw: there is no spread.")
    return Bootstrap(
        estimate=estimate,
        replicates=replicates,
        acceleration=acceleration,
        blocks=tuple(len(row) for row in rows),
        seed=seed,
        undefined=undefined,
        own_error=own_error,
        errors=np.concatenate(errors)[defined] if errors else None,
    )


def checked_families(families: ArrayLike | tuple[ArrayLike, ...]) -> list[Values]:
    """Give one or several families as arrays with a row a block; refuse what cannot be drawn."""
    several = isinstance(families, tuple) and any(np.ndim(family) > 0 for family in families)
    given = families if isinstance(families, tuple) and several else (families,)
    rows = []
    for place, family in enumerate(given, start=1):
        try:
            row = np.asarray(family, dtype=np.float64)
        except (TypeError, ValueError):
            raise Refusal(
                "not_numbers", f"Family {place} holds something that is not a number."
            ) from None
        if row.ndim == 0 or len(row) < LEAST_BLOCKS:
            raise Refusal(
                "too_few_blocks",
                f"Family {place} has {len(np.atleast_1d(row))} blocks; drawing them anew needs "
                f"{LEAST_BLOCKS} or more.",
            )
        if not np.isfinite(row).all():
            raise Refusal("not_finite", f"Every number of family {place} must be finite.")
        rows.append(row)
    return rows


def check_resamples(resamples: int) -> None:
    """Refuse too few draws."""
    if resamples != int(resamples) or resamples < 100:
        raise Refusal("bad_resamples", f"Draws are a whole number of 100 or more, not {resamples}.")


def chunk_sizes(resamples: int, numbers_each: int) -> Iterator[int]:
    """Split the draws so that a chunk holds about CHUNK numbers."""
    size = max(1, CHUNK // numbers_each)
    for start in range(0, resamples, size):
        yield min(size, resamples - start)


def _acceleration(rows: Sequence[Values], figure: Figure) -> float:
    """Give the skewness of the influence of single blocks (Efron & Tibshirani, eq. 14.15)."""
    cubes = squares = 0.0
    for place, row in enumerate(rows):
        left_out = np.concatenate(list(_without_one(rows, place, figure)))
        influence = (left_out[np.isfinite(left_out)].mean() - left_out) * (len(row) - 1) / len(row)
        influence = influence[np.isfinite(influence)]
        cubes += float((influence**3).sum())
        squares += float((influence**2).sum())
    return cubes / (6 * squares**1.5) if squares > 0 else 0.0


def _without_one(rows: Sequence[Values], place: int, figure: Figure) -> Iterator[Values]:
    k, others, start = len(rows[place]), np.arange(len(rows[place]) - 1), 0
    for size in chunk_sizes(k, sum(row.size for row in rows)):
        gone = np.arange(start, start + size)[:, None]
        kept = rows[place].take(others + (others >= gone), axis=0)
        full = [np.broadcast_to(row, (size, *row.shape)) for row in rows]
        full[place] = kept
        yield _each(figure, full, "figure")
        start += size


def _one(figure: Figure, rows: Sequence[Values], name: str) -> float:
    value = float(_each(figure, [row[None] for row in rows], name)[0])
    if not math.isfinite(value):
        raise Refusal("undefined_figure", f"The {name} of the blocks as they are is {value}.")
    return value


def _each(figure: Figure, samples: Sequence[Values], name: str) -> Values:
    found = np.asarray(figure(*samples, axis=1), dtype=np.float64)
    if found.shape != (len(samples[0]),):
        raise Refusal(
            "bad_figure",
            f"The {name} must give one value a draw, {len(samples[0])} here; "
            f"it gave an array of shape {found.shape}.",
        )
    return found


def _quantiles(values: Values, shares: Values) -> tuple[float, float]:
    low, high = np.quantile(values, np.clip(shares, 0.0, 1.0), method="inverted_cdf")
    return float(low), float(high)
