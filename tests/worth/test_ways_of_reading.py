"""Ways of reading: the pairs laid out are all that are cheap and precise enough, and no others."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest

from workbench.worth.claim_study import ClaimStudy, Measured
from workbench.worth.measuring_costs import MeasuringCosts, plan_costs
from workbench.worth.measuring_plan import MeasuringPlan, Plans, enlarged, shared_after
from workbench.worth.ways_of_reading import Room, ways_of_reading

STUDY = ClaimStudy(
    direction="greater",
    margin=0.0,
    scope="family",
    confidence=0.95,
    estimate=0.6,
    standard_error=0.25,
    degrees_of_freedom=8.0,
    block=0.15,
    bore=0.05,
    place=0.04,
    repeat=0.02,
    shared=0.08,
    shared_calibrated=0.03,
    candidate=Measured.evenly(3, bores=2, places=2),
    reference=Measured.evenly(7, bores=2, places=2),
)
COSTS = MeasuringCosts(
    candidate_block=300,
    reference_block=60,
    bore=5,
    place=1,
    repeat=0.3,
    calibration_block=80,
    hours={"block": 1.0, "place": 0.05},
    hour_costs=20,
)
ROOM = Room(candidate=3, reference=5, bores=2, places=2)


def every_plan() -> list[MeasuringPlan]:
    """All plans there are, by name of their parts."""
    again = [
        MeasuringPlan(again=more, calibrated=had)
        for more, had in itertools.product((0, 1, 2, 4, 9), (False, True))
    ]
    return again + [
        MeasuringPlan(
            candidate=own, reference=other, bores=bores, places=places, repeats=repeats,
            again=more, calibrated=had,
        )
        for own, other, bores, places, repeats, more, had in itertools.product(
            range(4), range(6), (1, 2), (1, 2), (1, 2, 3), (0, 1, 2, 4, 9), (False, True)
        )
        if own + other > 0
    ]  # fmt: skip


@pytest.mark.parametrize("money", [0.0, 300.0, 700.0, np.inf])
@pytest.mark.parametrize("variance", [0.02, 0.05, np.inf])
def test_no_plan_is_missed_and_none_too_dear_or_too_imprecise(money, variance) -> None:
    known = every_plan()
    plans = Plans.of(*known)
    left = enlarged(STUDY, plans).variance + shared_after(STUDY, plans) ** 2
    wanted = (plan_costs(STUDY, COSTS, plans)[0] <= money) & (left <= variance)
    laid = [way.plans(money, variance) for way in ways_of_reading(STUDY, COSTS, ROOM)]
    found = [part.at(row) for part in laid for row in range(part.size)]
    assert len(found) == len(set(found))
    assert set(found) == {plan for plan, at in zip(known, wanted, strict=True) if at}


def test_cheap_ways_come_first_after_those_without_new_blocks() -> None:
    ways = list(ways_of_reading(STUDY, COSTS, ROOM))
    alone = [way.at_hand for way in ways]
    assert alone == sorted(alone, reverse=True)
    ones = [float(way.money[0][1] + way.money[1][1]) for way in ways if not way.at_hand]
    assert ones == sorted(ones)


def test_no_blocks_left_and_the_blocks_measured_leave_only_reading_again() -> None:
    none_left = ways_of_reading(STUDY, COSTS, Room(candidate=0, reference=0))
    measured = ways_of_reading(replace(STUDY, scope="block"), COSTS, ROOM)
    assert all(way.at_hand for way in [*none_left, *measured])
