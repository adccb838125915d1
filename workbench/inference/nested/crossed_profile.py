"""The least of a criterion over variances of which some must add up to a given total.

A search takes Newton steps in the logarithms of the variances, of which only those that are free
move: one of those that share a total is what the others leave of it. A criterion may have several
such least points, as some of those that share a total, or are free, may take it from the others; so
where the first one found does not lie well below the point asked about, the search is made again
from every way in which some of them make it up.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from typing import NamedTuple

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
FAR = 200  # times what a step promises: a search that is further off gets there hardly ever
NEARLY = 1e-2  # below the point asked about, from where the other starts are tried
ROUNDED = 1e-11
FLAT = 1e-12


class Point(NamedTuple):
    """Variances, the criterion there, and how it bends in logarithms that keep the totals.

    `pull` is its slope in the logarithm of the first total, all other variances being what they
    are: where those are at their best, the slope of the profile.
    """

    variances: Values
    criterion: float
    slope: Values
    curvature: Values
    pull: float


def least_at(at: Callable[[Values], Curved], totals: Totals, start: Values) -> Values:
    """Give the variances at which the criterion is least: see `Profile.above`."""
    least = min((_search(at, totals, one) for one in _shapes(start, totals)), key=_criterion)
    return _search(at, totals, least.variances, reached=SETTLED).variances


class Profile:
    """How far the least of a criterion lies above a point, asked at totals close together.

    Each search starts where that of the nearest total ended, lifted off nothing: there the
    logarithm of a variance hardly moves the criterion, and one that vanished would stay so.
    """

    def __init__(self, at: Callable[[Values], Curved], fitted: Values, point: float) -> None:
        """Ask of a criterion, whose least of all lies at the variances `fitted`.

        `at` gives it at the variances, with its slope and curvature in their logarithms.
        """
        self._at, self._point = at, point
        self._fitted = np.maximum(fitted, LIFTED * fitted.max())
        self._ended: list[tuple[float, Values]] = []

    def above(self, totals: Totals) -> tuple[float, float]:
        """Give how far the least lies above the point, and its slope in the first total's log.

        `totals` say which variances add up to what, none of them in two. Others are free.
        """
        log = math.log(totals[0][1])
        _, start = min(
            self._ended, key=lambda ended: abs(ended[0] - log), default=(log, self._fitted)
        )
        least = _search(self._at, totals, _shared(start, totals))
        if least.criterion > self._point - NEARLY:
            for start in _shapes(self._fitted, totals):
                found = _search(self._at, totals, start, below=least.criterion)
                least = min(least, found, key=_criterion)
        self._ended.append((log, least.variances))
        return least.criterion - self._point, least.pull


def _shapes(fitted: Values, totals: Totals) -> list[Values]:
    """Give starts at which some of those that share a total, or are free, make it up evenly."""
    held = np.logical_or.reduce([members for members, _ in totals])
    shares = [*totals, (~held, float(fitted.sum()))]
    return [
        _shared(np.sum(parts, axis=0), totals)
        for parts in itertools.product(*(_evenly(*one) for one in shares if one[0].any()))
    ]


def _evenly(members: np.ndarray, total: float) -> list[Values]:
    """Give every way in which some of the members make up a total evenly."""
    places = np.flatnonzero(members)
    return [
        np.where(np.isin(np.arange(members.size), some), total / many, 0.0)
        for many in range(1, places.size + 1)
        for some in itertools.combinations(places, many)
    ]


def _criterion(point: Point) -> float:
    return point.criterion


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
) -> Point:
    """Go down from the variances to the least of the criterion.

    The search is given up where the criterion is not likely to come below a value.
    """
    here = _held(at, totals, variances)
    for _ in range(MOST_STEPS):
        variances = here.variances
        free = np.ones(variances.size, dtype=bool)
        for members, _ in totals:
            free[np.argmax(np.where(members, variances, -1.0))] = False
        if not free.any():
            break
        step = np.zeros(variances.size)
        small = variances[free] < SMALL * variances.max()
        step[free] = _step(here.slope[free], here.curvature[np.ix_(free, free)], small)
        gain = -float(here.slope @ step) / 2
        if gain < reached or here.criterion - FAR * gain > below:
            break
        for halving in range(MOST_HALVINGS):
            tried = variances * np.exp(step / 2**halving)
            for members, total in totals:
                tried[members] *= total / tried[members].sum()
            there = _held(at, totals, np.maximum(tried, math.exp(VANISHED) * tried.max()))
            if there.criterion <= here.criterion + ROUNDED:
                break
        else:
            break
        here = there
    return here


def _step(slope: Values, curvature: Values, small: np.ndarray) -> Values:
    """Give the Newton step, downhill along directions that curve down as well.

    A small variance whose slope is still that of a straight line through 0 goes there at once. Each
    is cut to its most where that still leads downhill, or else the whole step is.
    """
    curves, directions = np.linalg.eigh(curvature)
    newton = -directions @ (directions.T @ slope / np.maximum(np.abs(curves), FLAT))
    falls = small & (slope > 0) & (2 * slope >= np.diag(curvature))
    step = np.clip(np.where(falls, -FALL, newton), -FALL, RISE)
    if slope @ step >= 0:
        step = newton / max(1.0, float(np.abs(newton).max()) / RISE)
    return np.asarray(step, dtype=float)


def _held(at: Callable[[Values], Curved], totals: Totals, variances: Values) -> Point:
    """Give the criterion with its slope and curvature in logarithms that keep the totals."""
    criterion, slope, curvature = at(variances)
    inside = np.eye(variances.size)
    bent = np.zeros_like(curvature)
    for members, total in totals:
        share = np.where(members, variances / total, 0.0)
        inside -= np.outer(members, share)
        bent += slope[members].sum() * (np.diag(share) - np.outer(share, share))
    pull = float(slope[totals[0][0]].sum())
    slope, curvature = inside.T @ slope, inside.T @ curvature @ inside - bent
    gone = variances <= 2 * math.exp(VANISHED) * variances.max()
    return Point(
        variances=variances,
        criterion=criterion,
        slope=np.where(gone, 0.0, slope),
        curvature=np.where(gone[:, None] | gone, 0.0, curvature),
        pull=pull,
    )
