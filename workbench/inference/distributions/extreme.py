"""Extreme values for minima searched so that every reading stays possible.

A generalised extreme value has an end, below or above, and no reading may lie beyond it. The shape
is therefore searched between the two values at which the lower end meets the least reading and the
upper end the greatest; what was a cliff becomes a slope that levels off.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit, logit

from workbench.inference.distributions.family import Frame, LocationScale, quartiles
from workbench.inference.distributions.readings import Readings
from workbench.inference.distributions.standard import ExtremeMinima, Standard

Values = NDArray[np.float64]

EXTREME = ExtremeMinima()
INSIDE = 0.9  # of the way to an end, for starting shapes beyond it
AWAY = (
    "The lower end ran away, far below the readings: none can be told, and a Gumbel for minima "
    "says the same with one parameter less."
)
TOUCHING = (
    "The lower end ran up to the least reading, where the likelihood has no proper maximum: that "
    "reading alone decides it, and standard errors and intervals do not hold."
)
TOUCHING_ABOVE = (
    "The upper end ran down to the greatest reading, where the likelihood has no proper maximum: "
    "that reading alone decides it, and standard errors and intervals do not hold."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ExtremeValue(LocationScale):
    """The generalised extreme value for minima; the shape is that of the maxima of minus the value.

    Coordinates: location, log scale, and the logit of where the shape lies in its range.
    """

    standard: Standard = EXTREME
    shapes: tuple[float, ...] = (-0.15, 0.1, -0.4)
    shape_bounds: tuple[float, float] = (-14.0, 14.0)
    shape_at_bound: tuple[str, str] = (TOUCHING, TOUCHING_ABOVE)

    def resolve(self, rows: Values, frame: Frame) -> tuple[Values, Values, Values]:
        """Give location, scale and shape as columns."""
        location = frame.centre + frame.unit * rows[:, :1]
        scale = frame.unit * np.exp(rows[:, 1:2])
        least, greatest = self.shape_range(location, scale, frame)
        return location, scale, least + (greatest - least) * expit(rows[:, 2:])

    def shape_range(self, location: Values, scale: Values, frame: Frame) -> tuple[Values, Values]:
        """Give the shapes at which the lower and the upper end meet a reading."""
        nearest = 1e-3 * frame.unit
        return (
            -scale / np.maximum(location - frame.least, nearest),
            scale / np.maximum(frame.greatest - location, nearest),
        )

    def starts(self, readings: Readings, frame: Frame) -> Values:
        """Match two quartiles of the sample under each starting shape."""
        at, shares = quartiles(readings, logged=False)
        rows = []
        for shape in self.shapes:
            z = self.standard.quantile(shares, np.array([shape]))
            scale = (at[1:] - at[:1]) / (z[1] - z[0])
            location = at.mean() - scale * z.mean()
            least, greatest = self.shape_range(location, scale, frame)
            inside = np.clip(
                shape, INSIDE * least, np.where(greatest > 0, INSIDE * greatest, -0.01)
            )
            place = logit((inside - least) / (greatest - least))
            rows.append([(location - frame.centre) / frame.unit, np.log(scale / frame.unit), place])
        return np.array(rows)[:, :, 0]


@dataclass(frozen=True, slots=True, kw_only=True)
class WeibullWithEnd(ExtremeValue):
    """The three-parameter Weibull: an extreme value for minima that has a lower end."""

    shapes: tuple[float, ...] = (-0.25, -0.08, -0.6)
    shape_bounds: tuple[float, float] = (-14.0, 6.0)
    shape_at_bound: tuple[str, str] = (TOUCHING, AWAY)

    def shape_range(self, location: Values, scale: Values, frame: Frame) -> tuple[Values, Values]:
        """Give the shape at which the lower end meets the least reading, and 0."""
        nearest = 1e-3 * frame.unit
        least = -scale / np.maximum(location - frame.least, nearest)
        return least, np.zeros_like(least)

    def natural(self, rows: Values, frame: Frame) -> Values:
        """Give shape, scale and the lower end."""
        location, scale, shape = self.resolve(rows, frame)
        return np.hstack([-1 / shape, -scale / shape, location + scale / shape])
