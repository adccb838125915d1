"""What a usable block of a family costs: on average, this once, and how sure that is.

Two things are uncertain and are kept apart. The long-run cost, the average over many purchases,
is unsure because few blocks were inspected and prices are ranges. What one purchase takes is
unsure besides because of luck: how many blocks it needs until one is usable.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from itertools import combinations

import numpy as np

from workbench.errors import Refusal
from workbench.inference.decision.trial_costs import Spending, TrialCosts, mean_that_holds
from workbench.inference.decision.trials import TrialsNeeded
from workbench.inference.decision.uncertain_share import UncertainShare, WeightedShare
from workbench.inference.results import Interval, check_confidence
from workbench.inference.samples import Values
from workbench.worth.draws import Codes, Draws, simulated_error
from workbench.worth.family_prices import FamilyPrices, likely_amounts


@dataclass(frozen=True, slots=True, kw_only=True)
class Chance:
    """A probability and the standard error the simulation leaves it; 0 where it is exact."""

    value: float
    error: float = 0.0

    @classmethod
    def of(cls, happened: np.ndarray, places: Codes | None = None) -> Chance:
        """Give the share of trials in which it happened; `places` as in `Draws`."""
        share = happened.astype(float)
        return cls(value=float(share.mean()), error=simulated_error(share, places))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class UsableCost:
    """The cost of a usable block of one family, bought in one way, by one basis.

    `mean` is the expectation of the long-run cost, None where there is none or it cannot be told;
    `mean_error` the standard error of a simulated one, 0 where it is exact. `blocks` answers how
    many blocks are looked at until enough are usable, without a limit. `chance_of_none` and
    `mean_outlay` are for giving up after `limit` blocks. `without_remedies` is the mean if no
    failing block were machined or sleeved. `hours` are the buyer's own for one usable block, on
    average. `by_way` has the mean for each way the family can be bought, with the remedies that pay
    in it, `not_paying` those left out as dearer than they save. `long_run` (a draw each) and
    `spending` (a purchase each, of all blocks wanted, within the limit) are kept for figures and
    further questions, `places` as in `Draws`.
    """

    family: str
    label: str
    way: str
    basis: str
    mean: float | None
    mean_error: float
    blocks: TrialsNeeded
    limit: int | None
    chance_of_none: float | None
    mean_outlay: float | None
    without_remedies: float | None
    hours: float | None
    by_way: tuple[tuple[str, float | None], ...]
    not_paying: tuple[str, ...]
    long_run: Values = field(repr=False)
    spending: Spending = field(repr=False)
    places: Codes | None = field(default=None, repr=False)

    @property
    def median(self) -> float:
        """The long-run cost with as much chance above as below."""
        return float(np.median(self.long_run))

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give the interval of the long-run cost with equal chance left out on either side."""
        check_confidence(confidence)
        tail = (1 - confidence) / 2
        low, high = ends(self.long_run, tail)
        return Interval(low=low, high=high, confidence=confidence)

    def spent(self, share: float) -> float:
        """Give the money that is enough in `share` of purchases."""
        if not 0 < share < 1:
            raise Refusal("bad_share", f"A share of cases lies between 0 and 1, not at {share}.")
        return float(np.quantile(self.spending.spent, share, method="inverted_cdf"))

    def over(self, budget: float) -> Chance:
        """Give the chance that one purchase takes more than `budget`."""
        return Chance.of(self.spending.spent > budget, self.places)


