"""The cheapest further measuring that would settle a claim, within the blocks that exist.

Every number of blocks of either family up to `MOST_BLOCKS` is tried with every way of reading them:
none is missed. Which can be enough shows by their standard error and a short table of the largest
error that will do; only those are worked out in full, the cheapest first.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator
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

TARGETS = (0.8, 0.9)
MOST_BLOCKS = 100
MOST_BORES = 16
MOST_PLACES = 16
REPEATS_TRIED = (1, 2, 3)
AGAIN_TRIED = (0, 1, 2, 4, 9)
AT_ONCE = 64  # plans worked out in full
DIGITS = 6  # to which powers are told apart
KEPT = 32  # plans of each way of reading that are near the best

Flags = np.ndarray


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """How far a plan may go: blocks left of each family (None: no limit), bores and places."""

    candidate: int | None = None
    reference: int | None = None
    bores: int = 1
    places: int = 1


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
        study, costs, room, bound.possible, lambda plans: power(study, plans) >= target
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
    for plans in _ways_of_reading(study, costs, room):
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
) -> PricedPlan | None:
    """Go through every plan; `possible` is quick and misses none that is `enough`."""
    best: tuple[float, ...] = (math.inf,)
    chosen = None
    for plans in _ways_of_reading(study, costs, room):
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


def _ways_of_reading(study: ClaimStudy, costs: MeasuringCosts, room: Room) -> Iterator[Plans]:
    """Give, for each way of reading, the plans with every number of blocks; cheap ways first.

    Without new blocks only what is done again at the blocks at hand differs.
    """
    repeats = REPEATS_TRIED if study.repeat > 0 else (1,)
    again = AGAIN_TRIED if study.repeat > 0 or study.scope == "block" else (0,)
    calibrated = (0, 1) if study.shared > 0 and study.shared_calibrated is not None else (0,)
    at_hand = itertools.product((1,), (1,), (1,), again, calibrated)
    for way in at_hand:
        yield _laid(np.zeros(1), np.zeros(1), way)
    if study.scope != "family":
        return
    bores = (room.bores,) if study.whole_blocks else range(1, min(room.bores, MOST_BORES) + 1)
    places = {room.places} if study.whole_blocks else set(_places(room))
    ways = list(itertools.product(bores, sorted(places), repeats, again, calibrated))
    most = [
        MOST_BLOCKS if left is None else min(left, MOST_BLOCKS)
        for left in (room.candidate, room.reference)
    ]
    ours, others = (
        counts.ravel().astype(float) for counts in np.mgrid[0 : most[0] + 1, 0 : most[1] + 1]
    )
    if ours.size == 1:
        return
    ones = [plan_costs(study, costs, _laid(np.ones(1), np.ones(1), way))[0][0] for way in ways]
    for at in np.argsort(ones, kind="stable"):
        yield _laid(ours[1:], others[1:], ways[at])


def _places(room: Room) -> Iterator[int]:
    yield from range(1, min(room.places, MOST_PLACES) + 1)
    yield room.places


def _laid(ours: Values, others: Values, way: tuple[int, ...]) -> Plans:
    """Lay out one way of reading over so many blocks of each family."""
    reading = ("bores", "places", "repeats", "again", "calibrated")
    columns = {
        n: np.full(ours.shape, float(number)) for n, number in zip(reading, way, strict=True)
    }
    return Plans(candidate=ours, reference=others, **columns)
