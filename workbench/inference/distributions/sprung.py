"""The best fit of readings whose figure has a value, and how far a figure may go.

Such fits are found by pulling the figure towards a target with a spring: whatever the spring
settles on is the best fit with the figure it has there, so the spring need not win.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from workbench.errors import Refusal
from workbench.inference.distributions.fit import GAIN, Fit, covariance_of
from workbench.inference.distributions.maximise import maximise
from workbench.inference.roots import root_between

Values = NDArray[np.float64]
Figure = Callable[[Values], Values]

SPRING = 5.0  # stiffness in curvatures of the likelihood along the figure
STIFF = 100.0  # where a figure is to have a value
PULLS = 40
FEW = 2.0  # standard errors
FURTHEST = 60.0  # standard errors an end is looked for
LEVELLED = 1e-3
CLOSE = 1e-5  # of the distance to an end


def error_of(fit: Fit, figure: Figure) -> float:
    """Give the standard error of a figure by the delta method."""
    covariance, singular = covariance_of(fit.maximum, fit.readings.size)
    at = fit.maximum.at
    step = 1e-4 * np.eye(at.size)
    values = figure(np.vstack([at + step, at - step]))
    slope = (values[: at.size] - values[at.size :]) / 2e-4
    error = math.sqrt(float(slope @ covariance @ slope)) if not singular else math.nan
    if not (error > 0 and math.isfinite(error)):
        raise Refusal(
            "no_interval",
            f"The readings do not determine this figure of the {fit.label}; no interval.",
        )
    return error


def end_of(
    fit: Fit, figure: Figure, estimate: float, error: float, reach: float, side: int
) -> float | None:
    """Find the end on one side; None where the likelihood levels off before it."""
    best = fit.log_likelihood
    rows = {0.0: fit.maximum.at}
    depths = {0.0: -reach}

    def short(target: float) -> float:
        """Tell how much the best fit near a target, in standard errors, falls short of the end."""
        if target not in depths:
            nearest = min(rows, key=lambda known: abs(known - target))
            pull = estimate + side * target * error
            rows[target], value = sprung(fit, figure, pull, error, rows[nearest])
            depths[target] = math.sqrt(max(0.0, 2 * (best - value))) - reach
        return depths[target]

    inner, outer = 0.0, reach
    while short(outer) < 0:
        gained = depths[outer] - depths[inner]
        if outer > FURTHEST or (inner > 0 and gained < LEVELLED * (outer - inner)):
            return None
        inner, outer = outer, outer * 1.5
    found = root_between(short, inner, outer, absolute=CLOSE * reach, relative=CLOSE)
    short(found)
    return float(figure(rows[found][None])[0])


def sprung(
    fit: Fit,
    figure: Figure,
    target: float,
    error: float,
    start: Values,
    spring: float = SPRING,
) -> tuple[Values, float]:
    """Climb with the figure pulled to the target; give where it settles, and the likelihood."""
    size = fit.readings.size
    likelihood = fit.likelihood

    def pulled(rows: Values) -> Values:
        with np.errstate(invalid="ignore", over="ignore"):
            away = (figure(rows) - target) / error
            values = likelihood(rows) - 0.5 * spring * away**2 / size
        return np.where(np.isfinite(values), values, -np.inf)

    bounds = np.array(likelihood.family.bounds)
    found = maximise(pulled, start, bounds, gain=GAIN / size)
    return found.at, float(likelihood(found.at[None])[0]) * size


def best_with(fit: Fit, figure: Figure, value: float, start: Values) -> tuple[Values, float]:
    """Give the best fit whose figure has a value, and how much worse it is; endless where none has.

    In standard errors, as if the likelihood were a parabola. A stiff spring is pulled on from where
    it settles until it settles at the value. Where the readings end at a sharp edge the standard
    error of a figure by it says little, so the way to the value counts as no more than a few.
    """
    away = abs(value - float(figure(fit.maximum.at[None])[0]))
    error = max(error_of(fit, figure), away / FEW)
    row, target = start, value
    for _ in range(PULLS):
        row, likelihood = sprung(fit, figure, target, error, row, STIFF)
        off = value - float(figure(row[None])[0])
        if abs(off) <= CLOSE * error:
            return row, math.sqrt(max(0.0, 2 * (fit.log_likelihood - likelihood)))
        target += off * (1 + 1 / STIFF)
    return row, math.inf
