"""Intervals by profile likelihood, of any figure of a fit: parameters, quantiles, shares below.

An end is where the best fit with that value of the figure is just as much worse as confidence
allows; `sprung` finds such fits.
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
from workbench.inference.distributions.fit import Fit
from workbench.inference.distributions.sprung import Figure, best_with, end_of, error_of
from workbench.inference.estimates import Estimate
from workbench.inference.results import check_confidence
from workbench.inference.roots import root_between

Values = NDArray[np.float64]

NEAR_SCORE = 2e-4  # on the normal scale of shares
OUTERMOST = 6.0  # a share is told apart from 0 or 1 up to this score
SCORES = (4.0, 2.5, 1.5, 0.5, -1.0)  # and inwards its end is looked for between these
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

    The other end is the share whose quantile may just lie at the limit.
    """
    reach = _reach(fit, confidence)
    rows = {math.inf: fit.maximum.at}

    def beyond(score: float) -> float:
        """Tell how far the best fit with the quantile at the limit falls short of the end."""
        nearest = rows[min(rows, key=lambda known: abs(known - score))]
        quantile, scale = _quantile(fit, float(ndtr(score)))
        wanted = float(scale.forward(np.array([limit]))[0])
        rows[score], depth = best_with(fit, quantile, wanted, nearest)
        return depth - reach

    other = share
    outwards = -1.0 if share == 0 else 1.0
    inside, fell = outwards * OUTERMOST, beyond(outwards * OUTERMOST)
    for score in (outwards * at for at in SCORES if fell < 0):
        falls = beyond(score)
        if falls >= 0:
            ends = fell, falls
            at = root_between(beyond, inside, score, absolute=NEAR_SCORE, values=ends)
            other = float(ndtr(at))
            break
        inside, fell, other = score, falls, 1.0 - share
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
    reach = _reach(fit, confidence)
    estimate, error = float(figure(fit.maximum.at[None])[0]), error_of(fit, figure)
    low, high = (end_of(fit, figure, estimate, error, reach, side) for side in (-1, 1))
    return Estimate(
        estimate=scale.back(estimate),
        low=scale.low if low is None else scale.back(low),
        high=scale.high if high is None else scale.back(high),
        confidence=confidence,
        method=f"{METHOD}, {fit.label}",
    )


def _reach(fit: Fit, confidence: float) -> float:
    """Give how many standard errors an end lies away, were the likelihood a parabola."""
    check_confidence(confidence)
    if not fit.converged:
        raise Refusal("not_converged", f"The {fit.label} reached no maximum; no interval.")
    return math.sqrt(float(chdtri(1, 1 - confidence)))
