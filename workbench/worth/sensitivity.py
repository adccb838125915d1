"""Which input moves the choice between premium and ordinary most, one by one and jointly."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from workbench.errors import Refusal
from workbench.inference.decision.sensitivity import SobolIndex, Swing, sobol, swings
from workbench.inference.decision.trial_costs import mean_that_holds
from workbench.inference.samples import Values
from workbench.worth.compare import CostComparison
from workbench.worth.draws import Draws
from workbench.worth.family_prices import FamilyPrices

DIFFERENCE, DECISION = "difference", "decision"
LEAST_TURNING = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class CostSensitivity:
    """What moves the difference in cost per usable block.

    `swings` hold the difference with one input at the ends of its 90 % interval and the others at
    their medians; `indices` the Sobol indices of `outcome`: the `difference` itself, or where its
    tail is too heavy for a variance the `decision`, 1 where the premium block is cheaper and else
    0. A refusal stands where there are none, None where they
    were not asked for. Inputs go by the key of an amount, or by
    `share.FAMILY` for the share of fit blocks; `names` has them in words. `turning` is in which
    share of cases the choice is the less likely one.
    """

    outcome: str
    swings: tuple[Swing, ...]
    indices: tuple[SobolIndex, ...] | Refusal | None
    turning: float
    names: Mapping[str, str]

    @property
    def balanced(self) -> bool:
        """Tell whether the choice turns in enough cases for indices of it to mean something."""
        return self.turning >= LEAST_TURNING


def cost_sensitivity(
    premium: FamilyPrices,
    ordinary: FamilyPrices,
    draws: Draws,
    comparison: CostComparison,
    *,
    jointly: bool = True,
) -> CostSensitivity:
    """Answer which input moves the decision most.

    Parameters
    ----------
    premium, ordinary : FamilyPrices
        The money of the two families.
    draws : Draws
        The draws the comparison rests on; here the shares of the two families are taken as
        independent, also where a model ties them.
    comparison : CostComparison
        The comparison of the two.
    jointly : bool
        Whether to work out the Sobol indices too.
    """
    both = ((premium, comparison.premium.way, 1.0), (ordinary, comparison.ordinary.way, -1.0))
    known = {m.key: m.range.likely for prices, _, _ in both for m in prices.amounts}
    inputs = {
        m.key: m.range.quantile
        for prices, way, _ in both
        for m in prices.amounts_in(way)
        if not m.range.known
    }
    inputs |= {
        f"share.{prices.family}": draws.beliefs[prices.family].quantile for prices, _, _ in both
    }

    def difference(at: Mapping[str, Values]) -> Values:
        costs = [
            sign * prices.costs({**known, **at}, way).per_success(at[f"share.{prices.family}"])
            for prices, way, sign in both
        ]
        with np.errstate(invalid="ignore"):
            return np.nan_to_num(costs[0] + costs[1], nan=0.0, posinf=np.inf, neginf=-np.inf)

    def decision(at: Mapping[str, Values]) -> Values:
        return (difference(at) < 0).astype(float)

    outcome = DIFFERENCE if _has_variance(comparison.differences) else DECISION
    function = difference if outcome == DIFFERENCE else decision
    indices: tuple[SobolIndex, ...] | Refusal | None = None
    try:
        if jointly:
            indices = sobol(function, inputs, generator=draws.stream("sensitivity"))
    except Refusal as refusal:
        indices = refusal
    return CostSensitivity(
        outcome=outcome,
        swings=swings(difference, inputs),
        indices=indices,
        turning=min(comparison.cheaper.value, 1 - comparison.cheaper.value),
        names={name: words for money in (premium, ordinary) for name, words in _names(money)},
    )


def _names(prices: FamilyPrices) -> Iterator[tuple[str, str]]:
    """Give the inputs of a family in words; an amount stated for all families is named so."""
    yield f"share.{prices.family}", f"the share of {prices.label} blocks that are fit"
    for what, money in prices.named_amounts:
        general = money.key.startswith("worth.")
        yield money.key, what if general else f"{what} of {prices.label} blocks"


def _has_variance(differences: Values) -> bool:
    """Tell whether squares of the difference have a mean that does not hang on a few draws."""
    try:
        middle, _ = mean_that_holds(differences)
        mean_that_holds((differences - middle) ** 2)
    except Refusal:
        return False
    return True
