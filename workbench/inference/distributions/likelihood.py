"""The likelihood of readings under a family, for many rows of coordinates at once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workbench.errors import Refusal
from workbench.inference.distributions.family import Family, Frame, difference_of_tails
from workbench.inference.distributions.readings import Readings

Values = NDArray[np.float64]

MOST_AT_ONCE = 400_000  # numbers in one evaluation


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Likelihood:
    """Readings brought to the scale a family is fitted on; ask it for log-likelihoods.

    Values are per reading, so that their size does not grow with the sample. `shift` is the
    logarithm of what the change of scale makes of the density of unrounded values. `windows` are
    the ranges readings were seen through, a row each, `seen_through` the row of each interval, and
    `window` spans them all.
    """

    family: Family
    frame: Frame
    counts: Values
    low: Values
    high: Values
    exact: NDArray[np.bool_]
    window: Values
    windows: Values
    seen_through: NDArray[np.int64]
    shift: float
    size: int

    def __call__(self, rows: Values) -> Values:
        """Give the mean log-likelihood of each row of coordinates; minus infinity where it is 0."""
        each = max(1, MOST_AT_ONCE // self.counts.size)
        parts = [self._some(rows[at : at + each]) for at in range(0, len(rows), each)]
        return np.concatenate(parts)

    def _some(self, rows: Values) -> Values:
        per_interval = self.per_interval(rows)
        with np.errstate(invalid="ignore"):
            total: Values = per_interval @ (self.counts / self.size) + self.shift / self.size
        return np.where(np.isfinite(total), total, -np.inf)

    def per_interval(self, rows: Values) -> Values:
        """Give the log-likelihood of one reading in each interval, one row a row of coordinates."""
        family, frame, exact = self.family, self.frame, self.exact
        if not exact.any():
            found = family.log_mass(self.low, self.high, rows, frame)
        elif exact.all():
            found = family.log_density(self.low, rows, frame)
        else:
            found = np.empty((len(rows), exact.size))
            found[:, exact] = family.log_density(self.low[exact], rows, frame)
            found[:, ~exact] = family.log_mass(self.low[~exact], self.high[~exact], rows, frame)
        if np.isfinite(self.windows).any():
            found = found - self.log_seen(self.windows, rows)[:, self.seen_through]
        return found

    def log_seen(self, windows: Values, rows: Values) -> Values:
        """Give the logarithm of the probability of windows (k, 2), a row a row of coordinates."""
        low, high = (self.family.tails(ends[None], rows, self.frame) for ends in windows.T)
        return difference_of_tails(low, high)


def likelihood_of(readings: Readings, family: Family, frame: Frame) -> Likelihood:
    """Bring readings to the scale of the family, each as far as it lies in the window."""
    windows, seen_through = np.array([readings.window]), np.zeros(len(readings.low), dtype=np.int64)
    if readings.windows is not None:
        windows, which = np.unique(readings.windows, axis=0, return_inverse=True)
        seen_through = which.ravel().astype(np.int64)
    each = windows[seen_through].T
    low, high = (np.clip(ends, *each) for ends in (readings.low, readings.high))
    window = np.array(readings.window)
    shift = 0.0
    if family.logged:
        shift = -float(np.log(low[readings.exact]) @ readings.counts[readings.exact])
        low, high, window, windows = (_logarithm(ends) for ends in (low, high, window, windows))
    return Likelihood(
        family=family,
        frame=frame,
        counts=readings.counts,
        low=low,
        high=high,
        exact=readings.exact,
        window=window,
        windows=windows,
        seen_through=seen_through,
        shift=shift,
        size=readings.size,
    )


def check_positive(readings: Readings, family: Family) -> None:
    """Refuse readings at or below 0 where the family knows none."""
    if family.logged and (readings.high <= 0).any():
        raise Refusal(
            "not_positive",
            f"The {family.label} needs values above 0; the least interval ends at "
            f"{readings.high.min():g}.",
        )


def _logarithm(ends: Values) -> Values:
    with np.errstate(divide="ignore"):
        found: Values = np.log(np.maximum(ends, 0.0))
    return found
