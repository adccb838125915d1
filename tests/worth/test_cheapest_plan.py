"""The cheapest plan: against trying them all, money and hours by hand, what cannot be reached."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.errors import Refusal
from workbench.worth.cheapest_plan import (
    best_within,
    cheapest_for_width,
    cheapest_plan,
    expected_half_widths,
    priced,
)
from workbench.worth.claim_study import ClaimStudy, Measured
from workbench.worth.measuring_costs import MeasuringCosts, plan_costs
from workbench.worth.measuring_plan import MeasuringPlan, Plans, power
from workbench.worth.ways_of_reading import Room

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
ROOM = Room(candidate=6, reference=8, bores=2, places=2)


def test_money_and_hours_by_hand() -> None:
    """3 new blocks, 6 bores, 12 places, 12 repeats; 40 readings at hand once more; one piece."""
    plan = MeasuringPlan(
        candidate=1, reference=2, bores=2, places=2, repeats=2, again=1, calibrated=True
    )
    money, hours = plan_costs(STUDY, COSTS, Plans.of(plan))
    assert hours[0] == pytest.approx(3 * 1.0 + 12 * 0.05)
    things = 300 + 2 * 60 + 6 * 5 + 12 * 1 + (12 + 40) * 0.3 + 80
    assert money[0] == pytest.approx(things + 20 * hours[0])


EVERY = Plans.of(
    *(
        MeasuringPlan(candidate=c, reference=r, bores=b, places=p, repeats=n, again=a)
        for c, r, b, p, n, a in itertools.product(
            range(7), range(9), (1, 2), (1, 2), (1, 2, 3), (0, 1, 2, 4, 9)
        )
    )
)


@pytest.mark.parametrize("target", [0.5, 0.8])
def test_against_trying_them_all(target) -> None:
    enough = power(STUDY, EVERY) >= target
    money, _ = plan_costs(STUDY, COSTS, EVERY)
    found = cheapest_plan(STUDY, COSTS, ROOM, target)
    assert found is not None
    assert found.money == pytest.approx(money[enough].min())
    assert found.power >= target


@pytest.mark.parametrize("prices", [(300, 60), (60, 300), (50, 50)])
def test_between_round_numbers_against_trying_them_all(prices) -> None:
    """Forty blocks of each and every way of reading them, so no number between can be missed."""
    study = replace(STUDY, estimate=0.32, repeat=0.0)
    costs = replace(COSTS, candidate_block=prices[0], reference_block=prices[1])
    every = Plans.of(
        *(
            MeasuringPlan(candidate=c, reference=r, bores=b, places=p)
            for c, r, b, p in itertools.product(range(41), range(41), (1, 2), (1, 2))
        )
    )
    money, _ = plan_costs(study, costs, every)
    found = cheapest_plan(study, costs, Room(candidate=40, reference=40, bores=2, places=2), 0.8)
    assert found is not None
    assert found.money == pytest.approx(money[power(study, every) >= 0.8].min())


@pytest.mark.parametrize("budget", [150.0, 700.0, 2000.0])
def test_the_most_for_a_budget_against_trying_them_all(budget) -> None:
    money, _ = plan_costs(STUDY, COSTS, EVERY)
    found = best_within(STUDY, COSTS, ROOM, budget)
    assert found is not None
    assert found.money <= budget
    assert found.power == pytest.approx(power(STUDY, EVERY)[money <= budget].max(), abs=1e-6)


def test_no_money_buys_nothing() -> None:
    assert best_within(STUDY, COSTS, ROOM, 0.0) is None


def test_budget_and_power_are_two_sides_of_one_search() -> None:
    found = cheapest_plan(STUDY, COSTS, ROOM, 0.8)
    assert found is not None
    same = best_within(STUDY, COSTS, ROOM, found.money)
    less = best_within(STUDY, COSTS, ROOM, found.money - 0.01)
    assert same is not None
    assert less is not None
    assert less.power < 0.8 <= same.power


def test_the_cheapest_for_a_width_against_trying_them_all() -> None:
    narrow = expected_half_widths(STUDY, EVERY) <= 0.4
    money, _ = plan_costs(STUDY, COSTS, EVERY)
    found = cheapest_for_width(STUDY, COSTS, ROOM, 0.4)
    assert found is not None
    assert found.money == pytest.approx(money[narrow].min())


def test_bores_where_they_need_not_be_whole() -> None:
    """Cochran (1977), section 10.6 (from memory): sqrt(costs) times the ratio of the spreads."""
    study = replace(
        STUDY, block=0.04, bore=0.36, place=0.0, repeat=0.0, estimate=0.12, degrees_of_freedom=1e6
    )
    costs = MeasuringCosts(candidate_block=100, reference_block=100, bore=9)
    found = cheapest_plan(study, costs, Room(bores=16), 0.8)
    assert found is not None
    best = (100 / 9) ** 0.5 * (0.36 / 0.04) ** 0.5
    assert found.plan.bores == pytest.approx(best, abs=2)


def test_what_more_power_costs_more() -> None:
    low, high = (cheapest_plan(STUDY, COSTS, ROOM, target) for target in (0.6, 0.8))
    assert low is not None
    assert high is not None
    assert low.money <= high.money
    assert low.assurance < high.assurance


@given(st.floats(0.01, 100))
@settings(max_examples=10)
def test_another_currency_same_plan(rate) -> None:
    other = replace(
        COSTS,
        **{
            name: rate * getattr(COSTS, name)
            for name in (
                *("candidate_block", "reference_block", "bore", "place", "repeat"),
                *("calibration_block", "hour_costs"),
            )
        },
    )
    one, two = (cheapest_plan(STUDY, costs, ROOM, 0.8) for costs in (COSTS, other))
    assert one is not None
    assert two is not None
    assert two.money == pytest.approx(rate * one.money)


def test_swapping_the_families_swaps_the_blocks() -> None:
    swapped = replace(
        STUDY,
        direction="less",
        estimate=-STUDY.estimate,
        candidate=STUDY.reference,
        reference=STUDY.candidate,
    )
    costs = replace(COSTS, candidate_block=60, reference_block=300)
    room = replace(ROOM, candidate=8, reference=6)
    one, two = cheapest_plan(STUDY, COSTS, ROOM, 0.8), cheapest_plan(swapped, costs, room, 0.8)
    assert one is not None
    assert two is not None
    assert (one.plan.candidate, one.plan.reference) == (two.plan.reference, two.plan.candidate)
    assert one.money == pytest.approx(two.money)


def test_blocks_that_exist_are_the_limit() -> None:
    assert cheapest_plan(STUDY, COSTS, replace(ROOM, candidate=0, reference=0), 0.8) is None
    unbounded = cheapest_plan(STUDY, COSTS, Room(bores=2, places=2), 0.99)
    assert unbounded is not None
    assert unbounded.plan.candidate + unbounded.plan.reference > 14


def test_fewest_blocks_beyond_the_grid_of_trials() -> None:
    """With blocks of one price and no other cost, no block can be left out."""
    costs = MeasuringCosts(candidate_block=1, reference_block=1)
    study = replace(STUDY, estimate=0.35)
    found = cheapest_plan(study, costs, Room(bores=2, places=2), 0.8)
    assert found is not None
    for family in ("candidate", "reference"):
        less = replace(found.plan, **{family: getattr(found.plan, family) - 1})
        assert power(study, Plans.of(less))[0] < 0.8


def test_of_the_blocks_measured_only_reading_again() -> None:
    study = replace(STUDY, scope="block", estimate=0.55, degrees_of_freedom=30.0)
    found = cheapest_plan(study, COSTS, ROOM, 0.8)
    assert found is not None
    assert found.plan == MeasuringPlan(again=found.plan.again)
    assert found.money == pytest.approx(found.plan.again * 40 * 0.3)


def test_a_calibration_is_had_where_it_alone_helps() -> None:
    study = replace(STUDY, shared=0.5, shared_calibrated=0.02, estimate=0.9)
    found = cheapest_plan(study, COSTS, ROOM, 0.8)
    assert found is not None
    assert found.plan.calibrated
    assert cheapest_plan(replace(study, shared_calibrated=None), COSTS, ROOM, 0.8) is None


def test_priced_plan_without_any() -> None:
    nothing = priced(STUDY, COSTS, MeasuringPlan())
    assert (nothing.money, nothing.hours) == (0, 0)


@pytest.mark.parametrize("target", [0.0, 1.0, 80.0])
def test_refused_target(target) -> None:
    with pytest.raises(Refusal, match="lies between 0 and 1"):
        cheapest_plan(STUDY, COSTS, ROOM, target)


def test_refused_budget_and_width() -> None:
    with pytest.raises(Refusal, match="A budget is 0 or more"):
        best_within(STUDY, COSTS, ROOM, -1.0)
    with pytest.raises(Refusal, match="A half-width is above 0"):
        cheapest_for_width(STUDY, COSTS, ROOM, 0.0)
