"""Which plans can reach a power at all, told quickly by the largest error that will do."""

from __future__ import annotations

import math

import numpy as np

from workbench.claims.planning import chance_decided
from workbench.inference.samples import Values
from workbench.worth.claim_study import ClaimStudy
from workbench.worth.measuring_plan import Plans, enlarged, power, shared_after

SMALL, GROWTH, LARGE = 30, 1.1, 5_000  # degrees of freedom tabled one by one, then by growth
ENDLESS = 1e12
HALVINGS = 20  # of a range of 24 in the logarithm: what is told errs wide by 0.002%

Flags = np.ndarray


class ErrorBound:
    """The largest standard error that reaches a power, for the degrees of freedom there are."""

    def __init__(self, study: ClaimStudy, target: float) -> None:
        self.study, self.target = study, target
        steps = [float(df) for df in range(1, SMALL)]
        while steps[-1] < LARGE:
            steps.append(steps[-1] * GROWTH)
        self.freedom = np.array([*steps, math.inf])
        self.error = self._largest(np.array([*steps, ENDLESS]))

    @property
    def variance(self) -> float:
        """The largest variance that may do with any degrees of freedom."""
        return math.inf if self.study.ratio is not None else float(self.error.max()) ** 2

    def possible(self, plans: Plans) -> Flags:
        """Tell which plans may reach the power: those whose error is not too large."""
        if self.study.ratio is not None:
            return np.ones(plans.size, dtype=bool)
        return self.nearness(plans) >= 1

    def nearness(self, plans: Plans) -> Values:
        """Give the largest error that would do over the error there is; for a ratio the power."""
        if self.study.ratio is not None:
            return power(self.study, plans)
        found, shared = enlarged(self.study, plans), shared_after(self.study, plans) ** 2
        total = found.variance + shared
        freedom = np.maximum(found.degrees, found.own_degrees)
        spread = found.variance**2 / freedom + shared**2 / self.study.shared_degrees
        tabled = np.searchsorted(self.freedom, total**2 / spread)
        return np.asarray(self.error[np.minimum(tabled, self.error.size - 1)] / np.sqrt(total))

    def _largest(self, degrees: Values) -> Values:
        """Halve the logarithm of the error until the power is met; 0 where none meets it."""
        scale = max(abs(self.study.estimate), abs(self.study.margin), self.study.standard_error)
        low = np.full(degrees.shape, math.log(scale) - 18.0)
        high = np.full(degrees.shape, math.log(scale) + 6.0)
        reached = self._chance(np.exp(low), degrees) >= self.target
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            enough = self._chance(np.exp(middle), degrees) >= self.target
            low, high = np.where(enough, middle, low), np.where(enough, high, middle)
        return np.where(reached, np.exp(high), 0.0)

    def _chance(self, error: Values, degrees: Values) -> Values:
        study = self.study
        return chance_decided(
            study.estimate,
            error,
            degrees,
            direction=study.direction,
            margin=study.margin,
            confidence=study.confidence,
        )
