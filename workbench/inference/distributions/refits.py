"""A family fitted to many drawn samples at once, from the fit they were drawn from."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workbench.inference.distributions.extreme import EXTREME, ExtremeValue, WeibullWithEnd
from workbench.inference.distributions.family import Family, Frame, LocationScale
from workbench.inference.distributions.fit import Fit
from workbench.inference.distributions.samples_drawn import Samples

Values = NDArray[np.float64]

STEP = 1e-4
ROUNDS = 30
NEAR = 1e-3  # of a log-likelihood: a refit is near enough
HALVINGS = 4
FURTHEST = 0.7  # coordinates in one step
LEAST_INFORMATION = 1e-3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Model:
    """A fitted family in coordinates that do not depend on the sample; `held` stay as they are."""

    family: Family
    frame: Frame
    row: Values
    held: NDArray[np.bool_]


def model_of(fit: Fit) -> Model:
    """Give the fit's family and coordinates; extreme values with their shape as it is."""
    family, frame, row = fit.likelihood.family, fit.likelihood.frame, fit.maximum.at
    held = fit.maximum.held != 0
    if isinstance(family, ExtremeValue):
        shape = family.resolve(row[None], frame)[2][0, 0]
        row = np.append(row[:2], shape)
        family = LocationScale(
            name=family.name,
            label=family.label,
            parameters=family.parameters,
            standard=EXTREME,
            shapes=(shape,),
            shape_bounds=(-5.0, -1e-4 if isinstance(family, WeibullWithEnd) else 5.0),
        )
    return Model(family=family, frame=frame, row=row, held=held)


def refitted(samples: Samples, model: Model) -> tuple[Values, Values]:
    """Fit every sample; give rows of coordinates, and the mean log-likelihoods they reach.

    Quasi-Newton steps (Broyden, Fletcher, Goldfarb, Shanno), each sample with its own curvature,
    begun with the information at the model the samples were drawn from. A sample drops out of the
    work once a step promises less than `NEAR`.
    """
    search = _Search(samples, model)
    for _ in range(ROUNDS):
        if not search.active.size:
            break
        search.step()
    return search.rows, search.reached


class _Search:
    """The state of many searches: where each is, its slope and its inverse curvature."""

    def __init__(self, samples: Samples, model: Model) -> None:
        self.samples, self.model = samples, model
        self.free = np.flatnonzero(~model.held)
        self.limits = np.array(model.family.bounds)
        scores = samples.scores(model.family, model.row[None], model.frame, STEP)[:, self.free]
        self.rows = np.tile(model.row, (samples.count, 1))
        self.inverse = np.tile(_inverse(scores.T @ scores), (samples.count, 1, 1))
        self.active = np.arange(samples.count)
        self.here = samples
        self.reached = self._values(samples, self.rows)
        self.slopes = self._slopes(samples, self.rows)

    def step(self) -> None:
        """Move every active search uphill, and drop those that are near enough."""
        row, slope = self.rows[self.active], self.slopes
        move = np.einsum("sij,sj->si", self.inverse[self.active], slope)
        move /= np.maximum(1.0, np.abs(move).max(axis=1) / FURTHEST)[:, None]
        promised = 0.5 * self.samples.size * (slope * move).sum(axis=1)
        better, value = self._climbed(row, move, promised > NEAR)
        moved = (better != row).any(axis=1)
        self.rows[self.active], self.reached[self.active] = better, value
        self.active, self.here = self.active[moved], self.here.some(moved)
        if not self.active.size:
            return
        fresh = self._slopes(self.here, better[moved])
        self._learn(better[moved] - row[moved], slope[moved] - fresh)
        self.slopes = fresh

    def _climbed(
        self, row: Values, move: Values, waiting: NDArray[np.bool_]
    ) -> tuple[Values, Values]:
        """Take the whole step, or a half, a quarter, ... of it, where that climbs."""
        better, value = row.copy(), self.reached[self.active].copy()
        length = 1.0
        for _ in range(HALVINGS):
            if not waiting.any():
                break
            tried = row[waiting].copy()
            tried[:, self.free] += length * move[waiting]
            tried = np.clip(tried, self.limits[:, 0], self.limits[:, 1])
            there = self._values(self.here.some(waiting), tried)
            climbed = np.flatnonzero(waiting)[there > value[waiting]]
            better[climbed], value[climbed] = (
                part[there > value[waiting]] for part in (tried, there)
            )
            waiting = waiting.copy()
            waiting[climbed] = False
            length /= 4
        return better, value

    def _learn(self, moved: Values, bent: Values) -> None:
        """Bring the inverse curvatures up to date with how the slopes changed on the way."""
        s, y = moved[:, self.free], bent
        along = (s * y).sum(axis=1)
        sound = along > 1e-12
        chosen = self.active[sound]
        s, y, along = s[sound], y[sound], along[sound][:, None, None]
        h = self.inverse[chosen]
        hy = np.einsum("sij,sj->si", h, y)
        outer = s[:, :, None] * hy[:, None, :]
        grown = 1 + np.einsum("si,si->s", y, hy)[:, None, None] / along
        self.inverse[chosen] = (
            h
            - (outer + outer.transpose(0, 2, 1)) / along
            + grown * s[:, :, None] * s[:, None, :] / along
        )

    def _values(self, samples: Samples, rows: Values) -> Values:
        values = samples.log_likelihoods(self.model.family, rows, self.model.frame)
        return np.where(np.isfinite(values), values, -np.inf)

    def _slopes(self, samples: Samples, rows: Values) -> Values:
        """Give slopes by central differences; 0 towards a bound and where a side is impossible."""
        columns = []
        for place in self.free:
            unit = STEP * np.eye(rows.shape[1])[place]
            up, down = (self._values(samples, rows + side * unit) for side in (1, -1))
            with np.errstate(invalid="ignore"):
                slope = (up - down) / (2 * STEP)
            slope[~np.isfinite(slope)] = 0.0
            low, high = self.limits[place]
            slope[(rows[:, place] <= low) & (slope < 0)] = 0.0
            slope[(rows[:, place] >= high) & (slope > 0)] = 0.0
            columns.append(slope)
        return np.column_stack(columns)


def _inverse(information: Values) -> Values:
    """Invert, with directions the samples tell next to nothing about not taken at their word."""
    values, vectors = np.linalg.eigh(information)
    inverse: Values = (vectors / np.maximum(values, LEAST_INFORMATION * values.max())) @ vectors.T
    return inverse
