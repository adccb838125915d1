"""Two means of blocks compared by drawing the blocks anew, asked at any margin."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike

from workbench.errors import Refusal
from workbench.inference.resampling.blocks import Bootstrap, Values, bootstrap_blocks
from workbench.inference.resampling.blocks_and_bores import bootstrap_bores
from workbench.inference.resampling.few_blocks import few_blocks_warning
from workbench.inference.results import Interval, check_confidence
from workbench.inference.samples import clean_values, require_spread

LEAST_BLOCKS = 5
RESAMPLES = 9_999


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BootstrapComparison:
    """Candidate less reference, studentised: each draw's distance in its own standard errors.

    A p is the share of draws as far out as the margin, the study itself counted in; an interval
    holds the margins whose p is above its level, so that both always agree.
    """

    estimate: float
    standard_error: float
    pivots: Values = field(repr=False)
    blocks: tuple[int, int]
    method: str

    @property
    def degrees_of_freedom(self) -> float:
        """NaN: no Student's t is taken."""
        return math.nan

    @property
    def warning(self) -> str | None:
        """What a reader must know when the blocks are too few for this method."""
        return few_blocks_warning(min(self.blocks))

    def p_above(self, margin: float) -> float:
        """Give the one-sided p against 'the difference is `margin` or less'."""
        as_far = self.pivots.size - int(np.searchsorted(self.pivots, self._seen(margin), "left"))
        return (1 + as_far) / (1 + self.pivots.size)

    def p_below(self, margin: float) -> float:
        """Give the one-sided p against 'the difference is `margin` or more'."""
        as_far = int(np.searchsorted(self.pivots, self._seen(margin), "right"))
        return (1 + as_far) / (1 + self.pivots.size)

    def p_value(self, margin: float = 0.0) -> float:
        """Give the two-sided p of the boundary `margin`: twice the smaller tail."""
        return min(1.0, 2 * min(self.p_above(margin), self.p_below(margin)))

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give the interval; an end is infinite where there are too few draws for it."""
        check_confidence(confidence)
        rank = math.floor(round((1 - confidence) / 2 * (self.pivots.size + 1), 9))
        if rank < 1:
            return Interval(low=-math.inf, high=math.inf, confidence=confidence)
        return Interval(
            low=self.estimate - self.standard_error * float(self.pivots[-rank]),
            high=self.estimate - self.standard_error * float(self.pivots[rank - 1]),
            confidence=confidence,
        )

    def _seen(self, margin: float) -> float:
        return (self.estimate - margin) / self.standard_error


def compare_means(candidate: ArrayLike, reference: ArrayLike, *, seed: int) -> BootstrapComparison:
    """Answer how far two means of blocks lie apart, whatever the shapes.

    Parameters
    ----------
    candidate, reference : array_like
        One number a block, five blocks or more each.
    seed : int
        Of the draws.

    Raises
    ------
    Refusal
        `too_few`, `zero_spread`, `not_finite`; `undefined_figure` where draws too often show no
        spread.

    References
    ----------
    Davison, A. C., Hinkley, D. V. (1997). Bootstrap Methods and their Application, sections 2.4
    and 5.2 (from memory).
    """
    rows = _checked(candidate, reference)
    drawn = bootstrap_blocks(
        rows, _apart, seed=seed, resamples=RESAMPLES, standard_error=_error_of_means
    )
    return _compared(drawn, "blocks drawn anew, studentised")


def compare_bores(
    candidate: Sequence[ArrayLike], reference: Sequence[ArrayLike], *, seed: int
) -> BootstrapComparison:
    """Answer the same where both the blocks and the bores in them were a sample.

    The spread of bores, already within that of block means, counts a second time, so intervals are
    a little long, the more so the fewer the bores.

    Parameters
    ----------
    candidate, reference : sequence of array_like
        One array a block, a number a bore; five blocks or more each.
    seed : int
        Of the draws.

    Raises
    ------
    Refusal
        As `compare_means`; `too_few_bores` for a block without bores.
    """
    _checked(
        *([np.asarray(block, float).mean() for block in side] for side in (candidate, reference))
    )
    drawn = bootstrap_bores(
        (candidate, reference),
        _apart,
        seed=seed,
        resamples=RESAMPLES,
        standard_error=_error_of_means,
    )
    return _compared(drawn, "blocks and then bores drawn anew, studentised")


def _checked(candidate: ArrayLike, reference: ArrayLike) -> tuple[Values, Values]:
    own = clean_values(candidate, least=LEAST_BLOCKS, name="the candidate")
    other = clean_values(reference, least=LEAST_BLOCKS, name="the reference")
    for name, row in (("the candidate", own), ("the reference", other)):
        require_spread(row, name=name)
    return own, other


def _compared(drawn: Bootstrap, method: str) -> BootstrapComparison:
    assert drawn.errors is not None
    assert drawn.own_error is not None
    sound = drawn.errors > 0
    pivots = (drawn.replicates[sound] - drawn.estimate) / drawn.errors[sound]
    if pivots.size < 0.95 * drawn.replicates.size:
        raise Refusal(
            "undefined_figure",
            f"In {drawn.replicates.size - pivots.size} of {drawn.replicates.size} draws the blocks "
            "do not differ; there are too few of them, or too many alike.",
        )
    return BootstrapComparison(
        estimate=drawn.estimate,
        standard_error=drawn.own_error,
        pivots=np.sort(pivots),
        blocks=(drawn.blocks[0], drawn.blocks[1]),
        method=method,
    )


def _apart(own: Values, other: Values, axis: int) -> Values:
    apart: Values = own.mean(axis=axis) - other.mean(axis=axis)
    return apart


def _error_of_means(own: Values, other: Values, axis: int) -> Values:
    error: Values = np.sqrt(
        sum(row.var(axis=axis, ddof=1) / row.shape[axis] for row in (own, other))
    )
    return error
