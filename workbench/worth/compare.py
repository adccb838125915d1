"""The premium block against the ordinary one: which is cheaper per usable block, and how surely."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from workbench.errors import Refusal
from workbench.inference.decision.trial_costs import mean_that_holds
from workbench.inference.results import Interval, check_confidence
from workbench.inference.samples import Values
from workbench.worth.break_even import BreakEvenPrice, break_even_price, break_even_share
from workbench.worth.cost import Chance, UsableCost, ends, usable_cost
from workbench.worth.draws import Codes, Draws, simulated_error
from workbench.worth.family_prices import Extra, FamilyPrices


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CostComparison:
    """Premium less ordinary, in cost per usable block: negative where the premium is cheaper.

    `mean` is the difference of the expected costs, None where one of them has none. `cheaper` is
    the chance that the premium block is cheaper on average, `cheaper_this_once` that it is in one
    purchase each, luck included. `share_needed` is the share of fit premium blocks above which
    they are the cheaper ones, None where none is, `chance_of_share` the chance that it is reached.
    `extras` are bought beyond the duty with every premium block, `extras_worth` the sum of those
    the user has priced, less that of the ordinary block.
    """

    premium: UsableCost
    ordinary: UsableCost
    mean: float | None
    mean_error: float
    cheaper: Chance
    cheaper_this_once: Chance
    break_even: BreakEvenPrice | Refusal
    share_needed: float | None
    chance_of_share: float | None
    extras: tuple[Extra, ...]
    extras_worth: float
    differences: Values = field(repr=False)

    @property
    def median(self) -> float:
        """The difference with as much chance above as below."""
        return float(np.median(self.differences))

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give the interval of the long-run difference."""
        check_confidence(confidence)
        low, high = ends(self.differences, (1 - confidence) / 2)
        return Interval(low=low, high=high, confidence=confidence)

    @property
    def mean_beyond(self) -> float | None:
        """The difference once the extras the user priced are taken off."""
        return None if self.mean is None else self.mean - self.extras_worth


def compare(
    premium: FamilyPrices,
    ordinary: FamilyPrices,
    draws: Draws,
    *,
    known: UsableCost | None = None,
) -> CostComparison:
    """Answer whether the premium block is the cheaper one per usable block.

    Each family is bought in its cheaper way, without a limit. What is uncertain of both alike, as
    a price that holds for both, cancels: the difference is taken draw by draw.

    Parameters
    ----------
    premium, ordinary : FamilyPrices
        The money of the two families.
    draws : Draws
        Draws that hold both.
    known : UsableCost, optional
        The cost of the ordinary block by these draws, where it is worked out already.

    Raises
    ------
    Refusal
        As `usable_cost`. A break-even price that cannot be given is kept as its refusal.
    """
    ours = usable_cost(premium, draws)
    other = usable_cost(ordinary, draws) if known is None else known
    never = np.isinf(ours.long_run) & np.isinf(other.long_run)
    with np.errstate(invalid="ignore"):
        differences = np.where(never, 0.0, ours.long_run - other.long_run)
    mean, error = _mean(ours, other, differences, draws.places)
    needed = None if other.mean is None else break_even_share(premium, other.mean)
    belief = draws.beliefs[premium.family]
    return CostComparison(
        premium=ours,
        ordinary=other,
        mean=mean,
        mean_error=error,
        cheaper=Chance.of(differences < 0, draws.places),
        cheaper_this_once=Chance.of(ours.spending.spent < other.spending.spent, draws.places),
        break_even=_break_even(premium, other, draws),
        share_needed=needed,
        chance_of_share=None if needed is None else 1 - float(belief.below(needed)),
        extras=premium.beyond,
        extras_worth=_worth(premium.beyond) - _worth(ordinary.beyond),
        differences=differences,
    )


def _mean(
    ours: UsableCost, other: UsableCost, differences: Values, places: Codes | None
) -> tuple[float | None, float]:
    if ours.mean is None or other.mean is None:
        return None, 0.0
    if ours.mean_error == other.mean_error == 0:
        return ours.mean - other.mean, 0.0
    try:
        return mean_that_holds(differences)[0], simulated_error(differences, places)
    except Refusal:
        return None, 0.0


def _break_even(
    premium: FamilyPrices, ordinary: UsableCost, draws: Draws
) -> BreakEvenPrice | Refusal:
    try:
        return break_even_price(premium, draws, ordinary.mean, ordinary.long_run)
    except Refusal as refusal:
        return refusal


def _worth(extras: tuple[Extra, ...]) -> float:
    return sum(extra.worth.range.mean for extra in extras if extra.worth is not None)
