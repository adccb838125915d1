"""Profile intervals of variances, ratios and shares: closed forms, mirrors, coverage, refusals."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest
from scipy.optimize import brentq, minimize_scalar
from scipy.stats import chi2

from workbench.errors import Refusal
from workbench.inference.nested.components import (
    component_interval,
    ratio_interval,
    share_interval,
)
from workbench.inference.nested.model import nested_model
from workbench.inference.nested.unequal import unequal_model


def blocks(seed=1, many=6, readings=5, between=1.0):
    rng = np.random.default_rng(seed)
    effect = np.repeat(rng.normal(0, between, many), readings)
    wall = effect + rng.normal(0, 1, many * readings)
    return pd.DataFrame({"block": np.repeat([f"b{i}" for i in range(many)], readings),
                         "wall": wall})  # fmt: skip


def fitted(table, nesting=("block",), fixed=()):
    return nested_model(table, response="wall", fixed=fixed, nesting=nesting)


def one_way(table, freedom):
    """Minus twice the log-likelihood of a balanced one-way layout, up to a constant."""
    groups = table.groupby("block")["wall"]
    many, readings = groups.ngroups, len(table) // groups.ngroups
    between = readings * groups.mean().var() * (many - 1)
    within = groups.var().sum() * (readings - 1)

    def criterion(block, residual):
        upper = residual + readings * block
        return (
            freedom * math.log(upper)
            + between / upper
            + many * (readings - 1) * math.log(residual)
            + within / residual
        )

    return criterion


@pytest.mark.parametrize("restricted", [True, False])
def test_against_the_balanced_one_way_layout(restricted):
    """Ends by nested scalar searches of the likelihood in the two mean squares."""
    table = blocks()
    criterion = one_way(table, 5 if restricted else 6)

    def profile(value, place):
        def other(log):
            both = [math.exp(log)] * 2
            both[place] = value
            return criterion(*both)

        return minimize_scalar(other, bounds=(-12, 6), method="bounded",
                               options={"xatol": 1e-10}).fun  # fmt: skip

    model = fitted(table)
    for place, name in enumerate(("block", "residual")):
        found = component_interval(model, name, restricted=restricted)
        bound = profile(found.estimate, place) + chi2.ppf(0.95, 1)

        def above(value, place=place, bound=bound):
            return profile(value, place) - bound

        low = brentq(above, 1e-3 * found.estimate, found.estimate)
        high = brentq(above, found.estimate, 50 * found.estimate)
        assert (found.low, found.high) == pytest.approx((low, high), rel=1e-5)


def test_a_ratio_mirrors_and_a_share_completes(walls):
    model = fitted(walls(3), ("block", "bore"), ["family", "station"])
    for above, below in (("block", "residual"), ("bore", "residual"), ("block", "bore")):
        found, back = ratio_interval(model, above, below), ratio_interval(model, below, above)
        assert back.estimate == pytest.approx(1 / found.estimate)
        assert back.low == pytest.approx(1 / found.high, rel=1e-5)
        if found.low > 0:
            assert back.high == pytest.approx(1 / found.low, rel=1e-5)
        else:
            assert back.high == math.inf
    part, rest = share_interval(model, ["residual"]), share_interval(model, ["block", "bore"])
    assert rest.estimate == pytest.approx(1 - part.estimate)
    assert (rest.low, rest.high) == pytest.approx((1 - part.high, 1 - part.low), rel=1e-5)


def test_with_two_components_share_and_ratio_are_one_question():
    model = fitted(blocks(4))
    ratio, share = ratio_interval(model, "block", "residual"), share_interval(model, ["block"])
    for end in ("low", "high", "estimate"):
        odds = getattr(ratio, end)
        assert getattr(share, end) == pytest.approx(odds / (1 + odds), rel=1e-5)


def test_unit_squares(walls):
    table = walls(2)
    plain = fitted(table, ("block", "bore"), ["family"])
    inches = fitted(table.assign(wall=table["wall"] / 25.4), ("block", "bore"), ["family"])
    for name in ("block", "bore", "residual"):
        one, other = component_interval(plain, name), component_interval(inches, name)
        assert (other.low, other.high) == pytest.approx(
            (one.low / 25.4**2, one.high / 25.4**2), rel=1e-5
        )
    one, other = share_interval(plain, ["block"]), share_interval(inches, ["block"])
    assert (other.low, other.high) == pytest.approx((one.low, one.high), rel=1e-5)


def test_an_estimate_of_zero_has_an_upper_end(walls):
    model = fitted(blocks(2, between=0.0))
    assert model.fit.boundary == ("block",)
    for found in (
        component_interval(model, "block"),
        share_interval(model, ["block"]),
        ratio_interval(model, "block", "residual"),
    ):
        assert found.estimate == 0
        assert found.low == 0
        assert 0 < found.high < 1


@pytest.mark.parametrize("confidence", [0.5, 0.8, 0.95, 0.99])
def test_more_confidence_is_wider_and_zero_is_in_when_the_ratio_test_says_so(confidence):
    """0 lies inside exactly when twice the loss of likelihood at 0 is below the chi-square."""
    for seed in range(6):
        table = blocks(seed, between=0.5)
        model = fitted(table)
        without = nested_model(table, response="wall", fixed=[], nesting=[])
        loss = without.fit.reml_criterion - model.fit.reml_criterion
        found = component_interval(model, "block", confidence)
        assert (found.low == 0) == (loss <= chi2.ppf(confidence, 1))
        wider = component_interval(model, "block", (1 + confidence) / 2)
        assert wider.low <= found.low
        assert wider.high > found.high


def test_coverage():
    rng = np.random.default_rng(3)
    hits = {"block": 0, "residual": 0, "share": 0}
    for _ in range(60):
        model = fitted(blocks(int(rng.integers(1 << 30)), many=12, readings=3))
        for name in ("block", "residual"):
            hits[name] += component_interval(model, name, 0.9).contains(1.0)
        hits["share"] += share_interval(model, ["block"], 0.9).contains(0.5)
    for name, count in hits.items():
        assert count / 60 == pytest.approx(0.9, abs=0.1), name


def test_spreads_by_family_compare_as_a_ratio(walls):
    model = unequal_model(
        walls(4, blocks=(6, 6)), response="wall", by="family", fixed=["station"],
        nesting=["block", "bore"],
    )  # fmt: skip
    found = ratio_interval(model, "residual of b", "residual of a")
    back = ratio_interval(model, "residual of a", "residual of b")
    assert (back.low, back.high) == pytest.approx((1 / found.high, 1 / found.low), rel=1e-5)
    assert found.contains(1.0)  # drawn with one spread
    assert component_interval(model, "bore of a").low >= 0
    with pytest.raises(Refusal, match="A share is of one component"):
        share_interval(model, ["block of a"])


def test_refusals():
    model = fitted(blocks())
    with pytest.raises(Refusal, match="The components are residual, block; not 'bore'"):
        component_interval(model, "bore")
    with pytest.raises(Refusal, match="over itself is 1"):
        ratio_interval(model, "block", "block")
    for names in ([], ["block", "residual"]):
        with pytest.raises(Refusal, match="A share is of one component, or of all but one"):
            share_interval(model, names)
    with pytest.raises(Refusal, match="is estimated at 0; a ratio to it has no value"):
        ratio_interval(fitted(blocks(2, between=0.0)), "residual", "block")
    with pytest.raises(Refusal, match="Confidence must lie"):
        component_interval(model, "block", 1.0)


def test_a_variance_that_is_alone_has_the_closed_interval_of_a_normal_sample():
    """One value a block: d.f. x (log v - log s2 + s2 / v - 1) is the chi-square point (derived)."""
    values = np.array([4.1, 3.7, 4.6, 4.9, 3.2, 4.4, 4.0])
    table = pd.DataFrame({"block": [str(n) for n in range(7)], "wall": values})
    model = nested_model(table, response="wall", fixed=[], nesting=["block"])
    found = component_interval(model, "residual")
    variance = values.var(ddof=1)
    assert found.estimate == pytest.approx(variance)
    for end in (found.low, found.high):
        apart = 6 * (np.log(end / variance) + variance / end - 1)
        assert apart == pytest.approx(chi2.ppf(0.95, 1), rel=1e-6)


def test_a_share_that_is_all_there_is_mirrors_that_of_nothing():
    """A reading 300 times further off than any other leaves nothing to blocks and bores."""
    rng = np.random.default_rng(5)
    table = pd.DataFrame(
        [
            (f"b{i}", f"b{i}/{j}", rng.normal(0, 0.01))
            for i in range(6)
            for j in (1, 2)
            for _ in "ab"
        ],
        columns=["block", "bore", "wall"],
    )
    table.loc[3, "wall"] = 300.0
    model = fitted(table, nesting=("block", "bore"))
    residual = model.design.residuals[0]
    left = model.design.components[residual]
    alone = share_interval(model, [left], 0.95)
    others = share_interval(model, [n for n in model.design.components if n != left], 0.95)
    assert alone.estimate == pytest.approx(1.0, abs=1e-6)
    assert 0 < alone.low < 1
    assert (alone.low, alone.high) == pytest.approx((1 - others.high, 1 - others.low), abs=1e-5)
