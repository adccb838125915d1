"""Leaving out one block: the same as fitting the table without it, whatever the table."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from workbench.errors import Refusal
from workbench.inference.nested.fit import nested_fit
from workbench.inference.nested.influence import influence
from workbench.inference.nested.model import nested_model

FIXED = ["family", "station", "depth"]


def answers(table, nesting=("block", "bore"), fixed=FIXED):
    model = nested_model(table, response="wall", fixed=fixed, nesting=nesting)
    return influence(model, "family", "b", "a")


def refitted(table, nesting, fixed):
    try:
        fit = nested_fit(table, response="wall", fixed=fixed, nesting=nesting)
        return fit.contrast("family", "b", "a"), ""
    except Refusal as refusal:
        return None, str(refusal)


def compare_with_refits(table, nesting, fixed=FIXED):
    refused = 0
    found = answers(table, nesting, fixed)
    assert [one.block for one in found.without] == sorted(table["block"].unique())
    for one in found.without:
        rest = table[table["block"] != one.block]
        expected, reason = refitted(rest, nesting, fixed)
        assert one.reason == reason
        if expected is None:
            assert one.difference is None
            refused += 1
            continue
        assert one.difference.estimate == pytest.approx(expected.estimate, rel=1e-7, abs=1e-9)
        assert one.difference.standard_error == pytest.approx(expected.standard_error, rel=1e-6)
        assert one.difference.degrees_of_freedom == pytest.approx(
            expected.degrees_of_freedom, rel=1e-6
        )
        assert one.difference.method == expected.method
    return refused


@pytest.mark.parametrize("nesting", [("block", "bore"), ("block",)])
@pytest.mark.parametrize("spread", [(1.0, 0.6, 0.3), (0.05, 0.6, 0.3), (1.0, 0.02, 0.3)])
def test_each_is_what_the_table_without_the_block_gives(walls, nesting, spread):
    for seed in range(4):
        assert compare_with_refits(walls(seed, spread=spread), nesting) == 0


@pytest.mark.parametrize("nesting", [("block", "bore"), ("block",)])
def test_without_its_only_block_a_family_has_no_difference(walls, nesting):
    table = walls(2, blocks=(1, 4))
    assert compare_with_refits(table, nesting) == 1
    found = answers(table, nesting)
    assert "no level 'a'" in found.without[0].reason
    assert found.without[0] in found.deciding()


def test_a_station_read_in_one_block_alone_leaves_with_it(walls):
    table = walls(3)
    lone = table["block"] == "b2"
    table.loc[lone & (table["station"] == "2"), "station"] = "9"
    assert compare_with_refits(table, ("block", "bore")) == 0


def test_bores_read_again_in_one_block_alone(walls):
    """Without the one block whose bores were read again, bore and residual are one spread."""
    once = walls(5).drop_duplicates(["block", "bore"])
    again = once[once["block"] == "a1"]
    table = pd.concat([once, again, again], ignore_index=True)
    table["wall"] += np.random.default_rng(1).normal(0, 0.2, len(table))
    compare_with_refits(table, ("block", "bore"), ["family"])


def test_cells_give_what_readings_give(walls):
    table = walls(6)
    cells = (
        table.groupby(["family", "block", "bore", "station", "depth"])["wall"]
        .agg(n="size", mean="mean")
        .reset_index()
        .assign(ss=0.0)
    )
    model = nested_model(cells, response="mean", fixed=FIXED, nesting=("block", "bore"))
    for one, other in zip(
        influence(model, "family", "b", "a").without, answers(table).without, strict=True
    ):
        assert one.difference.estimate == pytest.approx(other.difference.estimate, abs=1e-9)


def test_deciding_blocks_are_those_that_turn_the_interval(walls):
    table = walls(7)
    table.loc[table["block"] == "b0", "wall"] += 6.0
    found = answers(table)
    assert found.largest.block == "b0"
    for margin in (-1.0, 0.0, 1.0):
        whole = found.whole.interval()
        for one in found.without:
            interval = one.difference.interval()
            turned = (whole.low > margin, whole.high < margin) != (
                interval.low > margin,
                interval.high < margin,
            )
            assert turned == (one in found.deciding(margin))


def test_swap_and_unit(walls):
    table = walls(8)
    model = nested_model(table, response="wall", fixed=FIXED, nesting=("block", "bore"))
    plain, swapped = influence(model, "family", "b", "a"), influence(model, "family", "a", "b")
    inches = answers(table.assign(wall=table["wall"] / 25.4))
    for one, other, inch in zip(plain.without, swapped.without, inches.without, strict=True):
        assert other.difference.estimate == -one.difference.estimate
        assert other.difference.p_value() == one.difference.p_value()
        assert inch.difference.estimate == pytest.approx(one.difference.estimate / 25.4)
        assert inch.difference.p_value() == pytest.approx(one.difference.p_value(), rel=1e-6)


def test_refusals(walls):
    with pytest.raises(Refusal, match="no groups with a spread of their own"):
        answers(walls(1), ())
    model = nested_model(walls(1), response="wall", fixed=FIXED, nesting=("block",))
    with pytest.raises(Refusal, match="has no level 'c'"):
        influence(model, "family", "c", "a")
    with pytest.raises(Refusal, match="Confidence must lie"):
        influence(model, "family", "b", "a").deciding(confidence=0)
