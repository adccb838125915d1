"""Buy now, inspect some more blocks first, or walk away: the value of looking against its fee."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from workbench.errors import Refusal
from workbench.inference.decision.options import (
    InformationValue,
    Option,
    certain,
    expectations,
    trying,
)
from workbench.inference.decision.perfect_information import perfect_information
from workbench.inference.decision.sample_information import sample_information
from workbench.inference.decision.simulated_information import (
    JointPayoffs,
    simulated_perfect_information,
    simulated_sample_information,
)
from workbench.inference.decision.trial_costs import TrialCosts
from workbench.worth.draws import Draws
from workbench.worth.family_prices import FamilyPrices, likely_amounts
from workbench.worth.fit_share import COUNTED

BUY, INSPECT, WALK_AWAY = "buy now", "inspect more", "walk away"
MOST_BLOCKS = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """Inspecting `blocks` more blocks of one family before choosing.

    `value` is what that is worth on average, with the standard error of a simulation; `fee` what
    it costs in all; `net` the one less the other. `chance_of_change` is how likely the choice would
    become another.
    """

    family: str
    label: str
    blocks: int
    value: float
    error: float
    fee: float
    chance_of_change: float

    @property
    def net(self) -> float:
        """What is gained by looking, on average."""
        return self.value - self.fee


@dataclass(frozen=True, slots=True, kw_only=True)
class LookingValue:
    """What to do now, and what looking again is worth.

    `choices` are what can be chosen with what each pays on average, minus infinity where its cost
    has no mean; `best_now` the best of them. `perfect` is the value of knowing every share: no
    inspection is worth more. `looks` go by family and number of blocks, `best_look` is the one
    that gains most, None where none gains. `without_fee` names families no inspection fee is
    stated for.
    """

    basis: str
    choices: tuple[tuple[str, float], ...]
    best_now: str
    value_now: float
    perfect: InformationValue | Refusal
    looks: tuple[Look, ...]
    without_fee: tuple[str, ...]

    @property
    def best_look(self) -> Look | None:
        """The look of the greatest gain, if that is more than twice its error."""
        best = max(self.looks, key=lambda look: look.net, default=None)
        return best if best is not None and best.net > 2 * best.error else None

    @property
    def action(self) -> str:
        """What to do: buy now, inspect more, or walk away."""
        if self.best_look is not None:
            return INSPECT
        return WALK_AWAY if self.best_now == WALK_AWAY else BUY


def value_of_looking(
    families: Sequence[FamilyPrices],
    draws: Draws,
    *,
    usable_block: float | None = None,
    limit: int | None = None,
    wanted: int = 1,
    most: int = MOST_BLOCKS,
) -> LookingValue:
    """Answer whether to buy now, to inspect more blocks first, or to walk away.

    Amounts enter at their expectations: looking at blocks teaches nothing of prices.

    Parameters
    ----------
    families : sequence of FamilyPrices
        The families that can be bought.
    draws : Draws
        Draws that hold them. By count the answer is exact; by model it rests on its joint draws.
    usable_block : float, optional
        What a usable block is worth to the buyer. Without it he must have one: walking away is no
        choice, and he does not give up.
    limit : int, optional
        Blocks after which he gives up; only with `usable_block`.
    wanted : int
        Usable blocks wanted; what is learnt serves each of them.
    most : int
        The most further blocks weighed.

    Raises
    ------
    Refusal
        `no_finite_value` where every choice is expected to cost without bound.
    """
    amounts = likely_amounts(families)
    options = [
        trying(
            f"{prices.label}: {way}",
            prices.family,
            _times(wanted, prices.costs(amounts, way)),
            value=wanted * (usable_block or 0.0),
            limit=None if usable_block is None else limit,
        )
        for prices in families
        for way in prices.ways
    ]
    if usable_block is not None:
        options.append(certain(WALK_AWAY, 0.0))
    joint = None if draws.basis == COUNTED else JointPayoffs.of(options, draws.joint)

    def sampled(sample: dict[str, int]) -> InformationValue:
        if joint is None:
            return sample_information(options, draws.beliefs, sample)
        return simulated_sample_information(joint, sample)

    now = sampled({})
    looks = []
    for prices in families:
        fee = prices.look(amounts)
        if fee is None:
            continue
        for blocks in range(1, most + 1):
            found = sampled({prices.family: blocks})
            looks.append(
                Look(
                    family=prices.family,
                    label=prices.label,
                    blocks=blocks,
                    value=found.value,
                    error=found.error,
                    fee=blocks * float(fee),
                    chance_of_change=found.chance_of_change or 0.0,
                )
            )
    means = expectations(options, draws.beliefs) if joint is None else joint.means
    return LookingValue(
        basis=draws.basis,
        choices=tuple(zip((option.name for option in options), means, strict=True)),
        best_now=now.best_now,
        value_now=now.value_now,
        perfect=_perfect(options, draws, joint),
        looks=tuple(looks),
        without_fee=tuple(p.label for p in families if p.look(amounts) is None),
    )


def _times(wanted: int, costs: TrialCosts) -> TrialCosts:
    """Give the money of so many runs of trials."""
    return replace(
        costs,
        outlay=wanted * costs.outlay,
        salvage=wanted * costs.salvage,
        rework=wanted * costs.rework,
        reworks=tuple((share, wanted * cost) for share, cost in costs.reworks),
    )


def _perfect(
    options: Sequence[Option], draws: Draws, joint: JointPayoffs | None
) -> InformationValue | Refusal:
    """Give it exactly where every payoff rises, or falls, with its share; else from the draws."""
    try:
        if joint is None:
            return perfect_information(options, draws.beliefs)
    except Refusal as refusal:
        if refusal.code != "not_monotone":
            return refusal
    try:
        return simulated_perfect_information(joint or JointPayoffs.of(options, draws.shares))
    except Refusal as refusal:
        return refusal
