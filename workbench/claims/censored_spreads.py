"""Between what a spread may lie when some readings say only that a value is not above them.

A block mean with such readings lies somewhere between that with all of them at nought and that with
all as shown. The standard deviation of block means is convex in them, so it is least where they
crowd together and greatest with each at an end; both are found without a distribution.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from workbench.claims.evidence import Evidence
from workbench.claims.figure_analysis import FigureAnalysis
from workbench.claims.spread_claims import block_spreads
from workbench.inference.results import Difference
from workbench.inference.samples import Values
from workbench.inference.spreads.difference import SpreadDifference

LEAST = 1e-9  # of the greatest mean: a spread of nought has no test
ROUNDS = 200
MOST_TRIED = 12


def spread_ends(lowest: Evidence, highest: Evidence) -> Iterator[tuple[float, float]]:
    """Give the least and greatest standard deviation of block means, candidate then reference.

    `lowest` holds the readings in question at nought, `highest` as shown.
    """
    for low, high in zip(block_spreads(lowest), block_spreads(highest), strict=True):
        ends = np.sort(np.vstack([low.means, high.means]), axis=0)
        floor = LEAST * float(np.abs(ends).max())
        yield max(least_deviation(*ends), floor), max(greatest_deviation(*ends), floor)


def least_deviation(low: Values, high: Values) -> float:
    """Give the least standard deviation of numbers that lie each between its ends.

    All crowd as near a common middle as they may, which then is their mean.

    >>> least_deviation(np.array([0.0, 1.0, 4.0]), np.array([3.0, 1.0, 4.0]))
    1.5275252316519465
    """
    below, above = float(low.min()), float(high.max())
    for _ in range(ROUNDS):  # the mean of the crowded numbers rises more slowly than their middle
        middle = (below + above) / 2
        if np.clip(middle, low, high).mean() > middle:
            below = middle
        else:
            above = middle
    return float(np.clip((below + above) / 2, low, high).std(ddof=1))


def greatest_deviation(low: Values, high: Values) -> float:
    """Give the greatest standard deviation of numbers that lie each between its ends.

    Each is then at an end of its own, and all choices are tried. Where they are too many, each is
    put at the end further from a middle: least over that middle this cannot be exceeded.

    >>> greatest_deviation(np.array([0.0, 1.0, 4.0]), np.array([3.0, 1.0, 4.0]))
    2.0816659994661326
    """
    moving = np.flatnonzero(high > low)
    if moving.size <= MOST_TRIED:
        numbers = np.tile(low, (2**moving.size, 1))
        upper = np.arange(2**moving.size)[:, None] >> np.arange(moving.size) & 1
        numbers[:, moving] += upper * (high - low)[moving]
        return float(numbers.std(axis=1, ddof=1).max())
    below, above = float(low.min()), float(high.max())
    for _ in range(ROUNDS):  # convex in the middle, so a third is left out at each step
        one, other = below + (above - below) / 3, above - (above - below) / 3
        if _furthest(one, low, high) < _furthest(other, low, high):
            above = other
        else:
            below = one
    return float(np.sqrt(_furthest((below + above) / 2, low, high) / (low.size - 1)))


def _furthest(middle: float, low: Values, high: Values) -> float:
    return float((np.maximum(np.abs(low - middle), np.abs(high - middle)) ** 2).sum())


def with_spreads(analysis: FigureAnalysis, ours: float, others: float) -> FigureAnalysis:
    """Give the analysis of a difference of spreads with these two in place of its own."""
    found = analysis.difference
    if isinstance(found, SpreadDifference):
        return replace(analysis, difference=replace(found, candidate_sd=ours, reference_sd=others))
    assert isinstance(found, Difference)
    return replace(analysis, difference=replace(found, estimate=ours - others))
