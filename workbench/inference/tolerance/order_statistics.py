"""Tolerance limits by ranks: independent blocks, any continuous shape."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import bdtrc

from workbench.errors import Refusal
from workbench.inference.samples import clean_values
from workbench.inference.tolerance.limits import ToleranceInterval, check_asked

MOST = 10**9


def ranked_tolerance(
    values: ArrayLike, coverage: float = 0.95, confidence: float = 0.95, side: str = "both"
) -> ToleranceInterval:
    """Answer between which blocks seen a share of all blocks lies, whatever the shape.

    The limits are the innermost observations that keep the confidence: as many are left out at
    either end (one-sided: at one end) as it allows.

    Parameters
    ----------
    values : array_like
        One number a block.
    coverage, confidence : float
        From 0 to 1.
    side : {"both", "lower", "upper"}

    Returns
    -------
    ToleranceInterval
        `attained` is the confidence it really has.

    Raises
    ------
    Refusal
        `too_few`, saying how many blocks would be enough; `bad_coverage`, `unknown_side`.

    References
    ----------
    Wilks, S. S. (1941). Determination of sample sizes for setting tolerance limits. Annals of
    Mathematical Statistics 12, 91-96 (from memory).
    """
    check_asked(coverage, confidence, side)
    row = np.sort(clean_values(values))
    ends = 2 if side == "both" else 1
    beyond = _left_out(row.size, coverage, confidence, ends)
    if beyond == 0:
        enough = blocks_needed(coverage, confidence, side)
        raise Refusal(
            "too_few",
            f"{row.size} blocks give no limits without a shape: {enough} are needed for "
            f"{coverage:.0%} of all blocks with {confidence:.0%} confidence.",
        )
    return ToleranceInterval(
        low=-math.inf if side == "upper" else float(row[beyond - 1]),
        high=math.inf if side == "lower" else float(row[row.size - beyond]),
        coverage=coverage,
        confidence=confidence,
        attained=_confidence(row.size, coverage, ends * beyond),
        method=f"order statistics, rank {beyond} from the end",
    )


def blocks_needed(
    coverage: float = 0.95, confidence: float = 0.95, side: str = "both", rank: int = 1
) -> int:
    """Answer how many blocks it takes for the `rank`-th from the end to be a tolerance limit.

    Examples
    --------
    For 95 % of all blocks with 95 % confidence, below and on both sides:

    >>> blocks_needed(0.95, 0.95, "lower"), blocks_needed(0.95, 0.95, "both")
    (59, 93)
    """
    check_asked(coverage, confidence, side)
    if rank != int(rank) or rank < 1:
        raise Refusal("bad_rank", f"A rank is a whole number, 1 or more, not {rank}.")
    left_out = rank * (2 if side == "both" else 1)
    low, high = left_out - 1, left_out
    while _confidence(high, coverage, left_out) < confidence:
        low, high = high, 2 * high
        if high > MOST:
            raise Refusal("too_many", f"More than {MOST:,} blocks would be needed.")
    while high - low > 1:
        middle = (low + high) // 2
        if _confidence(middle, coverage, left_out) < confidence:
            low = middle
        else:
            high = middle
    return high


def _confidence(n: int, coverage: float, left_out: int) -> float:
    """Give P(at least `left_out` of n lie in a part of share 1 - coverage)."""
    return float(bdtrc(left_out - 1, n, 1 - coverage))


def _left_out(n: int, coverage: float, confidence: float, ends: int) -> int:
    """Find how many observations may be left out at an end; 0 where none may."""
    counts = np.arange(1, n // ends + 1)
    enough = bdtrc(ends * counts - 1, n, 1 - coverage) >= confidence
    return int(np.count_nonzero(enough))
