"""Crossed random groups: the nested solver and written-out matrices as second ways, refusals."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from workbench.errors import Refusal
from workbench.inference.nested.crossed import crossed_effects_fit
from workbench.inference.nested.crossed_fit import crossed_fit
from workbench.inference.nested.fit import nested_fit

NESTED = {"block": ["block"], "bore": ["block", "bore"]}
FIXED = ["family", "station", "depth"]
MANY = {"block": ["block"], "gauge": ["gauge"], "operator": ["operator"]}


def crossed(seed, keep=0.4):
    rng = np.random.default_rng(seed)
    block, gauge, operator = rng.normal(0, 0.5, 8), rng.normal(0, 0.3, 6), rng.normal(0, 0.2, 5)
    rows = [
        ("a" if b < 3 else "b", f"b{b}", f"g{g}", f"o{o}",
         6 + block[b] + gauge[g] + operator[o] + rng.normal(0, 0.1))
        for b in range(8) for g in range(6) for o in range(5) if rng.random() < keep
    ]  # fmt: skip
    return pd.DataFrame(rows, columns=["family", "block", "gauge", "operator", "wall"])


def fitted(table, random=MANY, fixed=("family",), response="wall"):
    return crossed_effects_fit(table, response=response, fixed=fixed, random=random)


def assert_alike(one, other, rel=1e-6):
    assert other.estimate == pytest.approx(one.estimate, rel=rel, abs=1e-9)
    assert other.standard_error == pytest.approx(one.standard_error, rel=rel)
    assert other.degrees_of_freedom == pytest.approx(one.degrees_of_freedom, rel=rel)


@pytest.mark.parametrize("spread", [(1.0, 0.6, 0.3), (0.05, 0.6, 0.3), (1.0, 0.02, 0.3)])
@pytest.mark.parametrize("seed", [0, 1])
def test_nested_groups_give_what_the_nested_solver_gives(walls, seed, spread):
    table = walls(seed, spread=spread)
    nested = nested_fit(table, response="wall", fixed=FIXED, nesting=list(NESTED))
    found = fitted(table, NESTED, FIXED)
    assert found.reml_criterion == pytest.approx(nested.reml_criterion, abs=1e-7)
    assert found.boundary == nested.boundary
    for name, variance in nested.variance_components.items():
        assert found.variance_components[name] == pytest.approx(variance, rel=1e-5, abs=1e-9)
    for how in (("kenward-roger",), ("satterthwaite", "observed")):
        assert_alike(
            nested.contrast("family", "b", "a", *how), found.contrast("family", "b", "a", *how)
        )


@pytest.mark.parametrize("seed", [1, 2])
def test_against_matrices_written_out(written, dummies, seed):
    table = crossed(seed)
    fit = fitted(table)
    theta = [fit.variance_components[name] for name in ("residual", *MANY)]
    X, y = dummies(table, ["family"]), table["wall"].to_numpy()
    at = written(X, [table[name].to_numpy() for name in MANY], theta)
    assert fit.reml_criterion == pytest.approx(at.criterion(y), abs=1e-8)
    py = at.P @ y
    for part, variance in zip(at.parts, theta, strict=True):
        slope = py @ part @ py - np.trace(at.P @ part)
        assert variance > 0
        assert slope * variance == pytest.approx(0, abs=1e-5)  # the maximum
    assert fit.covariance == pytest.approx(at.phi, rel=1e-8)
    spread = at.spread_of_components
    row = np.array([0.0, 1.0])
    slopes = np.array([row @ at.phi @ X.T @ at.W @ r @ at.W @ X @ at.phi @ row for r in at.parts])
    difference = fit.contrast("family", "b", "a", "satterthwaite")
    assert difference.degrees_of_freedom == pytest.approx(
        2 * at.phi[1, 1] ** 2 / (slopes @ spread @ slopes), rel=1e-6
    )


def test_one_mean_gives_what_the_gauge_study_solver_gives():
    table = crossed(3)
    other = crossed_fit({name: table[name] for name in MANY}, table["wall"])
    found = fitted(table, fixed=())
    assert found.reml_criterion == pytest.approx(other.criterion, abs=1e-6)
    for name in MANY:
        assert found.variance_components[name] == pytest.approx(other.variances[name], rel=1e-3)


def test_repeats_reduce_to_cells():
    table = pd.concat([crossed(4)] * 3, ignore_index=True)
    table["wall"] += np.random.default_rng(5).normal(0, 0.1, len(table))
    keys = ["family", "block", "gauge", "operator"]
    cells = table.groupby(keys)["wall"].agg(n="size", mean="mean", var="var").reset_index()
    cells["ss"] = cells["var"] * (cells["n"] - 1)
    one, other = fitted(table), fitted(cells, response="mean")
    assert other.reml_criterion == pytest.approx(one.reml_criterion, abs=1e-7)
    assert other.counts == one.counts == {"block": 8, "gauge": 6, "operator": 5,
                                          "reading": len(table)}  # fmt: skip
    assert_alike(one.contrast("family", "b", "a"), other.contrast("family", "b", "a"))


def test_swap_unit_and_origin():
    table = crossed(6)
    fit = fitted(table)
    one, back = fit.contrast("family", "b", "a"), fit.contrast("family", "a", "b")
    assert back.estimate == -one.estimate
    assert back.p_value() == one.p_value()
    moved = fitted(table.assign(wall=table["wall"] / 25.4 - 70)).contrast("family", "b", "a")
    assert moved.estimate == pytest.approx(one.estimate / 25.4, rel=1e-5)
    assert moved.p_value() == pytest.approx(one.p_value(), rel=1e-5)


def test_the_order_of_components_and_rows_does_not_matter():
    table = crossed(7)
    turned = {name: MANY[name] for name in reversed(MANY)}
    one = fitted(table).contrast("family", "b", "a")
    other = fitted(table.sample(frac=1, random_state=1), turned).contrast("family", "b", "a")
    assert_alike(one, other)


def test_refusals():
    table = crossed(8)
    with pytest.raises(Refusal, match="Each random component has a name"):
        fitted(table, {})
    with pytest.raises(Refusal, match="Each random component has a name"):
        fitted(table, {"residual": ["block"]})
    with pytest.raises(Refusal, match="no column 'shop'"):
        fitted(table, {"shop": ["shop"]})
    with pytest.raises(Refusal, match="All readings lie in one gauge"):
        fitted(table[table["gauge"] == "g1"])
    with pytest.raises(Refusal, match="cannot tell the spread of"):
        fitted(table, {"block": ["block"], "again": ["block", "family"]})
    lone = table.assign(number=np.arange(len(table)).astype(str))
    with pytest.raises(Refusal, match="cannot tell the spread of"):
        fitted(lone, {"number": ["number"]})
    with pytest.raises(Refusal, match="there is no spread to judge by"):
        fitted(table.assign(wall=1.0))
    many = pd.DataFrame({"piece": np.arange(4002) // 2, "wall": np.random.default_rng(1).normal(
        size=4002)})  # fmt: skip
    with pytest.raises(Refusal, match=r"2001 groups \(2001 of piece\) are more than the 2000"):
        fitted(many.astype({"piece": str}), {"piece": ["piece"]}, ())
    with pytest.raises(Refusal, match="has no label in 1 of"):
        fitted(table.assign(gauge=table["gauge"].where(table.index > 0)))
