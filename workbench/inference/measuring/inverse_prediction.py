"""The true value behind new readings, from a calibration line: estimate, uncertainty, limits."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from scipy.special import stdtrit

from workbench.errors import Refusal
from workbench.inference.results import Interval, check_confidence

if TYPE_CHECKING:
    from workbench.inference.measuring.calibration_line import CalibrationLine


@dataclass(frozen=True, slots=True, kw_only=True)
class InversePrediction:
    """What the mean of `readings` new readings says of the true value.

    The limits of `interval` are Fieller's (1954): the values that the new mean does not contradict
    at the confidence asked for, slope and zero being uncertain. `wald_interval` is the symmetric
    interval of the law of propagation, near to it where the slope is well known.
    """

    line: CalibrationLine
    indicated: float
    readings: float

    @property
    def estimate(self) -> float:
        """The corrected value."""
        return self.line.corrected(self.indicated)

    @property
    def extrapolated(self) -> bool:
        """Whether the indicated value lies outside what the calibration covers."""
        return bool(self.line.extrapolated(self.indicated))

    @property
    def line_uncertainty(self) -> float:
        """The part that all readings under this calibration share."""
        return float(self.line.shared_uncertainty(self.indicated))

    @property
    def reading_uncertainty(self) -> float:
        """The part of the new readings' own scatter; it falls with their number."""
        sd = self.line.reading_sd
        assert sd is not None
        return sd / self.line.slope / math.sqrt(self.readings)

    @property
    def standard_uncertainty(self) -> float:
        """Both parts together."""
        return math.hypot(self.line_uncertainty, self.reading_uncertainty)

    @property
    def degrees_of_freedom(self) -> float:
        """Those of the scatter, raised by what was stated (Welch-Satterthwaite, JCGM 100 G.4)."""
        at = self.estimate
        stated = float(self.line.reference_covariance.between(at, at)) / self.line.slope**2
        total = self.standard_uncertainty**2
        scatter = total - stated
        return self.line.degrees_of_freedom * (total / scatter) ** 2 if scatter > 0 else math.inf

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give Fieller's limits of the true value.

        Raises
        ------
        Refusal
            `slope_not_distinct` when the slope is not told from 0 at this confidence: the limits
            would be infinite or enclose everything but the estimate.
        """
        t = self._t(confidence)
        line, v = self.line, self.line.covariance()
        rise = self.indicated - line.zero
        own = (self.reading_uncertainty * line.slope) ** 2
        a = line.slope**2 - t**2 * v.slope
        if a <= 0:
            raise Refusal(
                "slope_not_distinct",
                f"The slope of the calibration, {line.slope:g}, is not told from 0 at confidence "
                f"{confidence:g}; no bounded interval can be given.",
            )
        b = rise * line.slope + t**2 * v.both
        c = rise**2 - t**2 * (own + v.zero)
        half = math.sqrt(max(0.0, b**2 - a * c))
        return Interval(low=(b - half) / a, high=(b + half) / a, confidence=confidence)

    def wald_interval(self, confidence: float = 0.95) -> Interval:
        """Give the symmetric interval: estimate -/+ t times the standard uncertainty."""
        half = self._t(confidence) * self.standard_uncertainty
        return Interval(low=self.estimate - half, high=self.estimate + half, confidence=confidence)

    def _t(self, confidence: float) -> float:
        check_confidence(confidence)
        return -float(stdtrit(self.degrees_of_freedom, (1 - confidence) / 2))
