"""The cheapest plan: every plan of a small grid looked at one by one, Cochran's rule, refusals."""

from __future__ import annotations

from itertools import product

import pytest

from workbench.errors import Refusal
from workbench.inference.planning.aims import Aim
from workbench.inference.planning.blocks import nested_power
from workbench.inference.planning.cost import Costs, Grid, best_allocation, cheapest_plan
from workbench.inference.planning.layouts import Layout, Spreads

SPREADS = Spreads(block=0.3, bore=0.4, reading=0.3)
COSTS = Costs(block=50, bore=5, reading=1)
SMALL = Grid(blocks=14, bores=4, readings=4)
AIM = Aim(kind="greater", difference=0.7)


def cheapest_one_by_one(aim, costs, reference_costs, grid, power, shared=0.0, own=None):
    best = None
    for c, r in product(range(1, grid.bores + 1), range(1, grid.readings + 1)):
        for ours, others in product(range(1, grid.blocks + 1), repeat=2):
            if ours + others <= 2 or (own is not None and min(ours, others) < 2):
                continue
            reached = nested_power(
                aim, SPREADS, Layout(blocks=ours, bores=c, readings=r),
                Layout(blocks=others, bores=c, readings=r), shared=shared, reference_spreads=own,
            )  # fmt: skip
            if reached >= power:
                cost = ours * costs.of_block(c, r) + others * reference_costs.of_block(c, r)
                best = cost if best is None else min(best, cost)
    return best


@pytest.mark.parametrize(
    ("aim", "reference_costs", "power", "shared", "own"),
    [
        (AIM, COSTS, 0.8, 0.0, None),
        (AIM, Costs(block=5, bore=5, reading=1), 0.9, 0.0, None),
        (Aim(kind="same", difference=0.05, margin=0.8), COSTS, 0.8, 0.0, None),
        (AIM, COSTS, 0.8, 0.1, None),
        (AIM, COSTS, 0.8, 0.0, Spreads(block=0.1, bore=0.1, reading=0.1)),
    ],
)
def test_no_plan_of_the_grid_is_cheaper(aim, reference_costs, power, shared, own):
    grid = Grid(blocks=9, bores=3, readings=3)
    found = cheapest_plan(
        aim, SPREADS, COSTS, reference_costs=reference_costs, power=power, shared=shared,
        reference_spreads=own, grid=grid,
    )  # fmt: skip
    expected = cheapest_one_by_one(aim, COSTS, reference_costs, grid, power, shared, own)
    assert found.cost == pytest.approx(expected)
    assert found.power >= power
    assert found.cost == pytest.approx(
        found.candidate * COSTS.of_block(found.bores, found.readings)
        + found.reference * reference_costs.of_block(found.bores, found.readings)
    )


@pytest.mark.parametrize(
    ("spreads", "costs"),
    [
        (Spreads(block=0.2, bore=0.4, reading=0.3), Costs(block=40, bore=10, reading=1)),
        (Spreads(block=0.2, bore=0.3, reading=0.6), Costs(block=30, bore=6, reading=2)),
    ],
)
def test_a_close_aim_comes_near_cochrans_rule(spreads, costs):
    """With many blocks whole numbers hardly matter: bores and readings lie beside the rule's."""
    rule = best_allocation(spreads, costs)
    found = cheapest_plan(
        Aim(kind="greater", difference=0.28), spreads, costs, grid=Grid(blocks=90)
    )
    assert found.candidate > 10
    assert abs(found.bores - rule.bores) <= 1.0
    assert abs(found.readings - rule.readings) <= 1.0


def test_the_rule_is_the_least_of_variance_times_cost():
    """Any other allocation has a larger product (Cochran 1977, section 10.10)."""
    rule = best_allocation(SPREADS, COSTS)

    def product_of(bores, readings):
        return SPREADS.of_block_mean(bores, readings) * COSTS.of_block(bores, readings)

    least = product_of(rule.bores, rule.readings)
    for more in (0.5, 0.9, 1.1, 2.0):
        assert product_of(more * rule.bores, rule.readings) > least
        assert product_of(rule.bores, more * rule.readings) > least


def test_blocks_measured_already_cost_nothing():
    fresh = cheapest_plan(AIM, SPREADS, COSTS, grid=SMALL)
    there = Layout(blocks=3, bores=fresh.bores, readings=fresh.readings)
    found = cheapest_plan(AIM, SPREADS, COSTS, measured=(there, there), grid=SMALL)
    assert found.cost <= fresh.cost - 6 * COSTS.of_block(fresh.bores, fresh.readings) + 1e-9
    much = Layout(blocks=60, bores=4, readings=4)
    nothing = cheapest_plan(AIM, SPREADS, COSTS, measured=(much, much), grid=SMALL)
    assert (nothing.candidate, nothing.reference, nothing.cost) == (0, 0, 0)
    assert nothing.power == pytest.approx(nested_power(AIM, SPREADS, much, much))


def test_a_dear_family_gets_fewer_blocks():
    dear = cheapest_plan(AIM, SPREADS, Costs(block=4000, bore=5, reading=1),
                         reference_costs=COSTS, grid=SMALL)  # fmt: skip
    assert dear.candidate < dear.reference


def test_unit_of_length_and_of_money_do_not_matter():
    plain = cheapest_plan(AIM, SPREADS, COSTS, grid=SMALL)
    inches = Spreads(block=0.3 / 25.4, bore=0.4 / 25.4, reading=0.3 / 25.4)
    cents = Costs(block=5000, bore=500, reading=100)
    other = cheapest_plan(Aim(kind="greater", difference=0.7 / 25.4), inches, cents, grid=SMALL)
    assert other.cost == pytest.approx(100 * plain.cost)
    assert (other.candidate, other.reference, other.bores, other.readings) == (
        plain.candidate, plain.reference, plain.bores, plain.readings
    )  # fmt: skip


def test_out_of_reach_has_no_plan():
    assert cheapest_plan(Aim(kind="greater", difference=0.01), SPREADS, COSTS, grid=SMALL) is None
    assert cheapest_plan(Aim(kind="greater", difference=-1), SPREADS, COSTS) is None
    assert cheapest_plan(AIM, SPREADS, COSTS, shared=1.0) is None


def test_refusals():
    with pytest.raises(Refusal, match="cost of a bore is 0 or more, not -1"):
        Costs(block=1, bore=-1)
    with pytest.raises(Refusal, match="One of the costs must be above 0"):
        Costs(block=0)
    with pytest.raises(Refusal, match="at least one block, bore and reading"):
        Grid(blocks=0)
    with pytest.raises(Refusal, match="bores or readings cost nothing"):
        best_allocation(SPREADS, Costs(block=1, bore=1))
    with pytest.raises(Refusal, match="blocks or bores do not vary"):
        best_allocation(Spreads(block=1, reading=1), COSTS)
    with pytest.raises(Refusal, match="Power must lie"):
        cheapest_plan(AIM, SPREADS, COSTS, power=1)
