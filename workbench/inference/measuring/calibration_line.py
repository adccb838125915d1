"""What a gauge does to a value: indicated = zero + slope x reference, and the way back.

The errors of a calibration line are shared by every reading corrected with it: they do not average
out over readings. `shared_covariance` gives them for any two values corrected by one line;
`correction_budget` for a weighted sum of values corrected by several, which may share their
reference pieces.

A line is never guessed: a reading corrected without a known scatter can be given, its uncertainty
cannot, and asking for it is refused (`no_repeatability`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import overload

import numpy as np

from workbench.errors import Refusal
from workbench.inference.admissible import finite, positive
from workbench.inference.measuring.inverse_prediction import InversePrediction
from workbench.inference.samples import Values


@dataclass(frozen=True, slots=True, kw_only=True)
class LineCovariance:
    """Variances of the zero and of the slope of a line, and their covariance."""

    zero: float = 0.0
    slope: float = 0.0
    both: float = 0.0

    def between(self, x: float | Values, y: float | Values) -> Values:
        """Give the covariance of the line's heights at `x` and at `y`."""
        x, y = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
        return np.asarray(self.zero + self.both * (x + y) + self.slope * x * y)

    def plus(self, other: LineCovariance) -> LineCovariance:
        """Add an independent cause of error."""
        return LineCovariance(
            zero=self.zero + other.zero,
            slope=self.slope + other.slope,
            both=self.both + other.both,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class ReferenceError:
    """What one standard uncertainty of one thing (a piece, a speed) does to zero and slope.

    `source` names the thing: lines made with the same thing have that error in common. `stated` is
    that standard uncertainty in the unit of the readings, None where it is in another (a speed).
    """

    source: str
    zero: float
    slope: float
    stated: float | None = None

    def at(self, x: float | Values) -> Values:
        """Give what it does to the height of the line at `x`."""
        return np.asarray(self.zero + self.slope * np.asarray(x, dtype=float))


@dataclass(frozen=True, slots=True, kw_only=True)
class CalibrationLine:
    """The line indicated = zero + slope x reference, with what is known of its errors.

    Attributes
    ----------
    zero, slope
        `zero` in the unit of the readings; `slope` is above 0 (1 for a gauge that reads true).
    scatter_covariance
        Covariance of (zero, slope) from the scatter of the readings; None where it is not known.
    reference_errors
        What was stated: errors of reference pieces, of a speed, of an assumed zero; independent.
    reading_sd, degrees_of_freedom
        Standard deviation of one reading about the line; None where it is not known. The degrees
        of freedom are infinite for a stated repeatability.
    low, high
        The indicated values the calibration covers; outside it extrapolates.
    method, pieces, readings
        How the line was made, from how many reference pieces and readings.
    """

    zero: float
    slope: float
    scatter_covariance: LineCovariance | None
    reference_errors: tuple[ReferenceError, ...]
    reading_sd: float | None
    degrees_of_freedom: float
    low: float
    high: float
    method: str
    pieces: int
    readings: int

    @overload
    def corrected(self, indicated: float) -> float: ...
    @overload
    def corrected(self, indicated: Values) -> Values: ...
    def corrected(self, indicated: float | Values) -> float | Values:
        """Turn indicated values into corrected ones."""
        return (indicated - self.zero) / self.slope

    @overload
    def indicated(self, corrected: float) -> float: ...
    @overload
    def indicated(self, corrected: Values) -> Values: ...
    def indicated(self, corrected: float | Values) -> float | Values:
        """Turn corrected values back into what the gauge shows."""
        return self.zero + self.slope * corrected

    def extrapolated(self, indicated: float | Values) -> np.ndarray:
        """Tell which indicated values lie outside what the calibration covers."""
        shown = np.asarray(indicated, dtype=float)
        return np.asarray((shown < self.low) | (shown > self.high))

    @property
    def reference_covariance(self) -> LineCovariance:
        """The covariance of (zero, slope) from what was stated."""
        return LineCovariance(
            zero=sum(error.zero**2 for error in self.reference_errors),
            slope=sum(error.slope**2 for error in self.reference_errors),
            both=sum(error.zero * error.slope for error in self.reference_errors),
        )

    def covariance(self) -> LineCovariance:
        """Give the covariance of (zero, slope) from all causes.

        Raises
        ------
        Refusal
            `no_repeatability` when the scatter of the readings is not known.
        """
        return self._scatter().plus(self.reference_covariance)

    def shared_covariance(self, first: float | Values, second: float | Values) -> Values:
        """Give the covariance of the corrections of two indicated values.

        `first` and `second` are indicated values (scalars, or arrays of one shape); the answer is
        in the square of their unit. It holds for means as for single readings, because the line is
        the same for all of them.
        """
        at = self.corrected(np.asarray(first, dtype=float))
        other = self.corrected(np.asarray(second, dtype=float))
        return self.covariance().between(at, other) / self.slope**2

    def shared_uncertainty(self, indicated: float | Values) -> Values:
        """Give the standard uncertainty that the line puts on corrected values."""
        return np.sqrt(self.shared_covariance(indicated, indicated))

    def inverse(self, indicated: float, *, readings: float = 1) -> InversePrediction:
        """Predict the true value behind the mean of `readings` new readings.

        `readings` may be infinite: then `indicated` is taken as a mean without scatter of its own.
        """
        finite("The indicated value", indicated)
        if not readings >= 1:
            raise Refusal("bad_readings", f"A mean is of 1 or more readings, not of {readings}.")
        if self.reading_sd is None:
            raise self._unknown_scatter()
        return InversePrediction(line=self, indicated=float(indicated), readings=readings)

    def rescaled(self, factor: float) -> CalibrationLine:
        """Give the same line in another unit: 1 old unit is `factor` new ones."""
        positive("The factor", factor)
        scatter = self.scatter_covariance
        return replace(
            self,
            zero=self.zero * factor,
            scatter_covariance=None
            if scatter is None
            else LineCovariance(
                zero=scatter.zero * factor**2, slope=scatter.slope, both=scatter.both * factor
            ),
            reference_errors=tuple(
                replace(
                    error,
                    zero=error.zero * factor,
                    stated=None if error.stated is None else error.stated * factor,
                )
                for error in self.reference_errors
            ),
            reading_sd=None if self.reading_sd is None else self.reading_sd * factor,
            low=self.low * factor,
            high=self.high * factor,
        )

    def _scatter(self) -> LineCovariance:
        if self.scatter_covariance is None:
            raise self._unknown_scatter()
        return self.scatter_covariance

    def _unknown_scatter(self) -> Refusal:
        return Refusal(
            "no_repeatability",
            f"{self.readings} readings on {self.pieces} pieces leave no scatter to judge by; "
            "read the pieces again, or state the repeatability of the gauge.",
        )
