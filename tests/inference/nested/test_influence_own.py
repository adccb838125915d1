"""Leaving out one block where each family has spreads of its own."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy.stats import ttest_ind

from workbench.errors import Refusal
from workbench.inference.nested.influence import influence
from workbench.inference.nested.model import nested_model
from workbench.inference.nested.unequal import unequal_model

FIXED = ["station", "depth"]


def fitted(table, nesting=("block", "bore"), fixed=FIXED):
    return unequal_model(table, response="wall", by="family", fixed=fixed, nesting=nesting)


def refitted(table, nesting, fixed):
    try:
        return fitted(table, nesting, fixed).contrast("b", "a"), ""
    except Refusal as refusal:
        return None, str(refusal)


def compare_with_refits(table, nesting=("block", "bore"), fixed=FIXED):
    refused = 0
    found = influence(fitted(table, nesting, fixed), "family", "b", "a")
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


def test_balanced_blocks_give_welchs_analysis_of_the_other_block_means():
    """scipy's Welch on the block means left is the witness; a closed identity when balanced."""
    generator = np.random.default_rng(11)
    means = {"a": generator.normal(4.0, 0.2, 5), "b": generator.normal(4.6, 0.7, 6)}
    table = pd.DataFrame(
        [
            (family, f"{family}{place}", mean + error)
            for family, row in means.items()
            for place, mean in enumerate(row)
            for error in (0.05, -0.05)
        ],
        columns=["family", "block", "wall"],
    )
    for one in influence(fitted(table, ("block",), []), "family", "b", "a").without:
        left = {
            family: np.delete(row, int(one.block[1:])) if one.block[0] == family else row
            for family, row in means.items()
        }
        expected = ttest_ind(left["b"], left["a"], equal_var=False)
        interval = expected.confidence_interval(0.95)
        assert one.difference.p_value() == pytest.approx(expected.pvalue, rel=1e-6)
        assert one.difference.interval().low == pytest.approx(interval.low, rel=1e-6)
        assert one.difference.interval().high == pytest.approx(interval.high, rel=1e-6)


@pytest.mark.parametrize("nesting", [("block", "bore"), ("block",)])
@pytest.mark.parametrize("spread", [(1.0, 0.6, 0.3), (0.05, 0.6, 0.3), (1.0, 0.02, 0.3)])
def test_each_is_what_the_table_without_the_block_gives(walls, nesting, spread):
    for seed in range(3):
        assert compare_with_refits(walls(seed, spread=spread), nesting) == 0


def test_a_family_of_two_blocks_can_spare_neither(walls):
    assert compare_with_refits(walls(2, blocks=(2, 5))) == 2
    found = influence(fitted(walls(2, blocks=(2, 5))), "family", "b", "a")
    assert "has one block" in found.without[0].reason


def test_a_station_read_in_one_block_alone_leaves_with_it(walls):
    table = walls(3)
    lone = table["block"] == "b2"
    table.loc[lone & (table["station"] == "2"), "station"] = "9"
    assert compare_with_refits(table) == 0


def test_families_told_apart_by_other_levels_are_fitted_from_the_table(walls):
    """One family's bores were read once each, so its bores and readings are one spread."""
    table = walls(5)
    once = table[table["family"] == "a"].drop_duplicates(["block", "bore"])
    table = pd.concat([once, table[table["family"] == "b"]], ignore_index=True)
    compare_with_refits(table, fixed=[])


def test_swapped_families_turn_the_sign_and_inches_change_nothing(walls):
    table = walls(8)
    plain, swapped = (influence(fitted(table), "family", *pair) for pair in ("ba", "ab"))
    inches = influence(fitted(table.assign(wall=table["wall"] / 25.4)), "family", "b", "a")
    for one, other, inch in zip(plain.without, swapped.without, inches.without, strict=True):
        assert other.difference.estimate == pytest.approx(-one.difference.estimate)
        assert inch.difference.estimate * 25.4 == pytest.approx(one.difference.estimate)
        assert inch.difference.p_value() == pytest.approx(one.difference.p_value(), rel=1e-6)


def test_an_unknown_family_is_refused(walls):
    with pytest.raises(Refusal, match="no level 'c'"):
        influence(fitted(walls(1)), "family", "c", "a")


def test_only_the_blocks_asked_for_are_left_out(walls):
    model = fitted(walls(6))
    whole = {one.block: one for one in influence(model, "family", "b", "a").without}
    some = influence(model, "family", "b", "a", only={"a1", "b0"}).without
    assert some == (whole["a1"], whole["b0"])


@pytest.mark.parametrize("own", [True, False])
def test_let_go_below_zero_balanced_blocks_are_judged_by_their_means_alone(own):
    """Blocks that do not differ: scipy on the block means left is the answer all the same."""
    below = 0
    for seed in range(4):
        generator = np.random.default_rng(seed)
        table = pd.DataFrame(
            [
                (family, f"{family}{block}", generator.normal(4.0, 0.3))
                for family, many in (("a", 6), ("b", 7))
                for block in range(many)
                for _ in range(5)
            ],
            columns=["family", "block", "wall"],
        )
        if own:
            model = fitted(table, ("block",), [])
        else:
            model = nested_model(table, response="wall", fixed=["family"], nesting=["block"])
        below += bool(model.fit.boundary)
        means = table.groupby(["family", "block"])["wall"].mean()
        for one in influence(model, "family", "b", "a", bounded=False).without:
            left = means.drop(index=(one.block[0], one.block))
            expected = ttest_ind(left["b"], left["a"], equal_var=not own)
            assert one.difference.p_value() == pytest.approx(expected.pvalue, rel=1e-4)
            high = expected.confidence_interval(0.95).high
            assert one.difference.interval().high == pytest.approx(high, rel=1e-4)
    assert below
