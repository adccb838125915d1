"""Intervals by profile likelihood, of any figure of a fit: parameters, quantiles, shares below.

An end is where the best fit with that value of the figure is just as much worse as confidence
allows. Such fits are found by pulling the figure towards a target with a stiff spring: whatever
the spring settles on is the best fit with the figure it has there, so the spring need not win.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtri, logit, ndtr

from workbench.errors import Refusal
from workbench.inference.distributions.family import Frame
from workbench.inference.distributions.fit import GAIN, Fit, covariance_of
from workbench.inference.distributions.maximise import maximise
from workbench.inference.estimates import Estimate
from workbench.inference.results import check_confidence
from workbench.inference.roots import root_between

Values = NDArray[np.float64]
Figure = Callable[[Values], Values]

SPRING = 5.0  # stiffness in curvatures of the likelihood along the figure
FURTHEST = 60.0  # standard errors an end is looked for
LEVELLED = 1e-3
CLOSE = 1e-5  # of the distance to an end
NEAR_SCORE = 2e-3  # on the normal scale of shares
FAR = 10.0  # spreads outside the readings, beyond which a limit is refused
METHOD = "profile likelihood"


def parameter_interval(fit: Fit, name: str, confidence: float = 0.95) -> Estimate:
    """Answer which values of a parameter agree with the readings.

    Parameters
    ----------
    fit : Fit
        A fit that reached its maximum.
    name : str
        One of its parameters.
    confidence : float
        From 0 to 1.

    Returns
    -------
    Estimate
        An end is infinite (or 0 for a parameter above 0) where however extreme values agree too.

    Raises
    ------
    Refusal
        `unknown_parameter`, `not_converged`, `no_interval`, `bad_confidence`.

    References
    ----------
    Venzon, D. J., Moolgavkar, S. H. (1988). A method for computing profile-likelihood-based
    confidence intervals. Applied Statistics 37, 87-94 (from memory).
    """
    names = [one.name for one in fit.parameters]
    if name not in names:
        raise Refusal(
            "unknown_parameter", f"The {fit.label} has no {name!r}; it has {', '.join(names)}."
        )
    place, likelihood = names.index(name), fit.likelihood
    scale = _scale_of(name, likelihood.frame)
    return _interval(
        fit,
        lambda rows: scale.forward(likelihood.family.natural(rows, likelihood.frame)[:, place]),
        scale,
        confidence,
    )


def quantile_interval(fit: Fit, share: float, confidence: float = 0.95) -> Estimate:
    """Answer where the value lies that a `share` of readings stays below, under this family.

    A one-sided end at confidence c is that of the two-sided interval at 2c - 1; for a low quantile
    it is a tolerance limit, approximate in small samples.

    Raises
    ------
    Refusal
        `bad_share`, `not_converged`, `no_interval`, `bad_confidence`.

    References
    ----------
    Coles, S. (2001). An Introduction to Statistical Modeling of Extreme Values, section 2.6.6
    (from memory).
    """
    if not 0 < share < 1:
        raise Refusal("bad_share", f"A share lies between 0 and 1, not at {share}.")
    return _interval(fit, *_quantile(fit, share), confidence)


def _quantile(fit: Fit, share: float) -> tuple[Figure, Scale]:
    family, frame = fit.likelihood.family, fit.likelihood.frame
    at = np.array([[share]])
    return lambda rows: family.quantile(at, rows, frame)[:, 0], LOGGED if family.logged else PLAIN


def share_below_interval(fit: Fit, limit: float, confidence: float = 0.95) -> Estimate:
    """Answer which share of readings lies at or below a limit, under this family.

    Raises
    ------
    Refusal
        `limit_far_off` where the limit lies so far outside the readings that the family alone, not
        the readings, would answer; else as `quantile_interval`.
    """
    check_near(fit, limit)
    family, frame = fit.likelihood.family, fit.likelihood.frame
    if family.logged and limit <= 0:
        return Estimate(estimate=0.0, low=0.0, high=0.0, confidence=confidence, method=METHOD)
    at = np.array([[math.log(limit) if family.logged else limit]])
    share = float(fit.share_below(limit)[0])
    if share in (0.0, 1.0):
        return _beyond_an_end(fit, limit, share, confidence)

    def odds(rows: Values) -> Values:
        below, above = family.tails(at, rows, frame)
        with np.errstate(divide="ignore"):
            return np.log(below[:, 0]) - np.log(above[:, 0])

    return _interval(fit, odds, ODDS, confidence)


def _beyond_an_end(fit: Fit, limit: float, share: float, confidence: float) -> Estimate:
    """Give the interval of a share that is 0 or 1 at the estimates: what quantiles still reach.

    The other end is the share whose quantile interval just reaches the limit.
    """

    def reaches(score: float) -> float:
        figure, scale = _quantile(fit, float(ndtr(score)))
        low, high = _ends(fit, figure, scale, confidence, (-1,) if share == 0 else (1,))
        return low - limit if share == 0 else limit - high

    near, far = (-6.0, 1.0) if share == 0 else (6.0, -1.0)
    if reaches(near) > 0:
        other = share
    elif reaches(far) < 0:
        other = 1.0 - share
    else:
        other = float(ndtr(root_between(reaches, near, far, absolute=NEAR_SCORE)))
    return Estimate(
        estimate=share,
        low=min(share, other),
        high=max(share, other),
        confidence=confidence,
        method=f"{METHOD}, {fit.label}",
    )


def check_near(fit: Fit, limit: float) -> None:
    """Refuse a limit many spreads beyond the readings, as one in another unit would be."""
    known = fit.readings.known
    low, high = float(fit.readings.low[known].min()), float(fit.readings.high[known].max())
    spread = float(np.diff(fit.quantile([0.25, 0.75]))[0]) / 1.349
    beyond = max(low - limit, limit - high) / spread
    if not beyond <= FAR:
        raise Refusal(
            "limit_far_off",
            f"The limit {limit:g} lies {beyond:.0f} standard deviations outside the readings, "
            f"which run from {low:g} to {high:g}; is it in their unit?",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """The scale a figure is searched on, its way back, and its ends."""

    forward: Callable[[Values], Values]
    back: Callable[[float], float]
    low: float
    high: float


PLAIN = Scale(forward=lambda x: x, back=lambda x: x, low=-math.inf, high=math.inf)
LOGGED = Scale(forward=np.log, back=math.exp, low=0.0, high=math.inf)
ODDS = Scale(forward=logit, back=lambda x: 1 / (1 + math.exp(-x)), low=0.0, high=1.0)


def _scale_of(parameter: str, frame: Frame) -> Scale:
    if parameter.startswith("share"):
        return ODDS
    if parameter == "lower_end":
        return replace(PLAIN, high=frame.least)
    positive = ("sd", "scale", "degrees_of_freedom")
    return LOGGED if parameter.startswith(positive) else PLAIN


def _interval(fit: Fit, figure: Figure, scale: Scale, confidence: float) -> Estimate:
    low, high = _ends(fit, figure, scale, confidence, (-1, 1))
    return Estimate(
        estimate=scale.back(float(figure(fit.maximum.at[None])[0])),
        low=low,
        high=high,
        confidence=confidence,
        method=f"{METHOD}, {fit.label}",
    )


def _ends(
    fit: Fit, figure: Figure, scale: Scale, confidence: float, sides: tuple[int, ...]
) -> tuple[float, float]:
    """Give both ends of an interval, that of a side not asked for left open."""
    check_confidence(confidence)
    if not fit.converged:
        raise Refusal("not_converged", f"The {fit.label} reached no maximum; no interval.")
    estimate = float(figure(fit.maximum.at[None])[0])
    error = error_of(fit, figure)
    reach = math.sqrt(float(chdtri(1, 1 - confidence)))
    ends = {side: _end(fit, figure, estimate, error, reach, side) for side in sides}
    low, high = ends.get(-1), ends.get(1)
    return (
        scale.low if low is None else scale.back(low),
        scale.high if high is None else scale.back(high),
    )


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


def _end(
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
            rows[target], value = _sprung(fit, figure, pull, error, rows[nearest])
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


def _sprung(
    fit: Fit, figure: Figure, target: float, error: float, start: Values
) -> tuple[Values, float]:
    """Climb with the figure pulled to the target; give where it settles, and the likelihood."""
    size = fit.readings.size
    likelihood = fit.likelihood

    def pulled(rows: Values) -> Values:
        with np.errstate(invalid="ignore", over="ignore"):
            away = (figure(rows) - target) / error
            values = likelihood(rows) - 0.5 * SPRING * away**2 / size
        return np.where(np.isfinite(values), values, -np.inf)

    bounds = np.array(likelihood.family.bounds)
    found = maximise(pulled, start, bounds, gain=GAIN / size)
    return found.at, float(likelihood(found.at[None])[0]) * size
