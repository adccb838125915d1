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
        wander = generator.standard_normal((count, points)) @ root.T
        df = self.degrees_of_freedom
        stretch = np.sqrt(df / generator.chisquare(df, (count, 1)))
        drawn: Values = self.mean + stretch * wander
        return drawn


def surface(sheet: Sheet, model: SurfaceModel, degrees: Values, levels: Values) -> Surface:
    """Estimate a surface jointly at points (`degrees`, `levels`) from what was read of it."""
    known = _solved(sheet, model, degrees, levels)
    covariance = covariance_of(model, degrees, levels, degrees, levels)
    covariance += known.rest @ np.linalg.solve(known.precision, known.rest.T)
    covariance -= known.cross.T @ known.on_cross
    return Surface(
        mean=known.mean,
        covariance=(covariance + covariance.T) / 2,
        degrees_of_freedom=model.degrees_of_freedom,
    )


def surface_errors(
    sheet: Sheet, model: SurfaceModel, degrees: Values, levels: Values
) -> tuple[Values, Values]:
    """Give estimate and standard error at each of many points, each by itself."""
    known = _solved(sheet, model, degrees, levels)
    of_free = np.einsum("ij,ji->i", known.rest, np.linalg.solve(known.precision, known.rest.T))
    variance = model.variance + of_free - np.einsum("ij,ij->j", known.cross, known.on_cross)
    return known.mean, np.sqrt(np.maximum(variance, 0.0))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Solved:
    """The parts that estimates at points and their errors are made of."""

    mean: Values
    rest: Values
    precision: Values
    cross: Values
    on_cross: Values


def _solved(sheet: Sheet, model: SurfaceModel, degrees: Values, levels: Values) -> _Solved:
    free = free_columns(sheet)
    basis = _basis(degrees, levels, sheet)[:, : free.shape[1]]
    own = covariance_of(model, sheet.degrees, sheet.levels, sheet.degrees, sheet.levels)
    size = model.variance + float(sheet.noise.mean())
    own[np.diag_indices_from(own)] += sheet.noise + JITTER * size
    cross = covariance_of(model, sheet.degrees, sheet.levels, degrees, levels)
    solved: Values = np.linalg.solve(own, np.column_stack([free, cross, sheet.values])).astype(
        float
    )
    on_free, on_cross = solved[:, : free.shape[1]], solved[:, free.shape[1] : -1]
    precision = free.T @ on_free
    coefficients = np.linalg.solve(precision, free.T @ solved[:, -1])
    left = sheet.values - free @ coefficients
    return _Solved(
        mean=basis @ coefficients + on_cross.T @ left,
        rest=basis - cross.T @ on_free,
        precision=precision,
        cross=cross,
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
    chord = 2 * np.abs(np.sin(np.radians(degrees[..., :, None] - others[..., None, :]) / 2))
    range_ = 2 * math.sin(math.radians(model.turn) / 2)
    apart = np.abs(levels[..., :, None] - at[..., None, :])
    return model.variance * _matern(chord / range_) * _matern(apart / model.reach)


def _matern(distance: Values) -> Values:
    scaled = math.sqrt(3) * distance
    correlation: Values = (1 + scaled) * np.exp(-scaled)
    return correlation
