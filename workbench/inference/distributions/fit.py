"""A distribution fitted to readings by maximum likelihood, and what the fit can be asked."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from workbench.errors import Refusal
from workbench.inference.distributions.catalogue import family_named
from workbench.inference.distributions.family import Family, Frame, frame_of
from workbench.inference.distributions.likelihood import (
    Likelihood,
    check_positive,
    likelihood_of,
)
from workbench.inference.distributions.maximise import Maximum, maximise
from workbench.inference.distributions.readings import Readings

Values = NDArray[np.float64]

COARSE = 300  # intervals the search is made on; the last steps are on all of them
BEST_STARTS = 2
GAIN = 1e-9  # of the log-likelihood of all readings
MIXTURE_FEWEST = 20
SHAPE_FEWEST = 10
SINGULAR = 1e-7


@dataclass(frozen=True, slots=True, kw_only=True)
class Parameter:
    """A fitted parameter; the standard error is NaN where the readings do not determine it."""

    name: str
    estimate: float
    standard_error: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fit:
    """A family fitted to readings.

    Attributes
    ----------
    family : str
        Its name in the catalogue.
    parameters : tuple of Parameter
        Natural parameters with standard errors from the observed information.
    log_likelihood : float
        Of all readings: of their intervals where they are rounded, of the density where not.
    converged : bool
        Whether the maximum was reached.
    at_boundary : bool
        Whether a parameter was stopped by a bound; `notes` say which and what it means.
    notes : tuple of str
        Everything about the fit a reader must know, in sentences.
    """

    family: str
    label: str
    parameters: tuple[Parameter, ...]
    log_likelihood: float
    converged: bool
    at_boundary: bool
    notes: tuple[str, ...]
    readings: Readings
    likelihood: Likelihood
    maximum: Maximum

    @property
    def estimates(self) -> dict[str, float]:
        """The fitted parameters by name."""
        return {one.name: one.estimate for one in self.parameters}

    @property
    def aicc(self) -> float:
        """Akaike's criterion, corrected for small samples; infinite where it is not defined."""
        count, size = len(self.parameters), self.readings.size
        if size - count - 1 <= 0:
            return math.inf
        return -2 * self.log_likelihood + 2 * count + 2 * count * (count + 1) / (size - count - 1)

    @property
    def bic(self) -> float:
        """Schwarz's criterion."""
        return -2 * self.log_likelihood + len(self.parameters) * math.log(self.readings.size)

    def density(self, x: ArrayLike) -> Values:
        """Give the fitted density at `x`: of all, kept or not."""
        at, row, frame = self._asked(x)
        density: Values = np.exp(self._family.log_density(at[None], row, frame)[0])
        if self._family.logged:
            with np.errstate(divide="ignore", invalid="ignore"):
                density = np.where(at > -np.inf, density / np.exp(at), 0.0)
        return density

    def share_below(self, x: ArrayLike) -> Values:
        """Give the fitted share at or below `x`: of all, kept or not."""
        at, row, frame = self._asked(x)
        below: Values = self._family.tails(at[None], row, frame)[0][0]
        return below

    def quantile(self, share: ArrayLike) -> Values:
        """Give the value that a `share` stays below: of all, kept or not."""
        wanted = np.atleast_1d(np.asarray(share, dtype=float))
        if not ((wanted > 0) & (wanted < 1)).all():
            raise Refusal("bad_share", f"A share lies between 0 and 1, not at {wanted.tolist()}.")
        at = self._family.quantile(wanted[None], self.maximum.at[None], self.likelihood.frame)[0]
        values: Values = np.exp(at) if self._family.logged else at
        return values

    @property
    def seen(self) -> float:
        """The share of the fitted distribution that lies where any reading would have been kept."""
        return float(np.exp(self._log_seen(self.likelihood.window[None])[0]))

    def share_of_seen_below(self, x: ArrayLike) -> Values:
        """Give the fitted share at or below `x` of what would have been kept.

        Of readings seen through several windows, as many through each as there are.
        """
        below, found = self.share_below(x), 0.0
        for part in self.readings.by_window:
            ends = self.share_below(np.array(part.window))
            share = np.clip((below - ends[0]) / (ends[1] - ends[0]), 0.0, 1.0)
            found = found + share * part.counts.sum() / self.readings.size
        return np.asarray(found)

    def density_of_seen(self, x: ArrayLike) -> Values:
        """Give the density at `x` on the scale of what was kept, as a histogram shows it.

        Beyond every window it goes on as it would have been seen there.
        """
        at, low, high = np.atleast_1d(np.asarray(x, dtype=float)), *self.readings.window
        beyond = (at < low) | (at > high)
        scale = np.zeros(at.size)
        for part in self.readings.by_window:
            ends = self.share_below(np.array(part.window))
            through = beyond | ((at >= part.window[0]) & (at <= part.window[1]))
            scale += through * part.counts.sum() / self.readings.size / (ends[1] - ends[0])
        density: Values = self.density(at) * scale
        return density

    def _log_seen(self, windows: Values) -> Values:
        seen: Values = self.likelihood.log_seen(windows, self.maximum.at[None])[0]
        return seen

    @property
    def _family(self) -> Family:
        return self.likelihood.family

    def _asked(self, x: ArrayLike) -> tuple[Values, Values, Frame]:
        at = np.atleast_1d(np.asarray(x, dtype=float))
        if self._family.logged:
            with np.errstate(divide="ignore"):
                at = np.log(np.maximum(at, 0.0))
        return at, self.maximum.at[None], self.likelihood.frame


