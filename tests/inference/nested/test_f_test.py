"""The F test of several differences: one row is a t, exact where balanced, any basis, refusals."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from workbench.errors import Refusal
from workbench.inference.nested.f_test import f_test
from workbench.inference.nested.fit import nested_fit

FIXED = ["family", "station", "depth"]
ROWS = [{"station=1": 1.0}, {"station=2": 1.0}]


def fitted(table, fixed=FIXED, nesting=("block", "bore")):
    return nested_fit(table, response="wall", fixed=fixed, nesting=nesting)


def test_one_row_is_the_square_of_its_t(walls):
    for seed in range(5):
        fit = fitted(walls(seed))
        found, t = f_test(fit, [{"family=b": 1.0}]), fit.contrast("family", "b", "a")
        assert found.statistic == pytest.approx(t.statistic() ** 2, rel=1e-8)
        assert found.denominator == pytest.approx(t.degrees_of_freedom, rel=1e-8)
        assert found.scaling == pytest.approx(1, abs=1e-8)
        assert found.p_value == pytest.approx(t.p_value(), rel=1e-7)


def test_balanced_families_are_the_analysis_of_variance_of_block_means():
    rng = np.random.default_rng(2)
    block = np.repeat(np.arange(12), 4)
    table = pd.DataFrame({
        "family": np.array(list("abc"))[block % 3], "block": block.astype(str),
        "wall": rng.normal(0, 1, 12)[block] + rng.normal(0, 0.5, 48),
    })  # fmt: skip
    means = table.groupby(["family", "block"])["wall"].mean()
    expected = stats.f_oneway(*(means[family] for family in "abc"))
    found = f_test(fitted(table, ["family"], ["block"]), [{"family=b": 1.0}, {"family=c": 1.0}])
    assert (found.numerator, found.denominator) == (2, pytest.approx(9, rel=1e-7))
    assert found.statistic == pytest.approx(expected.statistic, rel=1e-7)
    assert found.p_value == pytest.approx(expected.pvalue, rel=1e-6)


def test_any_rows_that_span_the_same_give_the_same(walls):
    fit = fitted(walls(3))
    plain = f_test(fit, ROWS)
    turned = [{"station=1": 2.0, "station=2": -1.0}, {"station=1": 1.0, "station=2": 5.0}]
    doubled = [*ROWS, {"station=1": 1.0, "station=2": -1.0}]
    for rows in (turned, doubled):
        found = f_test(fit, rows)
        assert found.numerator == 2
        assert found.statistic == pytest.approx(plain.statistic, rel=1e-8)
        assert found.denominator == pytest.approx(plain.denominator, rel=1e-7)


def test_unit_and_names_do_not_matter(walls):
    table = walls(4)
    plain = f_test(fitted(table), ROWS)
    inches = f_test(fitted(table.assign(wall=table["wall"] / 25.4 + 9)), ROWS)
    renamed = table.assign(station=table["station"].map({"0": "2", "1": "1", "2": "0"}))
    for other in (inches, f_test(fitted(renamed), ROWS)):
        assert other.statistic == pytest.approx(plain.statistic, rel=1e-6)
        assert other.p_value == pytest.approx(plain.p_value, rel=1e-5)


def test_level(walls):
    """Stations that do not differ, among few blocks: nominal 5 in 100."""
    alarms = 0
    for seed in range(200):
        table = walls(seed, blocks=(3, 3))
        table["wall"] -= 0.2 * table["station"].astype(int)
        alarms += f_test(fitted(table), ROWS).p_value < 0.05
    assert alarms / 200 == pytest.approx(0.05, abs=0.045)


def test_refusals(walls):
    fit = fitted(walls(1))
    with pytest.raises(Refusal, match="no difference to test"):
        f_test(fit, [])
    with pytest.raises(Refusal, match="no column 'station=9'"):
        f_test(fit, [{"station=9": 1.0}])
    with pytest.raises(Refusal, match="one of them not zero"):
        f_test(fit, [{"station=1": 0.0}])
