"""The least of a criterion over variances of which some must add up to a given total.

A search takes Newton steps in the logarithms of the variances, of which only those that are free
move: one of those that share a total is what the others leave of it. A criterion may have several
such least points, as each of those that share a total may take most of it alone; so where the first
one found does not lie below the point asked about, the search is made again from each of them.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np

from workbench.inference.samples import Values

Curved = tuple[float, Values, Values]
Totals = Sequence[tuple[np.ndarray, float]]

VANISHED = -25.0  # log of the share of the largest variance, below which one moves nothing
LIFTED = 1e-3  # of the largest, the least variance a search starts from
SMALL = 2e-2  # of the largest: a variance that falls from there without a stop is on its way to 0
FALL, RISE = 8.0, 4.0  # the most that a logarithm changes in one step
REACHED = 1e-6  # what the next step promises to take off the criterion: a search ends below it
SETTLED = 1e-13  # the same where the variances themselves are asked for
MOST_STEPS, MOST_HALVINGS = 60, 12
FAR = 20  # times what a step promises: a search that is further off gets there hardly ever
ROUNDED = 1e-11
FLAT = 1e-12


def least_at(at: Callable[[Values], Curved], totals: Totals, start: Values) -> Values:
    """Give the variances at which the criterion is least: see `Profile.above`."""
    starts = [_shared(start, totals), *_alone(start, totals)]
    return min((_search(at, totals, one, reached=SETTLED) for one in starts), key=_criterion)[1]


class Profile:
    """How far the least of a criterion lies above a point, asked at totals close together.

    Each search starts where the last one ended, lifted off nothing: there the logarithm of a
    variance hardly moves the criterion, and one that vanished would stay so.
    """

    def __init__(self, fitted: Values, point: float) -> None:
        self._fitted = np.maximum(fitted, LIFTED * fitted.max())
        self._last, self._point = self._fitted, point

    def above(self, at: Callable[[Values], Curved], totals: Totals) -> float:
        """Give how far the least lies above the point.

        Parameters
        ----------
        at
            Gives the criterion at the variances, with its slope and curvature in their logarithms.
        totals
            Which variances add up to which total, none of them in two. Others are free.
        """
        least, self._last = _search(at, totals, _shared(self._last, totals))
        if least > self._point:
            for start in _alone(self._fitted, totals):
                found, there = _search(at, totals, start, below=least)
                if found < least:
                    least, self._last = found, there
        return least - self._point


def _alone(fitted: Values, totals: Totals) -> list[Values]:
    """Give starts at which one variance is made larger to come to a total."""
    starts = []
    for members, total in totals:
        for one in np.flatnonzero(members & (members.sum() > 1)):
            start = fitted.copy()
            start[one] += total
            starts.append(_shared(start, totals))
    return starts


def _criterion(found: tuple[float, Values]) -> float:
    return found[0]


def _shared(variances: Values, totals: Totals) -> Values:
    """Bring variances to their totals, none of them vanishing."""
    found = variances.copy()
    for members, total in totals:
        found[members] *= total / found[members].sum()
    found = np.maximum(found, LIFTED * float(found.max()))
    for members, total in totals:
        found[members] *= total / found[members].sum()
    return np.asarray(found, dtype=float)


def _search(
    at: Callable[[Values], Curved],
    totals: Totals,
    variances: Values,
    *,
    below: float = math.inf,
    reached: float = REACHED,
) -> tuple[float, Values]:
    """Go down from the variances; give the least of the criterion, and where it is.

    The search is given up where the criterion is not likely to come below a value.
    """
    here = _held(at, totals, variances)
    for _ in range(MOST_STEPS):
        free = np.ones(variances.size, dtype=bool)
        for members, _ in totals:
            free[np.argmax(np.where(members, variances, -1.0))] = False
        if not free.any():
            break
        step = np.zeros(variances.size)
        small = variances[free] < SMALL * variances.max()
        step[free] = _step(here[1][free], here[2][np.ix_(free, free)], small)
        gain = -float(here[1] @ step) / 2
        if gain < reached or here[0] - FAR * gain > below:
            break
        for halving in range(MOST_HALVINGS):
            tried = variances * np.exp(step / 2**halving)
            for members, total in totals:
                tried[members] *= total / tried[members].sum()
            tried = np.maximum(tried, math.exp(VANISHED) * tried.max())
            there = _held(at, totals, tried)
            if there[0] <= here[0] + ROUNDED:
                break
        else:
            break
        variances, here = tried, there
    return here[0], variances


def _step(slope: Values, curvature: Values, small: np.ndarray) -> Values:
    """Give the Newton step, downhill along directions that curve down as well.

    A small variance whose slope is still that of a straight line through 0 goes there at once.
    """
    curves, directions = np.linalg.eigh(curvature)
    step = -directions @ (directions.T @ slope / np.maximum(np.abs(curves), FLAT))
    falls = small & (slope > 0) & (2 * slope >= np.diag(curvature))
    return np.asarray(np.clip(np.where(falls, -FALL, step), -FALL, RISE), dtype=float)


def _held(at: Callable[[Values], Curved], totals: Totals, variances: Values) -> Curved:
    """Give the criterion with its slope and curvature in logarithms that keep the totals."""
    criterion, slope, curvature = at(variances)
    inside = np.eye(variances.size)
    bent = np.zeros_like(curvature)
    for members, total in totals:
        share = np.where(members, variances / total, 0.0)
        inside -= np.outer(members, share)
        bent += slope[members].sum() * (np.diag(share) - np.outer(share, share))
    slope, curvature = inside.T @ slope, inside.T @ curvature @ inside - bent
    gone = variances <= 2 * math.exp(VANISHED) * variances.max()
    return criterion, np.where(gone, 0.0, slope), np.where(gone[:, None] | gone, 0.0, curvature)
