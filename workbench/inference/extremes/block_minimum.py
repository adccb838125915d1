"""The thinnest place of the next block, by drawing whole blocks from what a nested study says."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from workbench.errors import Refusal
from workbench.inference.estimates import Estimate
from workbench.inference.extremes.nested_integral import Parameters
from workbench.inference.nested.nested_study import NestedSquares
from workbench.inference.results import check_confidence

Values = NDArray[np.float64]

AT_ONCE = 1_000_000  # places drawn at a time
METHOD = "drawn from the nested model"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BlockMinimum:
    """Thinnest places of drawn blocks, in rising order.

    Every block is drawn with parameters of its own, as the readings leave them open: shares and
    quantiles are those of a prediction for one further block.
    """

    minima: Values
    bores: int
    places: int

    @property
    def mean(self) -> float:
        """The expected thinnest place of the next block."""
        return float(self.minima.mean())

    def quantile(self, share: ArrayLike) -> Values:
        """Give the value that the next block's thinnest place lies below with this chance."""
        wanted = np.asarray(share, dtype=float)
        if not ((wanted > 0) & (wanted < 1)).all():
            raise Refusal("bad_share", f"A share lies between 0 and 1, not at {wanted.tolist()}.")
        return np.asarray(np.quantile(self.minima, wanted), dtype=float)

    def chance_below(self, limit: ArrayLike) -> Values:
        """Give the chance that the next block has a place below a limit."""
        under = np.searchsorted(self.minima, np.asarray(limit, dtype=float), side="left")
        return np.asarray(under / self.minima.size, dtype=float)

    def interval(self, confidence: float = 0.95) -> Estimate:
        """Give the limits between which the next block's thinnest place falls."""
        check_confidence(confidence)
        tail = (1 - confidence) / 2
        low, high = self.quantile([tail, 1 - tail]).tolist()
        return Estimate(
            estimate=float(np.median(self.minima)),
            low=low,
            high=high,
            confidence=confidence,
            method=f"thinnest place of the next block, {METHOD}",
        )


