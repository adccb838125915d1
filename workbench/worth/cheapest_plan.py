"""The cheapest further measuring that would settle a claim, within the blocks that exist.

Every number of blocks of either family up to a hundred is tried with every way of reading them:
none is missed. Which can be enough shows by their standard error and a short table of the largest
error that will do; only those are worked out in full, the cheapest first.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from workbench.errors import Refusal
from workbench.inference.planning.width import half_widths
from workbench.inference.samples import Values
from workbench.worth.claim_study import ClaimStudy
from workbench.worth.error_bound import ErrorBound
from workbench.worth.measuring_costs import MeasuringCosts, plan_costs
from workbench.worth.measuring_plan import (
    MeasuringPlan,
    Plans,
    assurance,
    enlarged,
    power,
    shared_after,
)
from workbench.worth.ways_of_reading import Room, ways_of_reading

TARGETS = (0.8, 0.9)
AT_ONCE = 64  # plans worked out in full
DIGITS = 6  # to which powers are told apart
KEPT = 32  # plans of each way of reading that are near the best

Flags = np.ndarray


@dataclass(frozen=True, slots=True, kw_only=True)
class PricedPlan:
    """A plan with what it costs and the chances that it settles the claim."""

    plan: MeasuringPlan
    power: float
    assurance: float
    money: float
    hours: float


def cheapest_plan(
    study: ClaimStudy, costs: MeasuringCosts, room: Room, target: float
) -> PricedPlan | None:
    """Answer which plan settles a claim with the power `target` for the least money.

    Of plans that cost the same, the one of fewer hours, then fewer blocks, then fewer readings.

    Parameters
    ----------
    study : ClaimStudy
        What the claim rests on.
    costs, room
        What measuring costs, and how far it may go.
    target : float
        The power wanted, between 0 and 1.

    Returns
    -------
    PricedPlan or None
        None where no plan within the room reaches the target.

    Raises
    ------
    Refusal
        `bad_target`.
    """
    if not 0 < target < 1:
        raise Refusal("bad_target", f"A power wanted lies between 0 and 1, not at {target}.")
    bound = ErrorBound(study, target)
    return _cheapest(
        study,
        costs,
        room,
        bound.possible,
        lambda plans: power(study, plans) >= target,
        variance=bound.variance,
    )


def cheapest_for_width(
    study: ClaimStudy,
    costs: MeasuringCosts,
    room: Room,
    half_width: float,
    *,
    now: float = math.inf,
) -> PricedPlan | None:
    """Answer which plan makes the interval so narrow on average, for the least money.

    Parameters
    ----------
    study, costs, room
        As for `cheapest_plan`.
    half_width : float
        How far the ends of the interval may lie from its middle, in the unit of the claim.
    now : float
        How far they lie as measured: nothing more is needed where that is near enough.

    Raises
    ------
    Refusal
        `bad_half_width`.
    """
    check_half_width(half_width)
    if now <= half_width:
        return priced(study, costs, MeasuringPlan())

    def narrow(plans: Plans) -> Flags:
        more = plans.candidate + plans.reference + plans.again + plans.calibrated > 0
        return more & (expected_half_widths(study, plans) <= half_width)

    return _cheapest(study, costs, room, narrow, narrow)


def best_within(
    study: ClaimStudy, costs: MeasuringCosts, room: Room, budget: float
) -> PricedPlan | None:
    """Answer which plan settles a claim most likely for no more money than `budget`.

    Returns
    -------
    PricedPlan or None
        None where nothing can be had for it that makes the claim likelier to be settled.

    Raises
    ------
    Refusal
        `bad_budget`.
    """
    check_budget(budget)
    bound = ErrorBound(study, TARGETS[0])
    kept = []
    for way in ways_of_reading(study, costs, room):
        plans = way.plans(budget)
        money, _ = plan_costs(study, costs, plans)
        paid = plans.rows(np.flatnonzero(money <= budget))
        if paid.size:
            near = np.argsort(-bound.nearness(paid), kind="stable")[:KEPT]
            kept.append(paid.rows(near))
    if not kept:
        return None
    plans = Plans.together(kept)
    money, hours = plan_costs(study, costs, plans)
    chances = np.round(power(study, plans), DIGITS)
    best = int(np.lexsort((hours, money, -chances))[0])
    idle = float(power(study, Plans.of(MeasuringPlan()))[0])
    return priced(study, costs, plans.at(best)) if chances[best] > round(idle, DIGITS) else None


def check_budget(budget: float) -> None:
    """Refuse money there cannot be (`bad_budget`)."""
    if not (budget >= 0 and math.isfinite(budget)):
        raise Refusal("bad_budget", f"A budget is 0 or more and finite, not {budget}.")


def check_half_width(half_width: float) -> None:
    """Refuse a width no interval can have (`bad_half_width`)."""
    if not (half_width > 0 and math.isfinite(half_width)):
        raise Refusal("bad_half_width", f"A half-width is above 0 and finite, not {half_width}.")


def priced(study: ClaimStudy, costs: MeasuringCosts, plan: MeasuringPlan) -> PricedPlan:
    """Give what a plan costs and what it would do."""
    one = Plans.of(plan)
    money, hours = plan_costs(study, costs, one)
    return PricedPlan(
        plan=plan,
        power=float(power(study, one)[0]),
        assurance=float(assurance(study, one)[0]),
        money=float(money[0]),
        hours=float(hours[0]),
    )


def expected_half_widths(study: ClaimStudy, plans: Plans) -> Values:
    """Give how far the ends of the interval will lie from its middle on average, for each plan."""
    found, shared = enlarged(study, plans), shared_after(study, plans) ** 2
    total = found.variance + shared

    def wide(degrees: Values) -> Values:
        spread = found.variance**2 / degrees + shared**2 / study.shared_degrees
        return half_widths(np.sqrt(total), total**2 / spread, study.confidence)

    return found.mixed(wide)


def _cheapest(
    study: ClaimStudy,
    costs: MeasuringCosts,
    room: Room,
    possible: Callable[[Plans], Flags],
    enough: Callable[[Plans], Flags],
    *,
    variance: float = math.inf,
) -> PricedPlan | None:
    """Go through every plan; `possible` is quick and misses none that is `enough`.

    Nor is one missed by leaving out those of a larger variance than `variance`.
    """
    best: tuple[float, ...] = (math.inf,)
    chosen = None
    for way in ways_of_reading(study, costs, room, variance):
        plans = way.plans(best[0], variance)
        if not plans.size:
            continue
        rank = _ranks(study, costs, plans)
        rows = np.flatnonzero(rank[0] <= best[0])
        rows = rows[possible(plans.rows(rows))] if rows.size else rows
        rows = rows[np.lexsort(rank[::-1, rows])]
        for start in range(0, rows.size, AT_ONCE):
            tried = rows[start : start + AT_ONCE]
            if tuple(rank[:, tried[0]]) >= best:
                break
            reached = np.flatnonzero(enough(plans.rows(tried)))
            if reached.size:
                row = int(tried[reached[0]])
                if tuple(rank[:, row]) < best:
                    best, chosen = tuple(rank[:, row]), plans.at(row)
                break
    return None if chosen is None else priced(study, costs, chosen)


def _ranks(study: ClaimStudy, costs: MeasuringCosts, plans: Plans) -> Values:
    """Give what plans are compared by: money, hours, new blocks, readings of each."""
    money, hours = plan_costs(study, costs, plans)
    blocks = plans.candidate + plans.reference
    readings = plans.bores * plans.places * plans.repeats
    return np.array([np.round(money, 6), np.round(hours, 6), blocks, readings])
