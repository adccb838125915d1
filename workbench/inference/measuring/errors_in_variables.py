"""A straight line when both coordinates are uncertain, each by its own stated amount (York)."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import chdtrc

from workbench.errors import Refusal
from workbench.inference.admissible import paired, uncertainty
from workbench.inference.measuring.calibration_line import (
    CalibrationLine,
    LineCovariance,
    ReferenceError,
)
from workbench.inference.samples import Values, clean_values

LEAST = 3
ROUNDS = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class UncertainLine:
    """y = intercept + slope x, weighted by the uncertainties of both coordinates.

    `covariance` is that of (intercept, slope) from the stated uncertainties alone. `chi_square` is
    the weighted sum of squared distances; on `degrees_of_freedom` it is large when the points
    scatter more than their uncertainties allow.
    """

    intercept: float
    slope: float
    covariance: LineCovariance
    chi_square: float
    degrees_of_freedom: int
    low: float
    high: float

    @property
    def p_value(self) -> float:
        """Chance of so much scatter, were the stated uncertainties right and the line straight."""
        return float(chdtrc(self.degrees_of_freedom, self.chi_square))

    def _independent_errors(self) -> tuple[ReferenceError, ...]:
        """Split the covariance into an error that tilts about the centre and one that shifts."""
        tilt = math.sqrt(self.covariance.slope)
        shift = self.covariance.zero - self.covariance.both**2 / self.covariance.slope
        return (
            ReferenceError(source="tilt", zero=self.covariance.both / tilt, slope=tilt),
            ReferenceError(source="shift", zero=math.sqrt(max(0.0, shift)), slope=0.0),
        )

    def calibration(self, repeatability: float) -> CalibrationLine:
        """Use the line as a calibration: x were the references, y what the gauge showed.

        `repeatability` is the standard deviation of one new reading.

        Raises
        ------
        Refusal
            `slope_not_positive` or `bad_uncertainty`.
        """
        if self.slope <= 0:
            raise Refusal(
                "slope_not_positive",
                f"The indicated values must rise with the reference; their slope is "
                f"{self.slope:g}.",
            )
        return CalibrationLine(
            zero=self.intercept,
            slope=self.slope,
            scatter_covariance=LineCovariance(),
            reference_errors=self._independent_errors(),
            reading_sd=uncertainty("The repeatability", repeatability),
            degrees_of_freedom=math.inf,
            low=self.low,
            high=self.high,
            method="line with uncertain references",
            pieces=self.degrees_of_freedom + 2,
            readings=self.degrees_of_freedom + 2,
        )


def york(
    x: ArrayLike, y: ArrayLike, x_uncertainty: ArrayLike, y_uncertainty: ArrayLike
) -> UncertainLine:
    """Fit a line to points whose errors are independent, in x and in y.

    Use it in place of `calibration_fit.line` when reference pieces have uncertainties that differ,
    or that are not small beside the scatter of the readings; y then are the means of the readings
    on each piece, with the uncertainty of those means.

    Parameters
    ----------
    x, y
        Coordinates, at least three points.
    x_uncertainty, y_uncertainty
        Standard uncertainties, one for all or one a point; not both 0 at a point.

    Raises
    ------
    Refusal
        `bad_uncertainty`, `one_reference`, `not_converged`, `unequal_lengths`, or those of
        `samples.clean_values`.

    References
    ----------
    York, Evensen, Martinez & De Basabe Delgado (2004), American Journal of Physics 72:367-375,
    equations 13 (without correlation of errors).
    """
    at = clean_values(x, least=LEAST, name="the row of x")
    height = clean_values(y, name="the row of y")
    paired("Values of x", at, "values of y", height)
    vx = _variances(x_uncertainty, at.size, "x")
    vy = _variances(y_uncertainty, at.size, "y")
    if bool(np.any(vx + vy == 0)):
        raise Refusal("bad_uncertainty", "A point without any uncertainty would decide the line.")
    if np.ptp(at) == 0:
        raise Refusal("one_reference", f"All {at.size} values of x are {at[0]:g}.")
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        return _york(at, height, vx, vy)


def _york(x: Values, y: Values, vx: Values, vy: Values) -> UncertainLine:
    slope = float((x - x.mean()) @ (y - y.mean()) / np.sum((x - x.mean()) ** 2))
    for _ in range(ROUNDS):
        w = 1 / (vy + slope**2 * vx)
        mean_x, mean_y = float(w @ x / w.sum()), float(w @ y / w.sum())
        u, v = x - mean_x, y - mean_y
        beta = w * (u * vy + slope * v * vx)
        before, slope = slope, float((w * beta) @ v / ((w * beta) @ u))
        if not abs(slope - before) > 1e-14 * abs(slope):  # settled, or no number any more
            break
    else:
        slope = math.nan
    if not math.isfinite(slope):
        raise Refusal("not_converged", "No line fits: x and y rise in no common direction.")
    w = 1 / (vy + slope**2 * vx)
    intercept = mean_y - slope * mean_x
    adjusted = mean_x + beta
    centre = float(w @ adjusted / w.sum())
    of_slope = 1 / float(w @ (adjusted - centre) ** 2)
    return UncertainLine(
        intercept=intercept,
        slope=slope,
        covariance=LineCovariance(
            zero=1 / float(w.sum()) + centre**2 * of_slope,
            slope=of_slope,
            both=-centre * of_slope,
        ),
        chi_square=float(w @ (y - intercept - slope * x) ** 2),
        degrees_of_freedom=x.size - 2,
        low=float(y.min()),
        high=float(y.max()),
    )


def _variances(stated: ArrayLike, size: int, name: str) -> Values:
    u = clean_values(np.atleast_1d(stated), name=f"the row of uncertainties of {name}")
    if u.size not in (1, size) or bool(np.any(u < 0)):
        raise Refusal(
            "bad_uncertainty",
            f"Uncertainties of {name} are 0 or more, one for all or one for each of {size} "
            f"points; there are {u.size}, the least is {u.min():g}.",
        )
    return np.broadcast_to(u**2, (size,)).astype(float)
