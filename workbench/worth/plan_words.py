"""What to measure next, in words."""

from __future__ import annotations

from workbench.claims.sentences import alike_text
from workbench.records.rounding import digits_for, number_text
from workbench.worth.cheapest_plan import TARGETS, PricedPlan
from workbench.worth.measuring_plan import MeasuringPlan
from workbench.worth.plan_claims import BLOCKS, GAUGE, ClaimPlan
from workbench.worth.prices import Prices
from workbench.worth.ways_of_reading import MOST_BLOCKS
from workbench.worth.wording import blocks_text, money_text, odds_text


def plan_text(plan: MeasuringPlan, candidate: str, reference: str) -> str:
    """Say what a plan has done.

    >>> plan_text(MeasuringPlan(candidate=2, reference=1, bores=4, places=3), "Trophy", "Works")
    'measure 2 more Trophy blocks and 1 more Works block, each in 4 bores at 3 places'
    """
    done = []
    new = [
        f"{number} more {label} block{'' if number == 1 else 's'}"
        for number, label in ((plan.candidate, candidate), (plan.reference, reference))
        if number
    ]
    if new:
        each = f"each in {_some(plan.bores, 'bore')} at {_some(plan.places, 'place')}"
        often = f", {plan.repeats} times a place" if plan.repeats > 1 else ""
        done.append(f"measure {' and '.join(new)}, {each}{often}")
    if plan.again:
        done.append(f"read the blocks at hand {_some(plan.again, 'more time')}")
    if plan.calibrated:
        done.append("calibrate on a piece of known thickness")
    return "; ".join(done) or "measure nothing more"


def plan_sentence(found: ClaimPlan, prices: Prices) -> str:
    """Say what would settle a claim, what it costs, and with which odds."""
    if found.refusal is not None:
        return f"It cannot be planned: {found.refusal}"
    said = [
        f"To settle it with odds of {odds_text(target)}: {_plan_text(found, plan)}; "
        f"{cost_text(plan, prices)}. Counting in that the difference and the spreads may not be "
        f"as estimated, and that what is measured stays, the odds are {odds_text(plan.assurance)}."
        for target, plan in zip(TARGETS, found.plans, strict=True)
        if plan is not None
    ]
    if found.held_by is not None:
        said.append(_held_text(found, prices))
    elif found.plans[-1] is None:
        said.append(f"Nothing within reach settles it with odds of {odds_text(TARGETS[-1])}.")
    if any((*found.plans, found.with_more_blocks)):
        said += _taken_alike(found)
    if said and found.costs is not None and found.costs.unstated:
        nothing = ", ".join(f"a {name.replace('_', ' ')}" for name in found.costs.unstated)
        said.append(f"No money is stated for: {nothing}. It counts as nothing.")
    return " ".join(said)


def _plan_text(found: ClaimPlan, plan: PricedPlan) -> str:
    return plan_text(plan.plan, found.candidate, found.reference)


def _held_text(found: ClaimPlan, prices: Prices) -> str:
    if found.held_by == BLOCKS and found.with_more_blocks is not None:
        more = found.with_more_blocks
        return (
            "It cannot be settled with the blocks that exist; it would take to "
            f"{_plan_text(found, more)} ({cost_text(more, prices)})."
        )
    if found.held_by == GAUGE:
        return (
            "More blocks do not settle it: the measuring error all readings share is too large, "
            "and only a better calibration makes it less."
        )
    return (
        f"Not even {blocks_text(MOST_BLOCKS)} more of each family would settle it if all is as it "
        "seems: the difference is too near the margin."
    )


def _taken_alike(found: ClaimPlan) -> list[str]:
    """Say that a plan takes one spread for both families where the verdict does not."""
    study = found.study
    if study is None or not study.own_now or study.reference_levels is not None:
        return []
    number, label = min(
        (study.candidate.blocks, found.candidate), (study.reference.blocks, found.reference)
    )
    return [alike_text(number, label)]


def cost_text(plan: PricedPlan, prices: Prices) -> str:
    """Give what a plan costs, in money and in hours."""
    hours = number_text(plan.hours, max(0, min(1, digits_for(plan.hours or 1.0))))
    money = money_text(plan.money, prices.currency or "of money")
    return f"{money} and {hours} hours"


def _some(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"