def fit_distribution(readings: Readings, family: str) -> Fit:
    """Answer which member of a family the readings come from.

    Maximum likelihood over distinct values with counts: each reading is the interval it stands
    for, so that coarse gauges bias nothing, and ten million readings cost what their distinct
    values cost.

    Parameters
    ----------
    readings : Readings
    family : str
        A name of `catalogue.FAMILIES`: normal, lognormal, weibull-2, weibull-3, gamma, logistic,
        student-t, skew-normal, gumbel-minima, gev-minima, normal-mixture.

    Returns
    -------
    Fit
        Readings are taken as independent. Where they are grouped in blocks the estimates stand,
        but standard errors, criteria and intervals are those of as many independent readings.

    Raises
    ------
    Refusal
        `unknown_family`, `too_few`, `not_positive`, `no_fit` where no start has any likelihood.

    References
    ----------
    Meeker, W. Q., Escobar, L. A. (1998). Statistical Methods for Reliability Data, chapters 7, 8
    and 11 (from memory).

    Examples
    --------
    Lieblein and Zelen's ball bearings, as often analysed (the Weibull shape is 2.102):

    >>> hours = [17.88, 28.92, 33, 41.52, 42.12, 45.6, 48.48, 51.84, 51.96, 54.12, 55.56, 67.8,
    ...          68.64, 68.64, 68.88, 84.12, 93.12, 98.64, 105.12, 105.84, 127.92, 128.04, 173.4]
    >>> fit = fit_distribution(Readings.of(hours), "weibull-2")
    >>> round(fit.estimates["shape"], 3), round(fit.estimates["scale"], 2)
    (2.102, 81.88)
    """
    chosen = family_named(family)
    _check_enough(readings, chosen)
    check_positive(readings, chosen)
    frame = frame_of(readings, logged=chosen.logged)
    likelihood = likelihood_of(readings, chosen, frame)
    return _assembled(readings, likelihood, _searched(readings, likelihood))


def _searched(readings: Readings, likelihood: Likelihood) -> Maximum:
    """Search on joined intervals from the best starts, then climb on all of them."""
    family, frame = likelihood.family, likelihood.frame
    bounds = np.array(family.bounds)
    starts = family.starts(readings, frame)
    joined = readings.merged(COARSE)
    coarse = likelihood if joined is readings else likelihood_of(joined, family, frame)
    values = coarse(starts)
    if not np.isfinite(values).any():
        starts, values = _widened(starts, coarse)
    order = np.argsort(-values)[:BEST_STARTS]
    gain = GAIN / readings.size
    found = [maximise(coarse, starts[i], bounds, gain=gain) for i in order if values[i] > -np.inf]
    best = max(found, key=lambda one: one.value)
    if joined is readings:
        return best
    return maximise(likelihood, best.at, bounds, gain=gain)


