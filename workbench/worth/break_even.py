"""At which price, and at which share of fit blocks, a family would cost as much as another.

The cost of a usable block is proportional to the price once the share is given, so the price that
makes it equal to a target has a closed form: for the expected costs, and draw by draw.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from workbench.errors import Refusal
from workbench.inference.decision.trial_costs import TrialCosts
from workbench.inference.decision.uncertain_share import UncertainShare
from workbench.inference.results import Interval, check_confidence
from workbench.inference.samples import Values
from workbench.worth.cost import Chance, ends, expected_cost
from workbench.worth.draws import Draws
from workbench.worth.family_prices import Amounts, FamilyPrices, likely_amounts

CENTS = 100
SCALE = 1000.0
ROUNDING = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BreakEvenPrice:
    """The price at which the premium block costs as much per usable block as the ordinary one.

    `price` is for the expected costs, None where one of them has no mean; `cheaper_up_to` is the
    greatest whole cent at which the premium block is not the dearer one. `draws` hold one such
    price for each draw of shares and amounts, rising; the premium block is the cheaper one below
    it. Either may be negative: then the block is dearer even as a gift.
    """

    price: float | None
    cheaper_up_to: float | None
    draws: Values = field(repr=False)

    @property
    def even_odds(self) -> float:
        """The price at which either is as likely to be the cheaper one."""
        return float(np.median(self.draws))

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give the interval of the break-even price."""
        check_confidence(confidence)
        low, high = ends(self.draws, (1 - confidence) / 2)
        return Interval(low=low, high=high, confidence=confidence)

    def chance_cheaper(self, price: float) -> Chance:
        """Give the chance that the premium block is the cheaper one at a price."""
        return Chance.of(self.draws > price)


def break_even_price(
    premium: FamilyPrices, draws: Draws, target: float | None, target_draws: Values
) -> BreakEvenPrice:
    """Answer at which price a block of `premium` would cost the target per usable block.

    Parameters
    ----------
    premium : FamilyPrices
        The family whose price is asked for; the price stated is not used.
    draws : Draws
        Draws that hold the family.
    target, target_draws
        The expected cost of the ordinary block, None where it has none, and its cost draw by draw.

    Raises
    ------
    Refusal
        `price_does_not_matter` where a higher price would make no usable block dearer, because
        rejects fetch more than they cost.
    """
    belief, share = draws.beliefs[premium.family], draws.shares[premium.family]
    by_draw = [_by_draw(premium, draws.amounts, way, share, target_draws) for way in premium.ways]
    exact = last = None
    if target is not None:
        exact = _exact(premium, belief, target)
        last = None if exact is None else _last_cent(premium, belief, exact, target)
    return BreakEvenPrice(
        price=exact,
        cheaper_up_to=last,
        draws=np.sort(np.max(by_draw, axis=0)),
    )


def break_even_share(premium: FamilyPrices, target: float) -> float | None:
    """Answer which share of fit premium blocks would make them cost the target per usable block.

    At a higher share they are the cheaper ones. 0 where they are cheaper whatever the share, None
    where they are dearer even if every block were fit.
    """
    amounts = likely_amounts([premium])
    shares = []
    for way in premium.ways:
        costs = premium.costs(amounts, way)
        at_all, at_none = (float(costs.per_success(np.array([share]))[0]) for share in (1.0, 0.0))
        if at_none <= target:
            return 0.0
        if at_all <= target:
            shares.append(_share_of(costs, target))
    return min(shares, default=None)


def break_even_prices(premium: FamilyPrices, target: float, shares: Values) -> Values:
    """Give the break-even price at each known share of fit premium blocks, for a map of both."""
    amounts = likely_amounts([premium])
    even = np.full_like(shares, target)
    by_way = [_by_draw(premium, amounts, way, shares, even) for way in premium.ways]
    return np.asarray(np.max(by_way, axis=0))


def _at(prices: FamilyPrices, amounts: Amounts, price: float, way: str) -> TrialCosts:
    return prices.costs({**amounts, prices.price.key: price}, way)


def _by_draw(
    premium: FamilyPrices, amounts: Amounts, way: str, shares: Values, target: Values
) -> Values:
    """Give the price at which the cost meets the target, for each share and draw of amounts."""
    free, dear = (_at(premium, amounts, price, way).per_success(shares) for price in (0.0, SCALE))
    never = np.isinf(free)  # no block can be usable: dearer at any price
    price = _solve(np.where(never, 0.0, free), np.where(never, SCALE, dear), target)
    return np.where(never, -math.inf, price)


def _exact(premium: FamilyPrices, belief: UncertainShare, target: float) -> float | None:
    """Solve for the expected costs, in the way of buying that allows the higher price."""
    amounts, found = likely_amounts([premium]), []
    for way in premium.ways:
        free, dear = (
            expected_cost(_at(premium, amounts, price, way), belief) for price in (0.0, SCALE)
        )
        if free is not None and dear is not None:
            found.append(float(_solve(np.array(free), np.array(dear), np.array(target))))
    return max(found, default=None)


def _solve(free: Values, dear: Values, target: Values) -> Values:
    """Give the price of a cost that is `free` at none and `dear` at `SCALE`, straight between."""
    slope = (dear - free) / SCALE
    if bool(np.any(slope <= 0)):
        raise Refusal(
            "price_does_not_matter",
            "A higher price would not make a usable block dearer: rejects fetch more than they "
            "cost.",
        )
    return np.asarray((target - free) / slope)


def _last_cent(premium: FamilyPrices, belief: UncertainShare, price: float, target: float) -> float:
    """Give the greatest whole cent at which the premium block is not the dearer one."""
    amounts = likely_amounts([premium])

    def dearer(cents: int) -> bool:
        costs = (
            expected_cost(_at(premium, amounts, cents / CENTS, way), belief) for way in premium.ways
        )
        least = min(cost for cost in costs if cost is not None)
        return least > target + ROUNDING * abs(target)

    cents = math.floor(price * CENTS) + 1
    while dearer(cents):
        cents -= 1
    return cents / CENTS


def _share_of(costs: TrialCosts, target: float) -> float:
    """Solve (outlay + (1 - p) failure) = target (p + (1 - p) rescued) for the share p."""
    outlay, failure, rescued = float(costs.outlay), float(costs.failure), costs.rescued
    return (outlay + failure - target * rescued) / (target * (1 - rescued) + failure)
