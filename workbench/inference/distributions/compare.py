"""Every family on the same readings, side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from workbench.errors import Refusal
from workbench.inference.distributions.catalogue import FAMILIES
from workbench.inference.distributions.fit import Fit, fit_distribution
from workbench.inference.distributions.readings import Readings

DECIMALS = 6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Comparison:
    """Fits in rising order of AICc, with their Akaike weights.

    `refused` says why families are missing. Fits that did not converge, or stopped at a bound, are
    listed but weigh nothing: a bound means that a simpler family says the same, or that the
    likelihood has no maximum.
    """

    fits: tuple[Fit, ...]
    weights: dict[str, float]
    refused: dict[str, str]

    @property
    def best(self) -> Fit:
        """The fit of greatest weight."""
        name = max(self.weights, key=lambda family: self.weights[family])
        return next(fit for fit in self.fits if fit.family == name)


def compare_families(readings: Readings, families: Sequence[str] = tuple(FAMILIES)) -> Comparison:
    """Answer which families describe the readings best, and how clearly.

    Parameters
    ----------
    readings : Readings
    families : sequence of str
        Names of `catalogue.FAMILIES`; all of them when left out.

    Returns
    -------
    Comparison
        A weight is the share of support a family has among those compared. The best of them may
        still fit badly: `goodness.goodness_of_fit` tells.

    Raises
    ------
    Refusal
        `no_fit` when no family can be fitted, with the reason of each; `unknown_family`.

    References
    ----------
    Burnham, K. P., Anderson, D. R. (2002). Model Selection and Multimodel Inference, 2nd ed.,
    sections 2.4 and 2.9 (from memory).
    """
    fits, refused = [], {}
    for family in families:
        try:
            fits.append(fit_distribution(readings, family))
        except Refusal as refusal:
            if refusal.code == "unknown_family":
                raise
            refused[family] = str(refusal)
    sound = [fit for fit in fits if fit.converged and not fit.at_boundary]
    if not sound:
        reasons = " ".join([*refused.values(), *(note for fit in fits for note in fit.notes)])
        raise Refusal("no_fit", f"No family could be fitted. {reasons}")
    criteria = np.array([_criterion(fit) for fit in sound])
    support = np.exp(-0.5 * (criteria - criteria.min()))
    shares = support / support.sum()
    weights = {fit.family: 0.0 for fit in fits}
    weights |= {fit.family: share for fit, share in zip(sound, shares.tolist(), strict=True)}
    return Comparison(fits=tuple(sorted(fits, key=_criterion)), weights=weights, refused=refused)


def _criterion(fit: Fit) -> float:
    """Give AICc without the digits of the search: families that say the same stand as listed."""
    return round(fit.aicc, DECIMALS)
