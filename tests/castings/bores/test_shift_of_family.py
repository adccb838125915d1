import math

import numpy as np
import pytest

from workbench.castings.bores.core_shift import core_shifts
from workbench.castings.bores.shift_of_block import shift_of_block
from workbench.castings.bores.shift_of_family import (
    block_shifts,
    compare_shifts,
    shift_of_family,
)
from workbench.errors import Refusal


def two_families(rng, drawn, *, other=(0.0, 0.15), other_sd=0.1, blocks=12):
    return [
        *drawn(rng, blocks=40, block_sd=0.1, bore_sd=0.08),
        *drawn(rng, blocks=blocks, shift=other, block_sd=other_sd, bore_sd=0.08, family="trophy"),
    ]


def test_planted_mean_and_scatter_are_found(walls, drawn) -> None:
    rng = np.random.default_rng(1)
    found = shift_of_family(core_shifts(walls(two_families(rng, drawn))), "works")
    assert found.mean.p_value(0.0, 0.15) > 0.001
    assert found.mean.p_value() < 0.001
    parts = found.components
    # Standard errors of the components, from their degrees of freedom: 2 x 39, 2 x 120.
    assert parts.standard_deviation("block") == pytest.approx(0.1, abs=0.03)
    assert parts.standard_deviation("bore") == pytest.approx(0.08, abs=0.015)
    assert parts.standard_deviation("residual") == pytest.approx(0.1 / math.sqrt(2), abs=0.01)
    assert parts.tests["block"].p_value < 0.001
    assert not found.not_answered


def test_blocks_carry_the_error_of_measuring(walls, drawn) -> None:
    shifts = core_shifts(walls(drawn(np.random.default_rng(2))))
    row = block_shifts(shifts).iloc[3]
    alone = shift_of_block(shifts, "W04").as_measured
    assert [row["x"], row["y"], row["vxx"], row["vxy"], row["vyy"], row["direction"]] == (
        pytest.approx([alone.x, alone.y, alone.vxx, alone.vxy, alone.vyy, alone.direction])
    )


def test_only_blocks_with_a_direction_count_as_directions(walls, drawn) -> None:
    rng = np.random.default_rng(3)
    shifts = core_shifts(walls(drawn(rng, blocks=20, shift=(0.0, 0.06), block_sd=0.05)))
    found = shift_of_family(shifts, "works").directions
    known = [
        shift_of_block(shifts, block).as_measured.direction_interval() is not None
        for block in block_shifts(shifts)["block"]
    ]
    assert found.determined == sum(known) < found.blocks == 20
    assert found.mean.direction == pytest.approx(90, abs=35)


def test_families_that_differ_and_families_that_do_not(walls, drawn) -> None:
    rng = np.random.default_rng(4)
    shifts = core_shifts(walls(two_families(rng, drawn, other=(0.5, 0.5), other_sd=0.4)))
    found = compare_shifts(shifts, "trophy", "works")
    assert found.mean.p_value() < 0.01
    assert found.size.p_value() < 0.01
    assert found.scatter.p_value < 0.001
    assert found.scatter_ratio.estimate > 3
    swapped = compare_shifts(shifts, "works", "trophy")
    assert (swapped.mean.x, swapped.size.estimate) == pytest.approx(
        (-found.mean.x, -found.size.estimate)
    )
    assert swapped.mean.p_value() == pytest.approx(found.mean.p_value())
    alike = compare_shifts(core_shifts(walls(two_families(rng, drawn))), "trophy", "works")
    assert min(alike.mean.p_value(), alike.scatter.p_value, alike.size.p_value()) > 0.01


def test_a_single_block_borrows_scatter_and_has_none_of_its_own(walls, drawn) -> None:
    rows = two_families(np.random.default_rng(5), drawn, blocks=1)
    found = compare_shifts(core_shifts(walls(rows)), "trophy", "works")
    assert found.mean.method == "Hotelling, scatter pooled"
    assert found.size.method == "modified t of a single case"
    assert found.scatter is None
    assert set(found.not_answered) == {"scatter", "scatter_ratio"}
    alone = shift_of_family(core_shifts(walls(rows)), "trophy")
    assert alone.mean is None
    assert "one block only" in alone.not_answered["components"]
    assert "at least 3" in alone.not_answered["directions"]


def test_one_depth_and_one_bore_leave_fewer_levels(walls, drawn) -> None:
    rng = np.random.default_rng(6)
    one_depth = drawn(rng, depths={"middle": 60.0})
    found = shift_of_family(core_shifts(walls(one_depth)), "works")
    assert found.components.merged == ("bore",)


def test_refusals(walls, drawn) -> None:
    shifts = core_shifts(walls(drawn(np.random.default_rng(8), blocks=2)))
    with pytest.raises(Refusal, match="family “trophy”"):
        shift_of_family(shifts, "trophy")
    with pytest.raises(Refusal, match="family “trophy”"):
        compare_shifts(shifts, "trophy", "works")