def usable_cost(
    prices: FamilyPrices,
    draws: Draws,
    *,
    way: str | None = None,
    limit: int | None = None,
    wanted: int = 1,
) -> UsableCost:
    """Answer what a usable block of a family costs.

    Parameters
    ----------
    prices : FamilyPrices
        The money of the family.
    draws : Draws
        Draws that hold the family; they say by what basis its share is known.
    way : str, optional
        How blocks are bought; the cheaper way where it is left out.
    limit : int, optional
        Give up after so many blocks that are not usable.
    wanted : int
        Usable blocks wanted; `limit` is for each of them.

    Raises
    ------
    Refusal
        `bad_count` for `limit` or `wanted`, `unknown_way`.
    """
    belief, share = draws.beliefs[prices.family], draws.shares[prices.family]
    way = cheaper_way(prices, belief) if way is None else way
    if way not in prices.ways:
        raise Refusal("unknown_way", f"{prices.label} blocks are bought by {prices.ways}.")
    costs = prices.costs(draws.amounts, way)
    fixed = prices.costs(likely_amounts([prices]), way)
    blocks = TrialsNeeded(share=belief, wanted=wanted, rescued=costs.rescued)
    long_run = costs.per_success(share)
    mean, error = _mean(fixed, belief, long_run, draws.places)
    runs = [
        costs.spend(share, draws.stream("run", prices.family, str(number)), limit)
        for number in range(wanted)
    ]
    return UsableCost(
        family=prices.family,
        label=prices.label,
        way=way,
        basis=draws.basis,
        mean=mean,
        mean_error=error,
        blocks=blocks,
        limit=limit,
        chance_of_none=None if limit is None else fixed.chance_of_none(belief, limit),
        mean_outlay=None if limit is None else fixed.expected_outlay(belief, limit),
        without_remedies=expected_cost(
            replace(prices, remedies=()).costs(likely_amounts([prices]), way), belief
        ),
        hours=_expected_hours(prices, belief, way),
        by_way=tuple(
            (one, expected_cost(prices.costs(likely_amounts([prices]), one), belief))
            for one in prices.ways
        ),
        not_paying=prices.not_paying(way),
        long_run=long_run,
        spending=Spending(
            spent=np.sum([run.spent for run in runs], axis=0),
            trials=np.sum([run.trials for run in runs], axis=0),
            succeeded=np.all([run.succeeded for run in runs], axis=0),
        ),
        places=draws.places,
    )


def cheaper_way(prices: FamilyPrices, belief: UncertainShare) -> str:
    """Give the way of the lower expected cost; by the median share where neither is finite."""
    amounts = likely_amounts([prices])
    means = {way: prices.costs(amounts, way).expected(belief) for way in prices.ways}
    if not any(math.isfinite(mean) for mean in means.values()):
        middle = belief.quantile([0.5])
        means = {
            way: float(prices.costs(amounts, way).per_success(middle)[0]) for way in prices.ways
        }
    return min(means, key=lambda way: means[way])


def paying_remedies(prices: FamilyPrices, belief: UncertainShare) -> FamilyPrices:
    """Leave out the remedies that make a usable block dearer: a builder would not take them.

    For each way of buying the choice of remedies of the lowest expected cost, by the median share
    where none has one; what is left out is named in `left_out`.
    """
    amounts = likely_amounts([prices])
    names = [remedy.name for remedy in prices.remedies]

    def cost(way: str, without: frozenset[str]) -> tuple[float, float]:
        costs = replace(prices, left_out={way: without}).costs(amounts, way)
        mean = expected_cost(costs, belief)
        middle = float(costs.per_success(belief.quantile([0.5]))[0])
        return math.inf if mean is None else mean, middle

    every = [
        frozenset(some) for size in range(len(names) + 1) for some in combinations(names, size)
    ]
    return replace(
        prices,
        left_out={way: min(every, key=lambda some: cost(way, some)) for way in prices.ways},
    )


def expected_cost(costs: TrialCosts, belief: UncertainShare) -> float | None:
    """Give the expected long-run cost of single amounts; None where there is none to print."""
    if isinstance(belief, WeightedShare):
        try:
            mean_that_holds(costs.per_success(belief.values))
        except Refusal:
            return None
    mean = costs.expected(belief)
    return mean if math.isfinite(mean) else None


def ends(draws: Values, tail: float) -> tuple[float, float]:
    """Give the values with `tail` of the draws below and above; draws may be infinite."""
    low, high = np.quantile(draws, [tail, 1 - tail], method="inverted_cdf")
    return float(low), float(high)


def _mean(
    costs: TrialCosts, belief: UncertainShare, long_run: Values, places: Codes | None
) -> tuple[float | None, float]:
    """Give the mean by closed form for a count; for a model, that of the draws if it holds."""
    if not isinstance(belief, WeightedShare):
        return expected_cost(costs, belief), 0.0
    try:
        return mean_that_holds(long_run)[0], simulated_error(long_run, places)
    except Refusal:
        return None, 0.0


def _expected_hours(prices: FamilyPrices, belief: UncertainShare, way: str) -> float | None:
    """Give the hours as if each were money: one trial costs them, a reject brings none back."""
    hours = TrialCosts(outlay=prices.hours, rescued=prices.rescued(way))
    return expected_cost(hours, belief) if prices.hours else 0.0
