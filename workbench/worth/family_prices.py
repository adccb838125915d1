"""What a block of one family costs and brings, in one currency, and how it enters a purchase."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date

from workbench.inference.decision.three_point import ThreePoint
from workbench.inference.decision.trial_costs import TrialCosts
from workbench.inference.samples import Values
from workbench.worth.money_tables import ANY_DUTY

BUY_THEN_INSPECT = "buy, then inspect"
INSPECT_THEN_BUY = "inspect, then buy"

Amounts = Mapping[str, float | Values]


@dataclass(frozen=True, slots=True, kw_only=True)
class Money:
    """An amount in the currency of the answer; `key` is where the study states it.

    Amounts of the same key are one amount: what is uncertain of it is uncertain for all families
    alike, and cancels in their difference.
    """

    key: str
    range: ThreePoint
    quoted_on: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Remedy:
    """A way to put a block right that fails as it is.

    It saves `saves` of those tried, by duty; the share under “” holds for every duty. A duty not
    named is not helped: sleeving puts no deck right.
    """

    name: str
    cost: Money
    by_duty: Mapping[str, float]
    duty: str = ANY_DUTY

    @property
    def saves(self) -> float:
        """The share of failing blocks it saves for the duty in question."""
        return self.by_duty.get(self.duty, self.by_duty.get(ANY_DUTY, 0.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Extra:
    """What is bought beyond the duty; `worth` only where the user prices it."""

    what: str
    worth: Money | None


@dataclass(frozen=True, slots=True, kw_only=True)
class FamilyPrices:
    """The money of one family, each amount per block; None where the study states none.

    `resale_share` is the share of the price a rejected block fetches, used where `resale` is None.
    `remedies` are tried in order on a block that fails, but for those that cost more than they
    save: which these are, `left_out` names by the way blocks are bought, as a block not yet paid
    for is cheaply left. `hours` are the buyer's own for each block looked at, and cost `hour_costs`
    each where that is stated.
    """

    family: str
    label: str
    price: Money
    shipping: Money | None = None
    inspection: Money | None = None
    inspection_before_buying: Money | None = None
    resale: Money | None = None
    resale_share: float = 0.0
    remedies: tuple[Remedy, ...] = ()
    left_out: Mapping[str, frozenset[str]] = field(default_factory=dict)
    hours: float = 0.0
    hour_costs: Money | None = None
    beyond: tuple[Extra, ...] = ()

    def for_duty(self, duty: str) -> FamilyPrices:
        """Give the money for a duty: with the remedies that help there."""
        known = (replace(remedy, duty=duty) for remedy in self.remedies)
        return replace(self, remedies=tuple(remedy for remedy in known if remedy.saves))

    @property
    def named_amounts(self) -> tuple[tuple[str, Money], ...]:
        """All amounts that enter a purchase, each with what it is in words."""
        stated = (
            ("the price", self.price),
            ("the shipping", self.shipping),
            ("the inspection fee", self.inspection),
            ("the fee for inspecting before buying", self.inspection_before_buying),
            ("what a reject fetches", self.resale),
            ("the price of an hour", self.hour_costs),
            *(
                (f"the cost of {remedy.name}", remedy.cost)
                for remedy in self.remedies
                if any(remedy in self.taken(way) for way in self.ways)
            ),
        )
        return tuple((what, amount) for what, amount in stated if amount is not None)

    @property
    def amounts(self) -> tuple[Money, ...]:
        """All amounts that enter a purchase."""
        return tuple(amount for _, amount in self.named_amounts)

    def amounts_in(self, way: str) -> tuple[Money, ...]:
        """Give the amounts that enter a purchase made this way."""
        if way == INSPECT_THEN_BUY:
            idle = {self.inspection, self.resale}
        else:
            idle = {self.inspection_before_buying}
        untried = {remedy.cost for remedy in self.remedies if remedy not in self.taken(way)}
        return tuple(amount for amount in self.amounts if amount not in idle | untried)

    @property
    def ways(self) -> tuple[str, ...]:
        """The ways a block can be bought; inspecting first only where the seller allows it."""
        if self.inspection_before_buying is None:
            return (BUY_THEN_INSPECT,)
        return (BUY_THEN_INSPECT, INSPECT_THEN_BUY)

    def taken(self, way: str = BUY_THEN_INSPECT) -> tuple[Remedy, ...]:
        """Give the remedies that are tried on a block bought this way."""
        without = self.left_out.get(way, frozenset())
        return tuple(remedy for remedy in self.remedies if remedy.name not in without)

    def not_paying(self, way: str = BUY_THEN_INSPECT) -> tuple[str, ...]:
        """Name the remedies left out for a block bought this way."""
        without = self.left_out.get(way, frozenset())
        return tuple(remedy.name for remedy in self.remedies if remedy.name in without)

    def rescued(self, way: str = BUY_THEN_INSPECT) -> float:
        """Give the share of failing blocks that one remedy or the next puts right."""
        left = 1.0
        for remedy in self.taken(way):
            left *= 1 - remedy.saves
        return 1 - left

    def costs(self, amounts: Amounts, way: str = BUY_THEN_INSPECT) -> TrialCosts:
        """Give the money of looking at one block after another until one is usable.

        Inspected before it is bought, a block that fails is never paid for: it is as if its whole
        price came back.
        """
        bought = amounts[self.price.key] + _of(self.shipping, amounts)
        time = self.hours * _of(self.hour_costs, amounts)
        if way == INSPECT_THEN_BUY:
            fee, salvage = _of(self.inspection_before_buying, amounts) + time, bought
        else:
            fee, salvage = _of(self.inspection, amounts) + time, self._resale(amounts)
        return TrialCosts(
            outlay=bought + fee,
            salvage=salvage,
            rework=self._rework(amounts, way),
            rescued=self.rescued(way),
            reworks=tuple(self._reworks(amounts, way)),
        )

    def look(self, amounts: Amounts) -> float | Values | None:
        """Give what it costs to inspect one block more without buying it; None if not stated."""
        fee = self.inspection or self.inspection_before_buying
        if fee is None:
            return None
        return amounts[fee.key] + self.hours * _of(self.hour_costs, amounts)

    def _resale(self, amounts: Amounts) -> float | Values:
        if self.resale is not None:
            return amounts[self.resale.key]
        return self.resale_share * amounts[self.price.key]

    def _rework(self, amounts: Amounts, way: str) -> float | Values:
        """Give the mean cost of putting right a block that can be."""
        spent: float | Values = 0.0
        for share, cost in self._reworks(amounts, way):
            spent = spent + share * cost
        return spent

    def _reworks(self, amounts: Amounts, way: str) -> Iterator[tuple[float, float | Values]]:
        """Give for each remedy its share of the blocks put right, and its cost."""
        left = 1.0
        for remedy in self.taken(way):
            if remedy.saves:
                yield left * remedy.saves / self.rescued(way), amounts[remedy.cost.key]
            left *= 1 - remedy.saves


def likely_amounts(families: Iterable[FamilyPrices]) -> dict[str, float]:
    """Give every amount at its expectation, by key."""
    return {money.key: money.range.mean for family in families for money in family.amounts}


def _of(money: Money | None, amounts: Amounts) -> float | Values:
    return 0.0 if money is None else amounts[money.key]
