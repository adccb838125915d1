"""Spreads by family: Welch's analysis where balanced, written-out matrices elsewhere, refusals."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy.optimize import minimize

from workbench.errors import Refusal
from workbench.inference.means.welch import Summary, welch
from workbench.inference.nested.fit import nested_fit
from workbench.inference.nested.unequal import unequal_model

FIXED = ["station", "depth"]


def fitted(table, nesting=("block", "bore"), fixed=FIXED, response="wall"):
    return unequal_model(table, response=response, by="family", fixed=fixed, nesting=nesting)


def balanced(seed, blocks=(4, 7), bores=3, readings=2, spread=(0.2, 0.8)):
    rng = np.random.default_rng(seed)
    rows = []
    for family, many, sd in zip("ab", blocks, spread, strict=True):
        for block in range(many):
            effect = rng.normal(0, sd)
            for bore in range(bores):
                inner = effect + rng.normal(0, sd / 2)
                for _ in range(readings):
                    wall = inner + rng.normal(0, 0.1)
                    rows.append((family, f"{family}{block}", str(bore), wall))
    return pd.DataFrame(rows, columns=["family", "block", "bore", "wall"])


@pytest.mark.parametrize("nesting", [("block", "bore"), ("block",)])
@pytest.mark.parametrize("method", ["kenward-roger", "satterthwaite"])
@pytest.mark.parametrize("seed", [1, 3])
def test_balanced_families_are_welch_on_block_means(nesting, method, seed):
    table = balanced(seed)
    means = table.groupby(["family", "block"])["wall"].mean()
    expected = welch(Summary.of(means["b"]), Summary.of(means["a"]))
    found = fitted(table, nesting, []).contrast("b", "a", method)
    assert found.estimate == pytest.approx(expected.estimate)
    assert found.standard_error == pytest.approx(expected.standard_error, rel=1e-8)
    assert found.degrees_of_freedom == pytest.approx(expected.degrees_of_freedom, rel=1e-8)
    assert found.method.startswith("nested model, spreads by family")


def test_each_family_has_the_variances_it_has_alone():
    table = balanced(3)
    model = fitted(table, fixed=[])
    for family, found in model.variances.items():
        alone = nested_fit(
            table[table["family"] == family],
            response="wall",
            fixed=[],
            nesting=["block", "bore"],
        )
        assert list(found) == ["block", "bore", "residual"]
        for name, variance in alone.variance_components.items():
            assert found[name] == pytest.approx(variance, rel=1e-6, abs=1e-12)


@pytest.mark.parametrize("seed", [1, 3])
def test_against_matrices_written_out(walls, written_parts, dummies, seed):
    """Maximum by a general search; Kenward-Roger from the formulas, over readings."""
    table = walls(seed, blocks=(4, 4))
    X, y = dummies(table, ["family", *FIXED]), table["wall"].to_numpy()
    bore = (table["block"] + "/" + table["bore"]).to_numpy(dtype=object)
    block = table["block"].to_numpy(dtype=object)
    parts = []
    for family in "ab":
        own = (table["family"] == family).to_numpy()
        both = np.outer(own, own)
        parts += [
            np.diag(own.astype(float)),
            (bore[:, None] == bore) * both.astype(float),
            (block[:, None] == block) * both.astype(float),
        ]

    def criterion(log):
        return write(np.exp(log)).criterion(y)

    def write(theta):
        return written_parts(X, parts, theta)

    model = fitted(table)
    found = model.maximum.at.theta * model.cells.scale**2
    assert (found > 0).all()
    best = minimize(criterion, np.log(found) + 0.3, method="BFGS", options={"gtol": 1e-6})
    assert model.fit.reml_criterion == pytest.approx(best.fun, abs=1e-6)
    assert found == pytest.approx(np.exp(best.x), rel=1e-3)
    at = write(found)
    spread = at.spread_of_components
    row = np.zeros(X.shape[1])
    row[1] = 1.0
    one = [at.W @ r @ at.W for r in parts]
    many = range(len(parts))
    added = sum(
        spread[r, s]
        * X.T @ (one[r] @ parts[s] @ at.W - one[r] @ X @ at.phi @ X.T @ one[s]) @ X
        for r in many
        for s in many
    )  # fmt: skip
    adjusted = at.phi + 2 * at.phi @ added @ at.phi
    slopes = np.array([row @ at.phi @ X.T @ r @ X @ at.phi @ row for r in one])
    difference = model.contrast("b", "a")
    assert difference.estimate == pytest.approx(row @ at.phi @ X.T @ at.W @ y, rel=1e-7)
    assert difference.standard_error == pytest.approx(np.sqrt(row @ adjusted @ row), rel=1e-6)
    assert difference.degrees_of_freedom == pytest.approx(
        2 * at.phi[1, 1] ** 2 / (slopes @ spread @ slopes), rel=1e-6
    )


def test_swap_unit_and_origin(walls):
    table = walls(5)
    model = fitted(table)
    one, back = model.contrast("b", "a"), model.contrast("a", "b")
    assert back.estimate == -one.estimate
    assert back.p_value() == one.p_value()
    moved = fitted(table.assign(wall=table["wall"] / 25.4 + 100)).contrast("b", "a")
    assert moved.estimate == pytest.approx(one.estimate / 25.4, rel=1e-6)
    assert moved.p_value(0.1 / 25.4) == pytest.approx(one.p_value(0.1), rel=1e-5)


def test_cells_give_what_readings_give(walls):
    table = walls(6)
    cells = (
        table.groupby(["family", "block", "bore", *FIXED])["wall"]
        .agg(n="size", mean="mean")
        .reset_index()
        .assign(ss=0.0)
    )
    one = fitted(table).contrast("b", "a")
    other = fitted(cells, response="mean").contrast("b", "a")
    assert other.estimate == pytest.approx(one.estimate, abs=1e-9)
    assert other.degrees_of_freedom == pytest.approx(one.degrees_of_freedom, rel=1e-6)


def test_false_alarms_keep_their_level_where_common_spreads_do_not():
    """Few blocks of the family that varies more: nominal 5 in 100."""
    alarms = {"own": 0, "common": 0}
    for seed in range(300):
        table = balanced(seed, blocks=(12, 3), bores=2, readings=1, spread=(0.1, 1.0))
        own = fitted(table, fixed=[]).contrast("b", "a")
        common = nested_fit(
            table, response="wall", fixed=["family"], nesting=["block", "bore"]
        ).contrast("family", "b", "a")
        alarms["own"] += own.p_value() < 0.05
        alarms["common"] += common.p_value() < 0.05
    assert alarms["own"] / 300 < 0.09
    assert alarms["common"] / 300 > 0.15


TWO_READINGS = pd.DataFrame(
    [("b", "z0", "0", "p", "0", 1.0), ("b", "z1", "0", "q", "0", 2.0)],
    columns=["family", "block", "bore", "station", "depth", "wall"],
)


def test_refusals(walls):
    table = walls(1)
    with pytest.raises(Refusal, match="family 'a' has one block"):
        fitted(walls(1, blocks=(1, 4)))
    with pytest.raises(Refusal, match="has one level alone"):
        fitted(table[table["family"] == "a"])
    with pytest.raises(Refusal, match="at least one level of nesting"):
        fitted(table, ())
    shared = table.assign(block=table["block"].replace({"b0": "a0"}))
    with pytest.raises(Refusal, match="block is read under two levels of 'family'"):
        fitted(shared)
    still = table.assign(wall=table["wall"].where(table["family"] == "a", 5.0))
    with pytest.raises(Refusal, match="do not differ at all"):
        fitted(still)
    used_up = pd.concat([table.assign(station=table["station"] + "x"), TWO_READINGS])
    with pytest.raises(Refusal, match="take up all 2 readings of family 'b'"):
        fitted(used_up[(used_up["family"] == "a") | (used_up["block"].str.startswith("z"))])
    with pytest.raises(Refusal, match="no level 'c'"):
        fitted(table).contrast("c", "a")
