"""The maximum of a smooth function of a few coordinates within bounds, by Newton's steps.

Slopes and curvatures are central differences of function values; a step evaluates the place it
leads to and its whole pattern of neighbours at once, and parts of the step only where the whole of
it gains less than it should. Coordinates are expected to be of size one.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Values = NDArray[np.float64]
Function = Callable[[Values], Values]

STEPS = (2e-4, 2e-5, 2e-6)  # the first at which every neighbour is possible
MOST_STEPS = 60
FURTHEST = 1.5  # coordinates in one step
HALVINGS = 2.0 ** -np.arange(12)
ENOUGH = 0.75  # of what a whole step should gain: then no part of it is tried
FLAT = 1e-10


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Maximum:
    """Where the function is greatest.

    `curvature` is that of minus the function (positive definite at a proper maximum). `held` gives,
    for each coordinate, -1 or 1 where it was stopped by its lower or upper bound, else 0.
    `converged` tells that a further step would gain nothing.
    """

    at: Values
    value: float
    curvature: Values
    held: NDArray[np.int64]
    converged: bool
    steps: int


def maximise(
    function: Function, start: Values, bounds: Values, *, gain: float, steps: int = MOST_STEPS
) -> Maximum:
    """Climb from `start`; `gain` is the increase below which a further step is not worth taking."""
    here = _looked_round(function, np.clip(start, bounds[:, 0], bounds[:, 1]))
    taken, converged, stalled = 0, False, 0
    held = np.zeros(here.at.size, dtype=np.int64)
    slope, curvature = _differences(function, here)
    while taken < steps:
        taken += 1
        held = _held(here.at, slope, bounds)
        free = held == 0
        if not (np.isfinite(slope).all() and np.isfinite(curvature).all()):
            break  # nothing tells which way is up
        step = np.zeros(here.at.size)
        step[free] = _uphill(slope[free], curvature[np.ix_(free, free)])
        expected = 0.5 * float(slope @ step)
        if expected <= gain:
            converged = True
            break
        step *= min(1.0, FURTHEST / np.abs(step).max())
        tried = np.clip(here.at + HALVINGS[:, None] * step, bounds[:, 0], bounds[:, 1])
        there = _looked_round(function, tried[0])
        if not there.value - here.value >= ENOUGH * expected:
            values = function(tried)
            best = int(np.argmax(values))
            if not values[best] > here.value:
                converged = expected <= 1e3 * gain  # nothing left but the noise of the last digits
                break
            there = _looked_round(function, tried[best]) if best else there
        stalled = stalled + 1 if there.value - here.value <= gain else 0
        here = there
        slope, curvature = _differences(function, here)
        if stalled == 3:
            converged = True
            break
    return Maximum(
        at=here.at,
        value=here.value,
        curvature=curvature,
        held=held,
        converged=converged,
        steps=taken,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Place:
    """A place, the function's value there, and those at its nearest `neighbours`."""

    at: Values
    value: float
    neighbours: Values


def _looked_round(function: Function, at: Values) -> _Place:
    """Evaluate a place and its neighbours at once: most places are climbed on from."""
    values = function(np.vstack([at, at + STEPS[0] * _pattern(at.size)]))
    return _Place(at=at, value=float(values[0]), neighbours=values[1:])


def _differences(function: Function, place: _Place) -> tuple[Values, Values]:
    """Give the slope, and the curvature of minus the function, by central differences."""
    at, value, size = place.at, place.value, place.at.size
    values, step = place.neighbours, STEPS[0]
    for step in STEPS:
        if step != STEPS[0]:
            values = function(at + step * _pattern(size))
        if np.isfinite(values).all():
            break
    values = np.where(np.isfinite(values), values, value)
    pairs = _pairs(size)
    up, down, plus, minus = np.split(values, [size, 2 * size, 2 * size + len(pairs)])
    slope = (up - down) / (2 * step)
    curvature = np.diag((2 * value - up - down) / step**2)
    for at_pair, (i, j) in enumerate(pairs):
        cross = plus[at_pair] + minus[at_pair] - up[i] - down[i] - up[j] - down[j] + 2 * value
        curvature[i, j] = curvature[j, i] = -cross / (2 * step**2)
    return slope, curvature


def _pattern(size: int) -> Values:
    """Give the way to the neighbours: one coordinate up, one down, two up, two down."""
    unit = np.eye(size)
    both = np.array([unit[i] + unit[j] for i, j in _pairs(size)]).reshape(-1, size)
    return np.vstack([unit, -unit, both, -both])


def _pairs(size: int) -> list[tuple[int, int]]:
    return [(i, j) for i in range(size) for j in range(i)]


def _held(at: Values, slope: Values, bounds: Values) -> NDArray[np.int64]:
    low = (at <= bounds[:, 0]) & (slope <= 0)
    high = (at >= bounds[:, 1]) & (slope >= 0)
    return high.astype(np.int64) - low.astype(np.int64)


def _uphill(slope: Values, curvature: Values) -> Values:
    """Give Newton's step, with curvatures that point the wrong way turned round."""
    if not slope.size:
        return slope
    values, vectors = np.linalg.eigh(curvature)
    size = np.maximum(np.abs(values), max(FLAT, 1e-8 * float(np.abs(values).max())))
    step: Values = vectors @ ((vectors.T @ slope) / size)
    return step
