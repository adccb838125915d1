"""Residual checks: written-out matrices, closed forms, what stands out, refusals."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from workbench.errors import Refusal
from workbench.inference.nested.model import nested_model
from workbench.inference.nested.residuals import normality, residual_checks

FIXED = ["family", "station"]


def fitted(table, nesting=("block", "bore"), fixed=FIXED):
    return nested_model(table, response="wall", fixed=fixed, nesting=nesting)


@pytest.mark.parametrize("nesting", [("block", "bore"), ("block",)])
@pytest.mark.parametrize("seed", [1, 2])
def test_against_matrices_written_out(walls, written, dummies, nesting, seed):
    table = walls(seed)
    model = fitted(table, nesting)
    components = model.fit.variance_components
    theta = [components[name] for name in ("residual", *reversed(nesting))]
    bore = (table["block"] + "/" + table["bore"]).to_numpy(dtype=object)
    groups = [bore, table["block"].to_numpy(dtype=object)][-len(nesting) :]
    at = written(dummies(table, FIXED), groups, theta)
    py = at.P @ table["wall"].to_numpy()
    checks = residual_checks(model)
    for effects in checks.levels[:-1]:
        names = effects.labels[list(effects.labels)].agg("/".join, axis=1)
        labels = bore if effects.level == "bore" else groups[-1]
        for place, name in enumerate(names):
            z = (labels == name).astype(float)
            along, free = z @ py, z @ at.P @ z
            assert effects.effect[place] == pytest.approx(
                components[effects.level] * along, rel=1e-6, abs=1e-9
            )
            assert effects.standardised[place] == pytest.approx(along / free**0.5, rel=1e-6)
    cells = checks.of("residual")
    inner = bore if "bore" in nesting else groups[-1]
    keys = cells.labels[[*nesting]].agg("/".join, axis=1)
    for place in range(len(keys)):
        z = (inner == keys[place]) & (table["station"] == cells.labels["station"][place])
        z = z.to_numpy() / z.sum()
        assert cells.effect[place] == pytest.approx(theta[0] * (z @ py), rel=1e-6)
        assert cells.standardised[place] == pytest.approx(
            (z @ py) / np.sqrt(z @ at.P @ z), rel=1e-6
        )


def rails(extra=0.0):
    rng = np.random.default_rng(5)
    effect = rng.normal(0, 1, 12)
    effect[7] += extra
    block = np.repeat([f"b{place}" for place in range(12)], 4)
    wall = np.repeat(effect, 4) + rng.normal(0, 0.4, 48)
    return pd.DataFrame({"block": block, "wall": wall})


def test_balanced_block_effects_in_closed_form():
    """Block means about their mean, over their own standard deviation."""
    table = rails()
    model = fitted(table, ("block",), [])
    means = table.groupby("block")["wall"].mean()
    components = model.fit.variance_components
    variance = (components["block"] + components["residual"] / 4) * (1 - 1 / 12)
    effects = residual_checks(model).of("block")
    expected = (means - means.mean()) / np.sqrt(variance)
    assert effects.standardised == pytest.approx(expected[effects.labels["block"]].to_numpy())


def test_a_block_far_out_stands_out_alone():
    checks = residual_checks(fitted(rails(extra=20.0), ("block",), []))
    assert checks.of("block").outstanding()["block"].tolist() == ["b7"]
    assert checks.of("block").normality().largest_p < 0.05
    assert residual_checks(fitted(rails(), ("block",), [])).of("block").outstanding().empty


def test_unit_and_origin_do_not_matter(walls):
    table = walls(3)
    plain = residual_checks(fitted(table))
    moved = residual_checks(fitted(table.assign(wall=table["wall"] / 25.4 + 3)))
    for one, other in zip(plain.levels, moved.levels, strict=True):
        assert other.standardised == pytest.approx(one.standardised, rel=1e-5, abs=1e-7)


def test_normality_against_the_library():
    values = np.random.default_rng(6).normal(size=30) ** 3
    found = normality(values)
    assert found.skewness == pytest.approx(stats.skew(values))
    assert found.excess_kurtosis == pytest.approx(stats.kurtosis(values))
    assert (found.shapiro_w, found.shapiro_p) == pytest.approx(tuple(stats.shapiro(values)))
    assert found.largest == values[np.abs(values).argmax()]
    assert found.largest_p == pytest.approx(min(1, 60 * stats.norm.sf(abs(found.largest))))


def test_standardised_effects_are_standard_normal_under_the_model(walls):
    """Pooled over many tables of blocks read unevenly: mean 0 and variance 1."""
    pooled = {"block": [], "bore": [], "residual": []}
    for seed in range(60):
        for effects in residual_checks(fitted(walls(seed, blocks=(6, 6)))).levels:
            pooled[effects.level] += effects.standardised[effects.told].tolist()
    for level, values in pooled.items():
        assert np.mean(values) == pytest.approx(0, abs=4 / np.sqrt(len(values))), level
        assert np.std(values) == pytest.approx(1, abs=0.06), level


def test_refusals(walls):
    with pytest.raises(Refusal, match="no groups with a spread of their own"):
        residual_checks(fitted(walls(1), ()))
    with pytest.raises(Refusal, match="The levels are block, bore, residual; not 'plug'"):
        residual_checks(fitted(walls(1))).of("plug")
    with pytest.raises(Refusal, match="2 effects show no shape"):
        normality(np.array([0.1, 0.4]))
