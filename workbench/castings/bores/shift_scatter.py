"""How far a place lies off the first harmonic of its bore, and what weight it has by that."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from workbench.castings.places import group_codes
from workbench.inference.directions.many_harmonics import fit_circles

Values = NDArray[np.float64]
Codes = NDArray[np.int64]

ENOUGH = 10  # degrees of freedom; a family with fewer is pooled with the others
COEFFICIENTS = 3
ROUNDS = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Scatter:
    """Variance of a place read once about the harmonic, with its degrees of freedom (0: none)."""

    variance: float
    degrees_of_freedom: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WeighedPlaces:
    """What is fitted: one value and one weight a place, and the scatter by family.

    `freed` are the means of the places freed of what the family shows there beyond the harmonic; a
    weight of 1 is that of a place read once.
    """

    freed: Values
    weights: Values
    scatter: dict[str, Scatter]


def scatter_of_places(
    places: pd.DataFrame, circle: Codes, reading_variance: float
) -> WeighedPlaces:
    """Find the scatter of places by family, and the weights that follow.

    A place lies off the harmonic by its own iron, which repeating does not lessen, and by the error
    of its n readings: variance = iron + reading / n.
    """
    family, names = pd.factorize(places["family"], sort=True)
    mean, n = places["mean"].to_numpy(float), places["n"].to_numpy(float)
    degrees = places["angle"].to_numpy(float)
    circles = int(circle.max()) + 1
    of_circle = np.zeros(circles, dtype=np.int64)
    of_circle[circle] = family
    shared = _shared_shape(places, circle, family, len(names))
    values, weights = mean, np.ones(len(places))
    pooled: list[Scatter] = []
    for _ in range(ROUNDS):
        left = fit_circles(circle, degrees, mean, weights, circles).residuals
        values = mean - shared.of(left)
        fit = fit_circles(circle, degrees, values, weights, circles)
        squares = _sum(of_circle, fit.squares, len(names))
        free = _sum(of_circle, fit.degrees_of_freedom, len(names))
        pooled = _pooled(squares, np.maximum(0, free - shared.freedom))
        if (n == 1).all():
            break
        single = np.array([part.variance for part in pooled])[family]
        reading = np.minimum(reading_variance, single) / np.where(single > 0, single, 1.0)
        weights = 1 / (1 - reading * (1 - 1 / n))
    return WeighedPlaces(
        freed=values,
        weights=weights,
        scatter={str(name): part for name, part in zip(names, pooled, strict=True)},
    )


def _pooled(squares: Values, free: Values) -> list[Scatter]:
    """Give each family its own scatter, or that of all families where its own is too thin."""
    answer = []
    for own, df in zip(squares, free, strict=True):
        total, count = (own, df) if df >= ENOUGH else (squares[free > 0].sum(), free.sum())
        variance = float(total / count) if count > 0 else 0.0
        answer.append(Scatter(variance=variance, degrees_of_freedom=int(count)))
    return answer


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _SharedShape:
    """What the blocks of a family show alike beyond the harmonic, place by place.

    It is read off whole circles, those that lack no station of their family and depth, where there
    are such circles of two blocks or more. It is orthogonal to the harmonic of a whole circle and
    leaves that as it is; it matters to circles that lack a place. `freedom` are the degrees of
    freedom it takes in each family: at each depth, the stations less three.
    """

    grid: Codes
    whole: NDArray[np.bool_]
    freedom: Values

    def of(self, left: Values) -> Values:
        """Give the mean residual of the whole circles, for each place."""
        shape = np.zeros(int(self.grid.max()) + 1)
        kept = self.whole & np.isfinite(left)
        count = np.bincount(self.grid[kept], minlength=shape.size)
        total = np.bincount(self.grid[kept], weights=left[kept], minlength=shape.size)
        np.divide(total, count, out=shape, where=count > 0)
        answer: Values = shape[self.grid]
        return answer


def _shared_shape(
    places: pd.DataFrame, circle: Codes, family: Codes, families: int
) -> _SharedShape:
    level, _ = group_codes(places, ("family", "depth"))
    grid, first = group_codes(places, ("family", "depth", "station"))
    of_grid = level[first]
    stations = np.bincount(of_grid)[level]
    whole = (np.bincount(circle)[circle] == stations) & (stations > COEFFICIENTS)
    block = pd.factorize(places["block"])[0].astype(np.int64)
    lowest, highest = np.full(first.size, len(places)), np.full(first.size, -1)
    np.minimum.at(lowest, grid[whole], block[whole])
    np.maximum.at(highest, grid[whole], block[whole])
    several = lowest < highest
    whole &= several[grid]
    kept = np.bincount(of_grid[several], minlength=int(level.max()) + 1)
    of_level = np.zeros(kept.size, dtype=np.int64)
    of_level[level] = family
    taken = np.maximum(0, kept - COEFFICIENTS)
    return _SharedShape(grid=grid, whole=whole, freedom=_sum(of_level, taken, families))


def _sum(group: Codes, parts: Values | Codes, groups: int) -> Values:
    sums: Values = np.bincount(group, weights=parts, minlength=groups).astype(float)
    return sums
