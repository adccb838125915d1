"""How far a place lies off the first harmonic of its bore, and what weight it has by that."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from workbench.inference.directions.many_harmonics import fit_circles
from workbench.inference.grouping import group_codes

Values = NDArray[np.float64]
Codes = NDArray[np.int64]

ENOUGH = 10  # degrees of freedom; a family with fewer is pooled with the others
COEFFICIENTS = 3
SPARSE = 8  # numbers a place, before they are closed up
ROUNDS = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Scatter:
    """How places lie off the harmonic of their bore.

    Attributes
    ----------
    variance, degrees_of_freedom
        Of a place read once; without degrees of freedom nothing is known.
    along, columns
        How alike places of one angle are down a bore: the correlation of two of them, 0 or above,
        and how many degrees of freedom angles as wholes have.
    """

    variance: float
    degrees_of_freedom: int
    along: float = 0.0
    columns: int = 0

    @property
    def of_bores(self) -> int:
        """The degrees of freedom behind what is taken over all depths of a bore."""
        return self.columns if self.along > 0 else self.degrees_of_freedom


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
    places: pd.DataFrame,
    circle: Codes,
    reading_variance: float,
    stack: Codes | None = None,
) -> WeighedPlaces:
    """Find the scatter of places by family, and the weights that follow.

    A place lies off the harmonic by its own iron, which repeating does not lessen, and by the error
    of its n readings: variance = iron + reading / n. What a bore shows at one angle from top to
    bottom is one deviation and not one a depth: as in a nested analysis of variance, means of
    angles are held against what scatters within them. That takes `stack`, the bore of each circle.
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
    fitted = mean, weights
    for _ in range(ROUNDS):
        left = fit_circles(circle, degrees, mean, weights, circles).residuals
        values = mean - shared.of(left)
        fit = fit_circles(circle, degrees, values, weights, circles)
        fitted = fit.residuals, weights
        squares = _sum(of_circle, fit.squares, len(names))
        free = _sum(of_circle, fit.degrees_of_freedom, len(names))
        pooled = _pooled(squares, np.maximum(0, free - shared.freedom))
        if (n == 1).all():
            break
        single = np.array([part.variance for part in pooled])[family]
        reading = np.minimum(reading_variance, single) / np.where(single > 0, single, 1.0)
        weights = 1 / (1 - reading * (1 - 1 / n))
    if stack is None:
        known = {str(name): part for name, part in zip(names, pooled, strict=True)}
        return WeighedPlaces(freed=values, weights=weights, scatter=known)
    parts = _nested(circle, stack, degrees, of_circle, fitted, len(names))
    kept = np.divide(free - shared.freedom, free, out=np.zeros(len(names)), where=free > 0)
    return WeighedPlaces(
        freed=values,
        weights=weights,
        scatter={
            str(name): replace(
                part, along=_along(parts, at, kept), columns=_columns(parts, at, kept)
            )
            for at, (name, part) in enumerate(zip(names, pooled, strict=True))
        },
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Nested:
    """By family: squares and degrees of freedom between the angles of bores, and within them.

    `depths` is how many places an angle of a bore has on average.
    """

    between: Values
    between_free: Values
    within: Values
    within_free: Values
    depths: Values


def angles_of_bores(circle: Codes, stack: Codes, degrees: Values) -> Codes:
    """Give each angle of a bore a number that all its places there share."""
    angle, names = pd.factorize(degrees)
    column: Codes = stack[circle] * len(names) + angle
    if column.size and column.max() > SPARSE * column.size:
        column = np.unique(column, return_inverse=True)[1].astype(np.int64)
    return column


def _nested(
    circle: Codes,
    stack: Codes,
    degrees: Values,
    of_circle: Codes,
    fitted: tuple[Values, Values],
    families: int,
) -> _Nested:
    """Hold the angles of bores against what scatters within them; `fitted` is left over, weight."""
    read = np.bincount(circle)
    told = (read[circle] > COEFFICIENTS) & np.isfinite(fitted[0])
    column = angles_of_bores(circle, stack, degrees)[told]
    family, (r, w) = of_circle[circle[told]], (part[told] for part in fitted)
    count = int(column.max()) + 1 if column.size else 0
    of_column = np.zeros(count, dtype=np.int64)
    of_column[column] = family
    total = np.bincount(column, weights=w, minlength=count)
    sums = np.bincount(column, weights=w * r, minlength=count)
    seen = np.bincount(column, minlength=count).astype(float)
    each = np.divide(sums**2, total, out=np.zeros(count), where=total > 0)
    between = _sum(of_column, each, families)
    whole = _sum(family, w * r**2, families)
    columns = _sum(of_column, (seen > 0).astype(float), families)
    free = np.maximum(0, read - COEFFICIENTS).astype(float)
    free_of = np.zeros(int(stack.max()) + 1)
    np.maximum.at(free_of, stack, free)
    of_bore = np.zeros(free_of.size, dtype=np.int64)
    of_bore[stack] = of_circle
    between_free = _sum(of_bore, free_of, families)
    return _Nested(
        between=between,
        between_free=between_free,
        within=np.maximum(0.0, whole - between),
        within_free=_sum(of_circle, free, families) - between_free,
        depths=_sum(of_column, seen, families) / np.maximum(columns, 1),
    )


def _columns(parts: _Nested, at: int, kept: Values) -> int:
    """Give the degrees of freedom between angles: of a family, or of all where it has too few."""
    free = parts.between_free * kept
    return int(free[at] if free[at] >= ENOUGH else free.sum())


def _along(parts: _Nested, at: int, kept: Values) -> float:
    """Give the correlation of two places of one angle, from the two mean squares."""
    own = slice(at, at + 1) if parts.between_free[at] * kept[at] >= ENOUGH else slice(None)
    between_free = float((parts.between_free * kept)[own].sum())
    within_free = float((parts.within_free * kept)[own].sum())
    if between_free < 1 or within_free < 1:
        return 0.0
    between = float(parts.between[own].sum()) / between_free
    within = float(parts.within[own].sum()) / within_free
    depths = float(np.average(parts.depths[own], weights=parts.between_free[own]))
    shared = max(0.0, (between - within) / max(depths, 1.0))
    return shared / (shared + within) if shared > 0 else 0.0


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
