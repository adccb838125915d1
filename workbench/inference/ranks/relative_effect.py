"""How often a random candidate exceeds a random reference, whatever the shapes: Brunner-Munzel."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import stdtr, stdtrit
from scipy.stats import rankdata

from workbench.errors import Refusal
from workbench.inference.results import Interval, check_confidence
from workbench.inference.samples import clean_values, settled


@dataclass(frozen=True, slots=True, kw_only=True)
class RelativeEffect:
    """P(candidate > reference) + P(equal) / 2: one half when neither tends to be larger."""

    estimate: float
    standard_error: float
    degrees_of_freedom: float

    def statistic(self, probability: float = 0.5) -> float:
        """Give t for the boundary `probability`."""
        return (self.estimate - probability) / self.standard_error

    def p_value(self, probability: float = 0.5) -> float:
        """Give the two-sided p of the boundary `probability`."""
        return float(2 * stdtr(self.degrees_of_freedom, -abs(self.statistic(probability))))

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give the interval by Student's t, kept within 0 and 1."""
        check_confidence(confidence)
        t = float(stdtrit(self.degrees_of_freedom, (1 + confidence) / 2))
        half = t * self.standard_error
        return Interval(
            low=max(0.0, self.estimate - half),
            high=min(1.0, self.estimate + half),
            confidence=confidence,
        )


def relative_effect(candidate: ArrayLike, reference: ArrayLike) -> RelativeEffect:
    """Answer how often a random candidate block exceeds a random reference block.

    Spreads and shapes may differ, and ties may be many; about ten blocks a family are needed for
    the t approximation to hold.

    Parameters
    ----------
    candidate, reference : array_like
        One number a block, two blocks or more each, blocks independent.

    Raises
    ------
    Refusal
        `fully_apart` when every candidate lies on one side of every reference: the standard error
        is then 0 and says nothing (`mann_whitney` still answers); `too_few`, `not_finite`.

    References
    ----------
    Brunner, E., Munzel, U. (2000). The nonparametric Behrens-Fisher problem: asymptotic theory and
    a small-sample approximation. Biometrical Journal 42, 17-25 (from memory).

    Examples
    --------
    >>> usual = [1, 2, 1, 1, 1, 1, 1, 1, 1, 1, 2, 4, 1, 1]
    >>> newer = [3, 3, 4, 3, 1, 2, 3, 1, 1, 5, 4]
    >>> found = relative_effect(newer, usual)
    >>> f"{found.estimate:.3f}, {found.degrees_of_freedom:.2f} df, p = {found.p_value():.6f}"
    '0.789, 17.68 df, p = 0.005786'
    """
    own = clean_values(candidate, least=2, name="the candidate")
    other = clean_values(reference, least=2, name="the reference")
    m, n = own.size, other.size
    together = settled(np.concatenate([own, other]))
    ranks = rankdata(together)
    # Placements: the share of the other family each block exceeds.
    own_places = (ranks[:m] - rankdata(together[:m])) / n
    other_places = (ranks[m:] - rankdata(together[m:])) / m
    own_part, other_part = own_places.var(ddof=1) / m, other_places.var(ddof=1) / n
    variance = float(own_part + other_part)
    if variance == 0:
        raise Refusal(
            "fully_apart",
            "The placements do not vary (every candidate stands alike to every reference), "
            "so the standard error is 0.",
        )
    return RelativeEffect(
        estimate=float(own_places.mean()),
        standard_error=math.sqrt(variance),
        degrees_of_freedom=float(variance**2 / (own_part**2 / (m - 1) + other_part**2 / (n - 1))),
    )
