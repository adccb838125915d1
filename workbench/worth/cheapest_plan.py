"""The cheapest further measuring that would settle a claim, within the blocks that exist."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from workbench.errors import Refusal
from workbench.inference.samples import Values
from workbench.worth.measuring_plan import ClaimStudy, MeasuringPlan, Plans, assurance, power

TARGETS = (0.8, 0.9)
BLOCKS_TRIED = (*range(13), 15, 20, 30, 40, 60, 100)
PLACES_TRIED = (1, 2, 3, 4, 6, 8, 12)
REPEATS_TRIED = (1, 2, 3)
AGAIN_TRIED = (0, 1, 2, 4, 9)
AT_ONCE = 4096
MOST_BORES = 16


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuringCosts:
    """What measuring costs: money and hours for each thing done, as in `[worth.measuring]`.

    `candidate_block` and `reference_block` are the money of one more block of the family at hand.
    `hour_costs` is the money of an hour, 0 where hours are only counted. `unstated` names the
    amounts counted as nothing.
    """

    candidate_block: float = 0.0
    reference_block: float = 0.0
    bore: float = 0.0
    place: float = 0.0
    repeat: float = 0.0
    calibration_block: float = 0.0
    hours: Mapping[str, float] = field(default_factory=dict)
    hour_costs: float = 0.0
    unstated: tuple[str, ...] = ()


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
    plans = _grid(study, room)
    money, hours = plan_costs(study, costs, plans)
    if power(study, plans.rows(_furthest(plans)))[0] < target:
        return None
    readings = plans.bores * plans.places * plans.repeats
    blocks = plans.candidate + plans.reference
    order = np.lexsort((readings, blocks, hours, np.round(money, 6)))
    for start in range(0, order.size, AT_ONCE):
        rows = order[start : start + AT_ONCE]
        enough = np.flatnonzero(power(study, plans.rows(rows)) >= target)
        if enough.size:
            return priced(study, costs, _fewer(study, plans.at(int(rows[enough[0]])), target))
    return None


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


def plan_costs(study: ClaimStudy, costs: MeasuringCosts, plans: Plans) -> tuple[Values, Values]:
    """Give the money and the hours of each plan; priced hours are part of the money."""
    blocks = plans.candidate + plans.reference
    bores = blocks * plans.bores
    places = bores * plans.places
    readings_at_hand = study.candidate.readings + study.reference.readings
    repeats = places * (plans.repeats - 1) + plans.again * readings_at_hand
    done = {
        "bore": bores,
        "place": places,
        "repeat": repeats,
        "calibration_block": plans.calibrated,
    }
    money = plans.candidate * costs.candidate_block + plans.reference * costs.reference_block
    hours = blocks * costs.hours.get("block", 0.0)
    for name, times in done.items():
        money = money + times * getattr(costs, name)
        hours = hours + times * costs.hours.get(name, 0.0)
    return money + hours * costs.hour_costs, hours


def _grid(study: ClaimStudy, room: Room) -> Plans:
    """Lay out every plan tried; without new blocks there is one way of reading none."""
    repeats = REPEATS_TRIED if study.repeat > 0 else (1,)
    again = AGAIN_TRIED if study.repeat > 0 or study.scope == "block" else (0,)
    calibrated = (0, 1) if study.shared > 0 and study.shared_calibrated is not None else (0,)
    at_hand = list(itertools.product([0], [0], [1], [1], [1], again, calibrated))
    rows = at_hand
    if study.scope == "family":
        new = itertools.product(
            _upto(BLOCKS_TRIED, room.candidate),
            _upto(BLOCKS_TRIED, room.reference),
            [room.bores] if study.whole_blocks else range(1, min(room.bores, MOST_BORES) + 1),
            [room.places]
            if study.whole_blocks
            else sorted({*_upto(PLACES_TRIED, room.places), room.places}),
            repeats,
            again,
            calibrated,
        )
        rows = at_hand + [row for row in new if row[0] + row[1] > 0]
    return Plans(**dict(zip(_COLUMNS, np.array(rows, dtype=float).T, strict=True)))


_COLUMNS = ("candidate", "reference", "bores", "places", "repeats", "again", "calibrated")


def _upto(tried: tuple[int, ...], most: int | None) -> list[int]:
    if most is None:
        return list(tried)
    return sorted({number for number in tried if number <= most} | {most})


def _furthest(plans: Plans) -> np.ndarray:
    """Give the row of the plan that does most of everything: none has more power."""
    columns = np.array([getattr(plans, name) for name in _COLUMNS])
    return np.array([int(np.argmax(columns.sum(axis=0)))])


def _fewer(study: ClaimStudy, plan: MeasuringPlan, target: float) -> MeasuringPlan:
    """Take blocks away one by one while the plan still reaches the target."""
    for family in ("candidate", "reference"):
        number = getattr(plan, family)
        while number > 0:
            less = replace(plan, **{family: number - 1})
            if power(study, Plans.of(less))[0] < target:
                break
            plan, number = less, number - 1
    return plan
