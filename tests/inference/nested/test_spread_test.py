"""Common against own spreads: level, power, unit, draws, refusals."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from workbench.errors import Refusal
from workbench.inference.nested.products import NestedDesign
from workbench.inference.nested.reml import maximise
from workbench.inference.nested.spread_test import joined, nested_spread_test
from workbench.inference.nested.unequal import unequal_model


def blocks(seed, spread=(1.0, 1.0), many=5, readings=3):
    rng = np.random.default_rng(seed)
    rows = [
        (family, f"{family}{block}", value)
        for family, sd in zip("ab", spread, strict=True)
        for block in range(many)
        for value in rng.normal(0, sd) + rng.normal(0, 0.5 * sd, readings)
    ]
    return pd.DataFrame(rows, columns=["family", "block", "wall"])


def fitted(table, nesting=("block",), fixed=()):
    return unequal_model(table, response="wall", by="family", fixed=fixed, nesting=nesting)


def test_statistic_in_closed_form():
    """Balanced, one level: REML is chi-square in the mean squares of blocks and of readings."""
    table = blocks(1, spread=(0.5, 1.5))
    own = common = 0.0
    squares = {}
    for family, rows in table.groupby("family"):
        means = rows.groupby("block")["wall"].mean()
        apart = rows["wall"] - rows.groupby("block")["wall"].transform("mean")
        squares[family] = (3 * means.var(), (apart**2).sum() / 10)
    for place, freedom in enumerate((4, 10)):
        both = np.mean([squares[family][place] for family in "ab"])
        common += 2 * freedom * np.log(both)
        own += sum(freedom * np.log(squares[family][place]) for family in "ab")
    found = nested_spread_test(fitted(table), seed=1, resamples=19)
    assert found.statistic == pytest.approx(common - own, rel=1e-6)
    assert found.parameters == 2
    assert found.chi_square_p == pytest.approx(stats.chi2.sf(found.statistic, 2))


def test_families_put_together_again_are_the_common_model(walls):
    for nesting in (("block", "bore"), ("block",)):
        model = fitted(walls(3), nesting, ("station", "depth"))
        again = maximise(NestedDesign(sums=joined(model.design.parts)))
        whole = maximise(NestedDesign(sums=model.equal_sums))
        assert again.at.criterion == pytest.approx(whole.at.criterion, abs=1e-8)
        assert again.at.theta == pytest.approx(whole.at.theta, rel=1e-6, abs=1e-9)


def test_unlike_spreads_are_seen_and_alike_ones_are_not():
    assert (
        nested_spread_test(fitted(blocks(2, spread=(0.1, 2.0))), seed=1, resamples=99).p_value
        < 0.02
    )
    assert nested_spread_test(fitted(blocks(2)), seed=1, resamples=99).p_value > 0.1


def test_level_of_the_bootstrap():
    p = [
        nested_spread_test(fitted(blocks(seed)), seed=seed, resamples=19).p_value
        for seed in range(60)
    ]
    assert np.mean(np.array(p) <= 0.1) == pytest.approx(0.1, abs=0.11)
    assert np.mean(p) == pytest.approx(0.5, abs=0.12)


def test_same_seed_same_answer_and_unit_does_not_matter(walls):
    table = walls(4)
    model = fitted(table, ("block", "bore"), ("station",))
    one = nested_spread_test(model, seed=5, resamples=19)
    assert nested_spread_test(model, seed=5, resamples=19) == one
    inches = fitted(table.assign(wall=table["wall"] / 25.4), ("block", "bore"), ("station",))
    other = nested_spread_test(inches, seed=5, resamples=19)
    assert other.statistic == pytest.approx(one.statistic, abs=1e-6)
    assert other.p_value == one.p_value


def test_refusals(walls):
    with pytest.raises(Refusal, match="18 draws tell no p"):
        nested_spread_test(fitted(blocks(1)), seed=1, resamples=18)
    table = walls(1)
    first = ~table.duplicated(["block", "bore"])
    lean = table[(table["family"] == "a") | first]  # one reading a bore in family b
    with pytest.raises(Refusal, match="Not every family was read so that"):
        nested_spread_test(fitted(lean, ("block", "bore")), seed=1)


def test_families_alike_end_the_draws_early_and_unlike_ones_do_not():
    """Besag and Clifford (1991): p is the share of draws as far out, once there are enough."""
    alike = fitted(blocks(4))
    found = nested_spread_test(alike, seed=2, resamples=199, enough=5)
    assert found.resamples < 199
    assert found.p_value == pytest.approx(5 / found.resamples)
    whole = nested_spread_test(alike, seed=2, resamples=199)
    assert found.p_value == pytest.approx(whole.p_value, abs=0.25)
    unlike = fitted(blocks(5, spread=(0.2, 6.0), many=8))
    again = nested_spread_test(unlike, seed=2, resamples=99, enough=5)
    assert again == nested_spread_test(unlike, seed=2, resamples=99)
