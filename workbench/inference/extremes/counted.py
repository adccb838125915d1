"""Shares below a limit by counting: no shape assumed, blocks respected."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike
from scipy.special import betaincinv, stdtrit

from workbench.errors import Refusal
from workbench.inference.estimates import Estimate
from workbench.inference.results import check_confidence
from workbench.inference.samples import clean_values
from workbench.inference.shares.count import Count, share_interval

FEWEST_BLOCKS = 3


def counted_below(values: ArrayLike, limit: float, confidence: float = 0.95) -> Estimate:
    """Give the share of independent values below a limit among those seen, with its exact interval.

    For one value a block: its thinnest place, its mean.

    Examples
    --------
    >>> found = counted_below([3.1, 3.4, 3.9, 4.2, 4.4], 3.5)
    >>> found.estimate, round(found.low, 3), round(found.high, 3)
    (0.4, 0.053, 0.853)
    """
    row = clean_values(values, least=1, name="the values")
    count = Count(yes=int(np.count_nonzero(row < limit)), of=row.size)
    return share_interval(count, confidence, "clopper-pearson")


def counted_in_blocks(
    data: pd.DataFrame,
    limit: float,
    confidence: float = 0.95,
    *,
    value: str = "value",
    block: str = "block",
) -> Estimate:
    """Give the share of places, or of bores, below a limit, when several lie in each block.

    Values of one block are alike, so they count for fewer than they are: for as many independent
    values as would leave the share as uncertain as it varies from block to block.

    Parameters
    ----------
    data : DataFrame
        One row a value (a place, or a bore's thinnest place), with its block.
    limit, confidence : float
    value, block : str
        Columns.

    Raises
    ------
    Refusal
        `no_column`, `not_finite`, `too_few_blocks`, `bad_confidence`.

    References
    ----------
    Korn, E. L., Graubard, B. I. (1998). Confidence intervals for proportions with small expected
    number of positive counts estimated from survey data. Survey Methodology 24, 193-201 (from
    memory). Where no block, or every block, lies wholly below, blocks count once each.
    """
    check_confidence(confidence)
    absent = [name for name in (value, block) if name not in data.columns]
    if absent:
        raise Refusal("no_column", f"The table has no column {', '.join(map(repr, absent))}.")
    row = clean_values(data[value], least=1, name="the values")
    codes, labels = pd.factorize(data[block])
    blocks = len(labels)
    if blocks < FEWEST_BLOCKS:
        raise Refusal(
            "too_few_blocks",
            f"{blocks} blocks do not tell how shares vary; at least {FEWEST_BLOCKS} are needed.",
        )
    return _in_blocks(np.bincount(codes, row < limit), np.bincount(codes), confidence)


def share_in_blocks(shares: ArrayLike, places: float, confidence: float = 0.95) -> Estimate:
    """Give the mean of blocks' shares with its interval, as `counted_in_blocks` does.

    Parameters
    ----------
    shares : array_like
        One number a block: the share of its places below, 0 to 1.
    places : float
        Places of a block; the mean where blocks differ a little.

    Raises
    ------
    Refusal
        `too_few_blocks`, `bad_share`, `bad_count`, `bad_confidence`.
    """
    check_confidence(confidence)
    row = clean_values(shares, least=1, name="the shares")
    if row.size < FEWEST_BLOCKS:
        raise Refusal(
            "too_few_blocks",
            f"{row.size} blocks do not tell how shares vary; at least {FEWEST_BLOCKS} are needed.",
        )
    if row.min() < 0 or row.max() > 1:
        raise Refusal("bad_share", "A share lies between 0 and 1.")
    if not (places >= 1 and math.isfinite(places)):
        raise Refusal("bad_count", f"A block has a place or more, not {places}.")
    return _in_blocks(row * places, np.full(row.size, places), confidence)


def _in_blocks(below: np.ndarray, sizes: np.ndarray, confidence: float) -> Estimate:
    blocks = len(sizes)
    share = float(below.sum() / sizes.sum())
    worth = _worth(below, sizes, share, confidence)
    tail = (1 - confidence) / 2
    yes, no = worth * share, worth * (1 - share)
    return Estimate(
        estimate=share,
        low=0.0 if share == 0 else float(betaincinv(yes, no + 1, tail)),
        high=1.0 if share == 1 else float(betaincinv(yes + 1, no, 1 - tail)),
        confidence=confidence,
        method=f"counted in {blocks} blocks, worth {worth:.0f} independent values",
    )


def _worth(below: np.ndarray, sizes: np.ndarray, share: float, confidence: float) -> float:
    """Give the number of independent values that the values in blocks are worth."""
    blocks, values = len(sizes), float(sizes.sum())
    if blocks == values:
        return values
    about = below - share * sizes  # how far each block's count is from the common share
    variance = blocks / (blocks - 1) * float(about @ about) / values**2
    if variance == 0:
        return float(blocks) if share in (0.0, 1.0) else values
    tail = (1 - confidence) / 2
    ratio = float(stdtrit(values - 1, tail) / stdtrit(blocks - 1, tail))
    return min(values, share * (1 - share) / variance * math.pow(ratio, 2))