def predicted_minimum(
    squares: NestedSquares,
    *,
    bores: int,
    seed: int,
    blocks: int = 100_000,
    error_variance: float = 0.0,
) -> BlockMinimum:
    """Answer how thin the thinnest place of the next block will be, on the grid of the study.

    A block is a mean, `bores` bores about it, and in each the places of the study's pattern, all
    normal; places differ from one another beyond the pattern as those of the study do.

    Parameters
    ----------
    squares : NestedSquares
        From `squares.nested_squares`; its pattern names the places of a bore.
    bores : int
        Bores of a block.
    seed : int
    blocks : int
        How many blocks are drawn.
    error_variance : float
        The variance of repeated readings at one place, taken off that of places. Left in, the
        answer is for what a gauge will show: thinner than the iron.

    Raises
    ------
    Refusal
        `bad_count`, `bad_variance`.

    References
    ----------
    Geisser, S. (1993). Predictive Inference, chapter 2; parameters by generalised pivots, see
    `nested_study.NestedSquares.draws` (from memory).
    """
    check_grid(bores, blocks, error_variance)
    generator = np.random.default_rng(seed)
    places = len(squares.pattern)
    each = max(1, AT_ONCE // (bores * places))
    minima = np.empty(blocks)
    for at in range(0, blocks, each):
        some = slice(at, min(at + each, blocks))
        minima[some] = _drawn(
            squares, some.stop - some.start, bores, generator, error_variance
        ).min(axis=(1, 2))
    return BlockMinimum(minima=np.sort(minima), bores=bores, places=places)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GridCurve:
    """How the thinnest place found falls with the number of places looked at in every bore.

    `expected` is the mean of the thinnest, `low` and `high` the limits of a further block's. Up to
    `read` places a bore the places are some of the study's, any as likely; beyond, the pattern is
    read over and over, each time at places that differ as much as those of the study do.
    """

    places: NDArray[np.int64]
    expected: Values
    low: Values
    high: Values
    read: int
    confidence: float

    def fall(self, times: float) -> float:
        """Give how much thinner the thinnest is expected with `times` as many places as read."""
        wanted = times * self.read
        if not self.places[0] <= wanted <= self.places[-1]:
            raise Refusal(
                "outside_curve",
                f"The curve runs from {self.places[0]} to {self.places[-1]} places a bore, not to "
                f"{wanted:g}.",
            )
        here = float(np.interp(self.read, self.places, self.expected))
        return here - float(np.interp(wanted, self.places, self.expected))


def minimum_by_grid(
    squares: NestedSquares,
    *,
    bores: int,
    seed: int,
    times: int = 4,
    blocks: int = 20_000,
    confidence: float = 0.95,
    error_variance: float = 0.0,
) -> GridCurve:
    """Answer how much thinner the thinnest place would be, had more places been looked at.

    Parameters
    ----------
    squares, bores, seed, blocks, error_variance
        As in `predicted_minimum`.
    times : int
        How many times the places of the study the curve runs to.
    confidence : float
        Of the limits for a further block.

    Returns
    -------
    GridCurve
        Places side by side are more alike than places of a coarse grid, so beyond the places read
        the curve falls too fast: it is a bound on how much thinner, not the expected amount.

    Raises
    ------
    Refusal
        `bad_count`, `bad_variance`, `bad_confidence`.
    """
    check_grid(bores, blocks, error_variance)
    check_confidence(confidence)
    if times != int(times) or times < 1:
        raise Refusal("bad_count", f"The grid grows a whole number of times, not {times}.")
    generator = np.random.default_rng(seed)
    read = len(squares.pattern)
    most = read * times
    each = max(1, AT_ONCE // (bores * most))
    rows = []
    for at in range(0, blocks, each):
        some = min(each, blocks - at)
        drawn = _drawn(squares, some, bores, generator, error_variance, passes=times)
        rows.append(np.minimum.accumulate(drawn.min(axis=1), axis=1))
    thinnest = np.concatenate(rows)
    tail = (1 - confidence) / 2
    low, high = np.quantile(thinnest, [tail, 1 - tail], axis=0)
    return GridCurve(
        places=np.arange(1, most + 1),
        expected=thinnest.mean(axis=0),
        low=low,
        high=high,
        read=read,
        confidence=confidence,
    )


def _drawn(
    squares: NestedSquares,
    blocks: int,
    bores: int,
    generator: np.random.Generator,
    error_variance: float,
    passes: int = 0,
) -> Values:
    """Draw blocks: one number a block, bore and place.

    `passes` over the pattern, each in an order drawn for the block; 0 for one in its own order.
    """
    parameters = Parameters.drawn(squares.draws(blocks, generator), error_variance)
    places = max(passes, 1) * len(squares.pattern)
    drawn = generator.standard_normal((blocks, bores, places))
    drawn *= parameters.place[:, None, None]
    drawn += (parameters.bore[:, None] * generator.standard_normal((blocks, bores)))[:, :, None]
    middle = parameters.mean + parameters.block * generator.standard_normal(blocks)
    pattern = parameters.pattern
    if passes:
        pattern = np.hstack([generator.permuted(pattern, axis=1) for _ in range(passes)])
    drawn += (middle[:, None] + pattern)[:, None, :]
    return drawn


def check_grid(bores: int, blocks: int, *error_variances: float) -> None:
    """Refuse a grid without bores, too few drawn blocks, and a variance that is none."""
    for name, number, least in (("bores", bores, 1), ("drawn blocks", blocks, 100)):
        if number != int(number) or number < least:
            raise Refusal("bad_count", f"There are {least} {name} or more, not {number}.")
    for error_variance in error_variances:
        if not (error_variance >= 0 and math.isfinite(error_variance)):
            raise Refusal("bad_variance", f"A variance is 0 or more, not {error_variance}.")
