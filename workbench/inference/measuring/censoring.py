"""Mean and spread of a normal sample, some readings of which only say "at or below the limit".

A gauge that cannot read less than its lower limit shows the limit. Leaving such readings out makes
the mean too large, taking them as read makes the spread too small; their likelihood is the chance
of lying below.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.optimize import minimize
from scipy.special import log_ndtr, ndtri

from workbench.errors import Refusal
from workbench.inference.admissible import paired
from workbench.inference.estimates import Estimate
from workbench.inference.results import check_confidence
from workbench.inference.samples import Values, clean_values

LEAST_SEEN = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class CensoredNormal:
    """The normal fitted by maximum likelihood; standard errors from the observed information.

    The errors are those of large samples, and readings are taken as independent.
    """

    mean: float
    sd: float
    mean_standard_error: float
    sd_standard_error: float
    correlation: float
    log_likelihood: float
    seen: int
    censored: int

    def mean_interval(self, confidence: float = 0.95) -> Estimate:
        """Give the interval of the mean."""
        half = self._point(confidence) * self.mean_standard_error
        return self._estimate(self.mean, self.mean - half, self.mean + half, confidence)

    def sd_interval(self, confidence: float = 0.95) -> Estimate:
        """Give the interval of the standard deviation, taken on its logarithm."""
        ratio = math.exp(self._point(confidence) * self.sd_standard_error / self.sd)
        return self._estimate(self.sd, self.sd / ratio, self.sd * ratio, confidence)

    @staticmethod
    def _point(confidence: float) -> float:
        check_confidence(confidence)
        return float(ndtri((1 + confidence) / 2))

    @staticmethod
    def _estimate(value: float, low: float, high: float, confidence: float) -> Estimate:
        return Estimate(
            estimate=value,
            low=low,
            high=high,
            confidence=confidence,
            method="censored normal, maximum likelihood",
        )


def censored_normal(values: ArrayLike, censored: ArrayLike) -> CensoredNormal:
    """Fit a normal to readings of which some are at or below the value shown.

    Parameters
    ----------
    values
        What was shown: the reading, or the limit where the gauge could not read lower.
    censored
        True where the value is such a limit; limits may differ.

    Raises
    ------
    Refusal
        `too_few_seen` (fewer than three readings above their limit), `zero_spread`,
        `unequal_lengths`, or those of `samples.clean_values`.

    References
    ----------
    Cohen (1959), Technometrics 1:217-237.
    """
    shown = clean_values(values, least=LEAST_SEEN, name="the row of readings")
    below = np.asarray(censored, dtype=bool)
    paired("Readings", shown, "marks of censoring", below)
    seen = shown[~below]
    if seen.size < LEAST_SEEN:
        raise Refusal(
            "too_few_seen",
            f"{seen.size} of {shown.size} readings are above the limit; a spread needs "
            f"{LEAST_SEEN}.",
        )
    if np.ptp(seen) == 0:
        raise Refusal(
            "zero_spread",
            f"All {seen.size} readings above the limit are equal: there is no spread.",
        )
    return _fit(seen, shown[below])


def _fit(seen: Values, limits: Values) -> CensoredNormal:
    centre, scale = float(seen.mean()), float(seen.std())
    z, c = (seen - centre) / scale, (limits - centre) / scale

    def minus_log_likelihood(at: Values) -> float:
        mean, sd = at[0], math.exp(at[1])
        return float(
            seen.size * (at[1] + 0.5 * math.log(2 * math.pi))
            + 0.5 * np.sum(((z - mean) / sd) ** 2)
            - np.sum(log_ndtr((c - mean) / sd))
        )

    def slope(at: Values) -> Values:
        mean, sd = at[0], math.exp(at[1])
        a, b = (z - mean) / sd, (c - mean) / sd
        hazard = _hazard(b)
        return np.array(
            [
                (-a.sum() + hazard.sum()) / sd,
                seen.size - float(a @ a) + float(hazard @ b),
            ]
        )

    best = minimize(
        minus_log_likelihood, np.zeros(2), jac=slope, method="BFGS", options={"gtol": 1e-9}
    ).x
    mean, sd = float(best[0]), math.exp(best[1])
    a, b = (z - mean) / sd, (c - mean) / sd
    hazard = _hazard(b)
    bend = hazard * (hazard + b)
    information = (
        np.array(
            [
                [seen.size + bend.sum(), 2 * a.sum() + bend @ b - hazard.sum()],
                [0.0, 3 * a @ a - seen.size + bend @ b**2 - 2 * hazard @ b],
            ]
        )
        / sd**2
    )
    information[1, 0] = information[0, 1]
    covariance = np.linalg.inv(information) * scale**2
    of_mean, of_sd = np.sqrt(np.diag(covariance))
    return CensoredNormal(
        mean=centre + scale * mean,
        sd=scale * sd,
        mean_standard_error=float(of_mean),
        sd_standard_error=float(of_sd),
        correlation=float(covariance[0, 1] / (of_mean * of_sd)),
        log_likelihood=-minus_log_likelihood(best) - seen.size * math.log(scale),
        seen=seen.size,
        censored=limits.size,
    )


def _hazard(b: Values) -> Values:
    """Give density over distribution function of the standard normal, safe far below 0."""
    return np.asarray(np.exp(-0.5 * b**2 - 0.5 * math.log(2 * math.pi) - log_ndtr(b)))