def _widened(starts: Values, likelihood: Likelihood) -> tuple[Values, Values]:
    """Stretch starts under which some reading is impossible."""
    for stretch in (0.5, 1.0, 1.5, 2.0, 3.0):
        moved = starts.copy()
        moved[:, 1] += stretch
        values = likelihood(moved)
        if np.isfinite(values).any():
            return moved, values
    raise Refusal(
        "no_fit",
        f"Under no {likelihood.family.label} that lies near the readings are all of them possible.",
    )


def _assembled(readings: Readings, likelihood: Likelihood, maximum: Maximum) -> Fit:
    family = likelihood.family
    covariance, singular = covariance_of(maximum, readings.size)
    natural, errors = _natural(likelihood, maximum, covariance)
    notes = list(_notes(likelihood, maximum, singular))
    return Fit(
        family=family.name,
        label=family.label,
        parameters=tuple(
            Parameter(name=name, estimate=estimate, standard_error=error)
            for name, estimate, error in zip(
                family.parameters, natural.tolist(), errors.tolist(), strict=True
            )
        ),
        log_likelihood=maximum.value * readings.size,
        converged=maximum.converged,
        at_boundary=bool(maximum.held.any()),
        notes=tuple(notes),
        readings=readings,
        likelihood=likelihood,
        maximum=maximum,
    )


def covariance_of(maximum: Maximum, size: int) -> tuple[Values, bool]:
    """Give the covariance of the coordinates, those at a bound held; NaN where singular."""
    free = maximum.held == 0
    information = maximum.curvature[np.ix_(free, free)] * size
    covariance = np.zeros_like(maximum.curvature)
    if not np.isfinite(information).all():
        return np.full_like(covariance, np.nan), True
    values = np.linalg.eigvalsh(information) if free.any() else np.ones(1)
    singular = bool(values.min() <= SINGULAR * values.max())
    covariance[np.ix_(free, free)] = np.nan if singular else np.linalg.inv(information)
    return covariance, singular


def _natural(likelihood: Likelihood, maximum: Maximum, covariance: Values) -> tuple[Values, Values]:
    """Give natural parameters and standard errors by the delta method."""
    step = 1e-4 * np.eye(maximum.at.size)
    rows = np.vstack([maximum.at, maximum.at + step, maximum.at - step])
    natural = likelihood.family.natural(rows, likelihood.frame)
    half = len(step)
    slopes = (natural[1 : 1 + half] - natural[1 + half :]) / 2e-4
    with np.errstate(invalid="ignore"):
        errors = np.sqrt(np.einsum("ij,ik,kj->j", slopes, covariance, slopes))
    errors[~np.isfinite(natural[0])] = np.nan
    if maximum.held.any():  # a parameter at its bound has no standard error
        tied = np.abs(slopes[maximum.held != 0]).max(axis=0) > 0
        errors[tied & (errors == 0)] = np.nan
    return natural[0], errors


def _notes(likelihood: Likelihood, maximum: Maximum, singular: bool) -> list[str]:
    notes = []
    family = likelihood.family
    if not maximum.converged:
        notes.append(
            f"The search for the {family.label} stopped after {maximum.steps} steps without "
            "reaching a maximum; do not use this fit."
        )
    for place, side in enumerate(maximum.held.tolist()):
        if side:
            sentence = family.at_bound.get((place, max(side, 0)))
            notes.append(
                sentence or f"A coordinate of the {family.label} was stopped by its bound."
            )
    if singular:
        notes.append(
            f"The likelihood of the {family.label} is flat in some direction: the readings do not "
            "determine every parameter, and standard errors are not given."
        )
    return notes


def _check_enough(readings: Readings, family: Family) -> None:
    if family.name == "normal-mixture" and readings.size < MIXTURE_FEWEST:
        raise Refusal(
            "too_few",
            f"Two populations cannot be told from {readings.size} readings: five parameters want "
            f"at least {MIXTURE_FEWEST}.",
        )
    if len(family.parameters) > 2 and readings.size < SHAPE_FEWEST:
        raise Refusal(
            "too_few",
            f"{readings.size} readings do not tell the shape of a {family.label}: at least "
            f"{SHAPE_FEWEST} are needed.",
        )
    known = len(np.unique(readings.middle[readings.known]))
    if known <= len(family.parameters) - 1:
        raise Refusal(
            "too_few_values",
            f"The {family.label} has {len(family.parameters)} parameters; at least "
            f"{len(family.parameters)} different values are needed, not {known}.",
        )
