"""A surface round a circle and along its axis, between the places where it was read.

The surface is a mean, a first harmonic and their straight change along the axis, all free, plus a
random surface of covariance

    variance * m(chord between the angles / turn) * m(distance along the axis / reach)

with m the Matern correlation of smoothness 3/2, which is periodic as chords are. Where readings are
exact the estimate goes through them: nothing is smoothed that was seen. Variance, turn and reach
come from the readings of many sheets (one bore each) by restricted likelihood.

References
----------
Rasmussen, C. E., Williams, C. K. I. (2006). Gaussian Processes for Machine Learning, sections 2.7
(free basis functions) and 4.2. Patterson, H. D., Thompson, R. (1971). Recovery of inter-block
information. Biometrika 58, 545-554 (restricted likelihood). Both from memory.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workbench.errors import Refusal
from workbench.inference.directions.vector import unit_vectors

Values = NDArray[np.float64]

TURNS = (30.0, 45.0, 60.0, 90.0)  # degrees
REACHES = (0.5, 1.0, 2.0, 4.0)  # spacings of the levels read
LADDER = 41
ROUGHEST, SMOOTHEST = 1e4, 1e-4  # of the variance against that of the readings
SHEETS_USED = 200
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


def surface_model(sheets: Sequence[Sheet]) -> SurfaceModel:
    """Answer how rough surfaces are between their places, from one sheet or many.

    At most `SHEETS_USED` sheets are used, evenly spread over those given. Nothing finer than a turn
    of 30 degrees is looked for: places lie further apart than that, and no reading tells.

    Raises
    ------
    Refusal
        `no_roughness` where no sheet has a reading beyond its free part.
    """
    step = max(1, math.ceil(len(sheets) / SHEETS_USED))
    used = [(sheet, free_columns(sheet)) for sheet in sheets[::step]]
    used = [(sheet, free) for sheet, free in used if sheet.values.size > free.shape[1]]
    if not used:
        raise Refusal(
            "no_roughness",
            "Every bore was read at just as many places as its mean and shift need; how rough a "
            "wall is between its places cannot be told. A fourth angle would do.",
        )
    contrasts = [_contrast(sheet, free) for sheet, free in used]
    spacing = _spacing([sheet for sheet, _ in used])
    typical = float(np.median(np.concatenate([sheet.noise for sheet, _ in used])))
    ladder = typical * np.logspace(math.log10(SMOOTHEST), math.log10(ROUGHEST), LADDER)
    ladder = np.concatenate([[0.0], ladder])
    reaches = REACHES if any(np.ptp(sheet.levels) > 0 for sheet, _ in used) else (1.0,)
    best, found = -math.inf, SurfaceModel(variance=0, turn=TURNS[0], reach=1, degrees_of_freedom=1)
    df = sum(contrast.shape[1] for contrast in contrasts)
    for turn in TURNS:
        for reach in (part * spacing for part in reaches):
            spread, squares = _spectrum([sheet for sheet, _ in used], contrasts, turn, reach)
            scale = 1 + ladder[:, None] * spread
            likelihood = -0.5 * (np.log(scale) + squares / scale).sum(axis=1)
            at = int(likelihood.argmax())
            variance, top = _refined(ladder, likelihood, at, spread, squares)
            if top > best:
                best = top
                found = SurfaceModel(
                    variance=variance, turn=turn, reach=reach, degrees_of_freedom=df
                )
    return found


def surface(sheet: Sheet, model: SurfaceModel, degrees: Values, levels: Values) -> Surface:
    """Estimate a surface jointly at points (`degrees`, `levels`) from what was read of it."""
    known = _solved(sheet, model, degrees, levels)
    covariance = _covariance(model, degrees, levels, degrees, levels)
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
    own = _covariance(model, sheet.degrees, sheet.levels, sheet.degrees, sheet.levels)
    size = model.variance + float(sheet.noise.mean())
    own[np.diag_indices_from(own)] += sheet.noise + JITTER * size
    cross = _covariance(model, sheet.degrees, sheet.levels, degrees, levels)
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


def free_columns(sheet: Sheet) -> Values:
    """Give the free part of a sheet: 1, cos, sin, and their change along the axis as it allows.

    Raises
    ------
    Refusal
        `too_few_angles` where not even the harmonic is determined.
    """
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


def _covariance(
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


def _contrast(sheet: Sheet, free: Values) -> Values:
    """Give columns orthogonal to the free part."""
    return np.linalg.qr(free, mode="complete")[0][:, free.shape[1] :]


def _spacing(sheets: Sequence[Sheet]) -> float:
    """Give the typical distance of neighbouring levels; 1 where there is one level only."""
    gaps = [np.diff(np.unique(sheet.levels)) for sheet in sheets]
    together = np.concatenate(gaps)
    return float(np.median(together)) if together.size else 1.0


def _spectrum(
    sheets: Sequence[Sheet], contrasts: Sequence[Values], turn: float, reach: float
) -> tuple[Values, Values]:
    """Give, for independent standardised contrasts, their variance per unit and their squares.

    Sheets of as many places are taken together.
    """
    unit = SurfaceModel(variance=1.0, turn=turn, reach=reach, degrees_of_freedom=1)
    alike: dict[tuple[int, ...], list[int]] = {}
    for at, contrast in enumerate(contrasts):
        alike.setdefault(contrast.shape, []).append(at)
    spread, squares = [], []
    for rows in alike.values():
        degrees, levels, values, noise = (
            np.array([getattr(sheets[at], name) for at in rows])
            for name in ("degrees", "levels", "values", "noise")
        )
        contrast = np.array([contrasts[at] for at in rows])
        across = contrast.transpose(0, 2, 1)
        own = _covariance(unit, degrees, levels, degrees, levels)
        lower = np.linalg.cholesky(across @ (contrast * noise[:, :, None]))
        half = np.linalg.solve(lower, across)
        found, axes = np.linalg.eigh(half @ own @ half.transpose(0, 2, 1))
        spread.append(np.maximum(found, 0.0).ravel())
        turned = axes.transpose(0, 2, 1) @ (half @ values[:, :, None])
        squares.append((turned**2).ravel())
    return np.concatenate(spread), np.concatenate(squares)


def _refined(
    ladder: Values, likelihood: Values, at: int, spread: Values, squares: Values
) -> tuple[float, float]:
    """Step to the top of the likelihood between the rungs of the ladder, by three parabolas."""
    if at in (0, ladder.size - 1):
        return float(ladder[at]), float(likelihood[at])
    below = max(float(ladder[at - 1]), float(ladder[at]) * SMOOTHEST)
    rungs = np.linspace(math.log(below), math.log(ladder[at + 1]), 41)
    scale = 1 + np.exp(rungs)[:, None] * spread
    finer = -0.5 * (np.log(scale) + squares / scale).sum(axis=1)
    top = int(finer.argmax())
    return float(np.exp(rungs[top])), float(finer[top])
