"""What a nested fit refuses: of the table, and of the question."""

from __future__ import annotations

import itertools

import numpy as np
import pandas as pd
import pytest

from workbench.errors import Refusal
from workbench.inference.nested.fit import nested_fit


def walls(blocks):
    """Two families of `blocks` blocks, two bores a block, three stations a bore, read twice."""
    rng = np.random.default_rng(1)
    places = itertools.product("ab", range(blocks), "12", ("front", "rear", "thrust"), range(2))
    table = pd.DataFrame(places, columns=["family", "block", "bore", "station", "repeat"])
    table["block"] = table["family"] + table["block"].astype(str)
    return table.assign(wall=(6 + rng.normal(0, 0.2, len(table))).round(2))


def fitted(table, **given):
    asked = {"response": "wall", "fixed": ["family", "station"], "nesting": ["block", "bore"]}
    return nested_fit(table, **{**asked, **given})


TABLE = walls(3)
BROKEN = {
    "no_readings": (TABLE.iloc[:0], {}, "holds no readings"),
    "no_column": (TABLE, {"fixed": ["familly"]}, "no column 'familly'"),
    "column_twice": (TABLE, {"nesting": ["block", "block"]}, "named twice"),
    "too_many_nesting_levels": (
        TABLE, {"nesting": ["block", "bore", "station"]}, "at most 2 fit",
    ),
    "too_many_levels": (
        pd.concat([TABLE] * 3).assign(station=lambda table: np.arange(len(table)).astype(str)),
        {}, "at most 199",
    ),
    "missing_label": (TABLE.assign(block=TABLE["block"].where(TABLE.index != 3)), {}, "row 3"),
    "not_finite": (TABLE.assign(wall=TABLE["wall"].where(TABLE.index != 2)), {}, "nan in row 2"),
    "not_a_number": (TABLE.assign(wall="thick"), {}, "holds text"),
    "no_spread": (TABLE.assign(wall=0.1), {}, "readings equal 0.1"),
    "no_residual_spread": (
        TABLE.assign(wall=TABLE.groupby(["block", "bore"])["wall"].transform("first")), {},
        "do not differ at all",
    ),
    "no_replication": (walls(1), {}, "tell every block apart"),
    "not_separable": (
        pd.DataFrame(
            {
                "station": ["x", "y", "y", "y"], "block": list("1123"), "bore": list("0000"),
                "wall": [1.0, 2.0, 2.5, 4.0],
            }
        ),
        {"fixed": ["station"], "nesting": ["block"]}, "tell the spread of residual, block apart",
    ),
}  # fmt: skip


@pytest.mark.parametrize("code", BROKEN)
def test_refusals_of_the_table(code):
    table, given, sentence = BROKEN[code]
    with pytest.raises(Refusal, match=sentence) as caught:
        fitted(table, **given)
    assert caught.value.code == code


@pytest.mark.parametrize("infinite", [np.inf, -np.inf])
def test_infinite_readings_are_refused(infinite):
    with pytest.raises(Refusal, match="inf in row 0"):
        fitted(TABLE.assign(wall=TABLE["wall"].where(TABLE.index != 0, infinite)))


def test_two_readings_for_two_families_are_refused():
    table = pd.DataFrame({"family": ["a", "b"], "block": ["1", "2"], "wall": [6.0, 7.0]})
    with pytest.raises(Refusal, match="2 readings for 2 fixed columns"):
        nested_fit(table, response="wall", fixed=["family"], nesting=["block"])


@pytest.mark.parametrize(
    ("n", "ss", "sentence"),
    [(0, 0.0, "'n' is 0"), (1.5, 0.0, "whole numbers"), (2, -1.0, "'ss' is -1"), (1, 2.0, "ss")],
)
def test_impossible_cells_are_refused(n, ss, sentence):
    cells = pd.DataFrame({"family": ["a", "b"], "n": [2, n], "mean": [1.0, 2.0], "ss": [0.5, ss]})
    with pytest.raises(Refusal, match=sentence):
        nested_fit(cells, response="mean", fixed=["family"], nesting=[])


def test_refusals_of_the_question():
    fit = fitted(TABLE)
    with pytest.raises(Refusal, match="no fixed factor"):
        fit.contrast("block", "a", "b")
    with pytest.raises(Refusal, match="no level 'c'; it has 'a', 'b'"):
        fit.contrast("family", "c", "a")
    with pytest.raises(Refusal, match="compared with itself"):
        fit.contrast("family", "a", "a")
    with pytest.raises(Refusal, match="method is one of kenward-roger, satterthwaite"):
        fit.contrast("family", "a", "b", "naive")
    with pytest.raises(Refusal, match="information is one of"):
        fit.contrast("family", "a", "b", "satterthwaite", "none")
    with pytest.raises(Refusal, match="no column 'family=c'"):
        fit.combination({"family=c": 1.0})
    with pytest.raises(Refusal, match="2 weights were given for 4 columns"):
        fit.combination([1.0, 0.0])
    with pytest.raises(Refusal, match="one of them not zero"):
        fit.combination([0.0] * 4)
    with pytest.raises(Refusal, match="one of them not zero"):
        fit.combination([0.0, np.nan, 0.0, 0.0])
