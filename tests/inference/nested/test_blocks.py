"""Predicted block means: written-out matrices, closed forms, limits, coverage, refusals."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from workbench.errors import Refusal
from workbench.inference.nested.blocks import footing, predicted_blocks
from workbench.inference.nested.model import nested_model

FIXED = ["family", "station", "depth"]


def fitted(table, nesting=("block", "bore"), fixed=FIXED):
    return nested_model(table, response="wall", fixed=fixed, nesting=nesting)


@pytest.mark.parametrize("nesting", [("block", "bore"), ("block",)])
@pytest.mark.parametrize("spread", [(1.0, 0.6, 0.3), (0.02, 0.6, 0.3), (0.3, 0.02, 0.3)])
def test_against_matrices_written_out(walls, written, dummies, nesting, spread):
    """Estimate k'y, error k'Vk - 2 theta k'z + theta, and what k moves with the variances."""
    table = walls(1, spread=spread)
    model = fitted(table, nesting)
    components = model.fit.variance_components
    theta = np.array([components[name] for name in ("residual", *reversed(nesting))])
    block = table["block"].to_numpy(dtype=object)
    groups = [(table["block"] + "/" + table["bore"]).to_numpy(dtype=object), block]
    X, y = dummies(table, FIXED), table["wall"].to_numpy()
    at = written(X, groups[-len(nesting) :], theta)
    spread_of = at.spread_of_components

    def predictor(theta, row, z):
        here = written(X, groups[-len(nesting) :], theta)
        return here.W @ here.X @ here.phi @ row + theta[-1] * here.P @ z

    names = model.labels("block")["block"]
    for found, name, row in zip(predicted_blocks(model), names, footing(model), strict=True):
        z = (block == name).astype(float)
        k = predictor(theta, row, z)
        error = k @ at.V @ k - 2 * theta[-1] * (k @ z) + theta[-1]
        slopes = np.array([k @ part @ k for part in at.parts])
        slopes[-1] += 1 - 2 * k @ z
        moves = []
        for place in range(len(theta)):
            step = np.zeros_like(theta)
            step[place] = 1e-5 * max(theta[place], 1e-3 * theta[0])
            moves.append(
                (predictor(theta + step, row, z) - predictor(theta - step, row, z))
                / (2 * step[place])
            )
        added = sum(
            spread_of[r, s] * moves[r] @ at.V @ moves[s]
            for r in range(len(theta))
            for s in range(len(theta))
        )
        assert found.block == name
        assert found.estimate == pytest.approx(k @ y, rel=1e-8)
        assert found.standard_error == pytest.approx(np.sqrt(error + 2 * added), rel=1e-6)
        assert found.degrees_of_freedom == pytest.approx(
            2 * error**2 / (slopes @ spread_of @ slopes), rel=1e-6
        )


def balanced(seed=3, blocks=6, readings=4, between=1.0):
    rng = np.random.default_rng(seed)
    block = np.repeat([f"b{place}" for place in range(blocks)], readings)
    effect = np.repeat(rng.normal(0, between, blocks), readings)
    return pd.DataFrame({"block": block, "wall": 6 + effect + rng.normal(0, 0.5, len(block))})


def test_balanced_blocks_are_drawn_in_by_the_share_their_mean_squares_give():
    """Kept: 1 - MS within / MS between (Searle, Casella and McCulloch 1992, section 3.4)."""
    table = balanced()
    means = table.groupby("block")["wall"].mean()
    within = table.groupby("block")["wall"].var().mean()
    share = 1 - within / (4 * means.var())
    for found in predicted_blocks(fitted(table, ("block",), [])):
        assert found.kept == pytest.approx(share, rel=1e-8)
        assert found.own_mean == pytest.approx(means[found.block])
        assert found.family_mean == pytest.approx(means.mean())
        assert found.estimate == pytest.approx(
            means.mean() + share * (means[found.block] - means.mean())
        )


def test_blocks_that_do_not_differ_are_predicted_at_their_family():
    table = balanced(between=0.0, seed=8)
    model = fitted(table, ("block",), [])
    assert model.fit.boundary == ("block",)
    for found in predicted_blocks(model):
        assert found.kept == 0
        assert found.estimate == found.family_mean
        assert found.standard_error > model.fit.fixed_effects[0].standard_error


def test_unit_and_origin_move_with_the_answer(walls):
    table = walls(2)
    plain = predicted_blocks(fitted(table))
    moved = predicted_blocks(fitted(table.assign(wall=table["wall"] / 25.4 + 3)))
    for one, other in zip(plain, moved, strict=True):
        assert other.estimate == pytest.approx(one.estimate / 25.4 + 3, rel=1e-8)
        assert other.standard_error == pytest.approx(one.standard_error / 25.4, rel=1e-6)
        assert other.degrees_of_freedom == pytest.approx(one.degrees_of_freedom, rel=1e-6)


def test_renamed_families_predict_the_same_blocks(walls):
    table = walls(4)
    renamed = table.assign(family=table["family"].map({"a": "z", "b": "b"}))
    plain = {found.block: found for found in predicted_blocks(fitted(table))}
    for found in predicted_blocks(fitted(renamed)):
        assert found.estimate == pytest.approx(plain[found.block].estimate, abs=1e-8)
        assert found.standard_error == pytest.approx(plain[found.block].standard_error, rel=1e-6)


def test_more_readings_of_a_block_keep_more_of_it():
    table = balanced()
    fewer = table[~((table["block"] == "b0") & (table.groupby("block").cumcount() > 0))]
    found = {one.block: one for one in predicted_blocks(fitted(fewer, ("block",), []))}
    assert found["b0"].kept < found["b1"].kept
    assert found["b0"].standard_error > found["b1"].standard_error


def test_coverage_of_the_true_block_means():
    """Six blocks of three readings: a little over its name, as doubling what moves errs safely."""
    rng = np.random.default_rng(11)
    hits = []
    for _ in range(250):
        true = rng.normal(6, 0.4, 6)
        table = pd.DataFrame({"block": np.repeat(list("abcdef"), 3), "wall": np.repeat(true, 3)})
        table["wall"] += rng.normal(0, 0.5, len(table))
        predicted = predicted_blocks(fitted(table, ("block",), []))
        hits += [one.interval().contains(mean) for one, mean in zip(predicted, true, strict=True)]
    assert 0.94 < np.mean(hits) < 0.985


def test_refusals(walls):
    with pytest.raises(Refusal, match="no groups with a spread of their own"):
        predicted_blocks(fitted(walls(1), ()))
    with pytest.raises(Refusal, match="Confidence must lie"):
        predicted_blocks(fitted(walls(1)))[0].interval(1.0)
