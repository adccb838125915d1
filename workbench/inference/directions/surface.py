"""A surface round a circle and along its axis, between the places where it was read.

The surface is a mean, a first harmonic and their straight change along the axis, all free, plus a
random surface of covariance

    variance * m(chord between the angles / turn) * m(distance along the axis / reach)

with m the Matern correlation of smoothness 3/2, which is periodic as chords are. Where readings are
exact the estimate goes through them: nothing is smoothed that was seen. Variance, turn and reach
are told by many sheets (one bore each): see `roughness`.

References
----------
Rasmussen, C. E., Williams, C. K. I. (2006). Gaussian Processes for Machine Learning, sections 2.7
(free basis functions) and 4.2. From memory.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workbench.errors import Refusal
from workbench.inference.directions.harmonics import (
    DETERMINED,
    angles_too_near,
    harmonic_columns,
)
from workbench.inference.directions.vector import unit_vectors

Values = NDArray[np.float64]

RANK = 1e-8
JITTER = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sheet:
    """What was read of one surface, place by place.

    `degrees` round the circle, `levels` along the axis, `values`, and `noise`: the variance of each
    value's own error.
    """

    degrees: Values
    levels: Values
    values: Values
    noise: Values


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceModel:
    """How rough surfaces are.

    Attributes
    ----------
    variance
        Of the random surface, in the square of the unit.
    turn, reach
        Its ranges: degrees round the circle, units along the axis.
    degrees_of_freedom
        Readings beyond the free part, over all sheets used: how well the roughness is known.
    """

    variance: float
    turn: float
    reach: float
    degrees_of_freedom: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Surface:
    """The surface at asked points: `mean`, and the `covariance` of what is not known of it."""

    mean: Values
    covariance: Values
    degrees_of_freedom: int

    @property
    def standard_error(self) -> Values:
        """The standard error at each point."""
        error: Values = np.sqrt(np.maximum(np.diag(self.covariance), 0.0))
        return error

    def draw(self, count: int, generator: np.random.Generator) -> Values:
        """Draw whole surfaces that agree with the readings, a row each (multivariate t).

        One seed gives one answer, in any unit.
        """
        points = self.mean.size
        least = JITTER * max(float(np.diag(self.covariance).max()), float(np.finfo(float).tiny))
        root = np.linalg.cholesky(self.covariance + least * np.eye(points))
        drawn: Values = generator.standard_normal((count, points)) @ root.T
        df = self.degrees_of_freedom
        drawn *= np.sqrt(df / generator.chisquare(df, (count, 1)))
        drawn += self.mean
        return drawn


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Points:
    """Points asked of sheets that were all read at the same places, whatever was read there.

    `covariance` is that of the random surface among the points.
    """

    between: _Between
    covariance: Values

    def surface(self, sheet: Sheet) -> Surface:
        """Estimate one of those sheets jointly at the points."""
        known = _solved(self.between, sheet)
        covariance = self.covariance + known.rest @ np.linalg.solve(known.precision, known.rest.T)
        covariance -= self.between.cross.T @ known.on_cross
        return Surface(
            mean=known.mean,
            covariance=(covariance + covariance.T) / 2,
            degrees_of_freedom=self.between.model.degrees_of_freedom,
        )


def points_of(sheet: Sheet, model: SurfaceModel, degrees: Values, levels: Values) -> Points:
    """Lay out points (`degrees`, `levels`) for every sheet read at the places of this one."""
    return Points(
        between=_between(sheet, model, degrees, levels),
        covariance=covariance_of(model, degrees, levels, degrees, levels),
    )


def surface(sheet: Sheet, model: SurfaceModel, degrees: Values, levels: Values) -> Surface:
    """Estimate a surface jointly at points (`degrees`, `levels`) from what was read of it."""
    return points_of(sheet, model, degrees, levels).surface(sheet)


def surface_errors(
    sheet: Sheet, model: SurfaceModel, degrees: Values, levels: Values
) -> tuple[Values, Values]:
    """Give estimate and standard error at each of many points, each by itself."""
    between = _between(sheet, model, degrees, levels)
    known = _solved(between, sheet)
    of_free = np.einsum("ij,ji->i", known.rest, np.linalg.solve(known.precision, known.rest.T))
    variance = model.variance + of_free - np.einsum("ij,ij->j", between.cross, known.on_cross)
    return known.mean, np.sqrt(np.maximum(variance, 0.0))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Between:
    """The free part and the covariances of places read and of points asked."""

    model: SurfaceModel
    free: Values
    basis: Values
    own: Values
    cross: Values


def _between(sheet: Sheet, model: SurfaceModel, degrees: Values, levels: Values) -> _Between:
    free = free_columns(sheet)
    return _Between(
        model=model,
        free=free,
        basis=_basis(degrees, levels, sheet)[:, : free.shape[1]],
        own=covariance_of(model, sheet.degrees, sheet.levels, sheet.degrees, sheet.levels),
        cross=covariance_of(model, sheet.degrees, sheet.levels, degrees, levels),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Solved:
    """The parts that estimates at points and their errors are made of."""

    mean: Values
    rest: Values
    precision: Values
    on_cross: Values


def _solved(between: _Between, sheet: Sheet) -> _Solved:
    free, cross, own = between.free, between.cross, between.own.copy()
    size = between.model.variance + float(sheet.noise.mean())
    own[np.diag_indices_from(own)] += sheet.noise + JITTER * size
    solved: Values = np.linalg.solve(own, np.column_stack([free, cross, sheet.values])).astype(
        float
    )
    on_free, on_cross = solved[:, : free.shape[1]], solved[:, free.shape[1] : -1]
    precision = free.T @ on_free
    coefficients = np.linalg.solve(precision, free.T @ solved[:, -1])
    left = sheet.values - free @ coefficients
    return _Solved(
        mean=between.basis @ coefficients + on_cross.T @ left,
        rest=between.basis - cross.T @ on_free,
        precision=precision,
        on_cross=on_cross,
    )


def determined(sheet: Sheet) -> bool:
    """Tell whether the angles of a sheet determine a mean and a first harmonic."""
    columns = harmonic_columns(sheet.degrees, 1)
    return bool(np.linalg.det(columns.T @ columns / sheet.degrees.size) > DETERMINED)


def free_columns(sheet: Sheet) -> Values:
    """Give the free part of a sheet: 1, cos, sin, and their change along the axis as it allows.

    Raises
    ------
    Refusal
        `too_few_angles` below three; `angles_too_near` where they do not determine the harmonic.
    """
    if np.unique(sheet.degrees % 360.0).size >= 3 and not determined(sheet):
        raise angles_too_near()
    whole = _basis(sheet.degrees, sheet.levels, sheet)
    for columns in (6, 4, 3):
        part = whole[:, :columns]
        values = np.linalg.svd(part, compute_uv=False)
        if part.shape[0] >= columns and values[-1] ** 2 > RANK * values[0] ** 2:
            return part
    raise Refusal(
        "too_few_angles", "Fewer than three angles were read; what lies between cannot be told."
    )


def _basis(degrees: Values, levels: Values, sheet: Sheet) -> Values:
    cosine, sine = unit_vectors(degrees)
    along = levels - sheet.levels.mean()
    scale = float(np.abs(sheet.levels - sheet.levels.mean()).max())
    z = along / scale if scale > 0 else np.zeros_like(along)
    return np.column_stack([np.ones(degrees.size), cosine, sine, z, z * cosine, z * sine])


def covariance_of(
    model: SurfaceModel, degrees: Values, levels: Values, others: Values, at: Values
) -> Values:
    """Give the covariance between two sets of points, or between many pairs of sets at once."""
    around = correlation_round(model.turn, degrees, others)
    return model.variance * around * correlation_along(model.reach, levels, at)


def correlation_round(turn: float, degrees: Values, others: Values) -> Values:
    """Give the correlation of points that lie apart round the circle alone."""
    chord = 2 * np.abs(np.sin(np.radians(degrees[..., :, None] - others[..., None, :]) / 2))
    return _matern(chord / (2 * math.sin(math.radians(turn) / 2)))


def correlation_along(reach: float, levels: Values, at: Values) -> Values:
    """Give the correlation of points that lie apart along the axis alone."""
    return _matern(np.abs(levels[..., :, None] - at[..., None, :]) / reach)


def _matern(distance: Values) -> Values:
    scaled = math.sqrt(3) * distance
    correlation: Values = (1 + scaled) * np.exp(-scaled)
    return correlation
