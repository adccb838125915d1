"""Group means on a common footing against least squares with every group written out."""

import math

import numpy as np
import pandas as pd
import pytest
import statsmodels.formula.api as smf

from workbench.errors import Refusal
from workbench.inference.means.grouped_means import grouped_means


def readings(seed=1, groups=6, offset=0.0):
    """Give unbalanced readings of groups at stations, some stations missing in some groups."""
    generator = np.random.default_rng(seed)
    rows = []
    for group in range(groups):
        for station, lift in (("a", 0.0), ("b", 1.0), ("c", -0.5)):
            if (group + ord(station)) % 4 == 0:
                continue
            for _ in range(int(generator.integers(1, 4))):
                value = offset + 0.3 * group + lift + generator.normal(0, 0.2)
                rows.append((f"g{group}", station, value))
    return pd.DataFrame(rows, columns=["group", "station", "value"])


def cells(table, by=("group", "station")):
    grouped = table.groupby(list(by))["value"]
    return grouped.agg(
        n="size", mean="mean", ss=lambda v: float(((v - v.mean()) ** 2).sum())
    ).reset_index()


def test_contrast_and_error_against_ordinary_least_squares():
    table = readings()
    means = grouped_means(cells(table), groups=["group"], factors=["station"])
    fit = smf.ols("value ~ 0 + group + station", table).fit()
    coefficients = np.array([1, 1, 1, -1, -1, -1]) / 3
    weighing = means.weigh(coefficients)
    row = np.zeros(len(fit.params))
    row[:6] = coefficients
    wanted = fit.t_test(row)
    assert weighing.estimate == pytest.approx(float(np.squeeze(wanted.effect)), rel=1e-9)
    assert means.residual_df == fit.df_resid
    assert means.residual_variance == pytest.approx(fit.scale, rel=1e-9)
    error = math.sqrt(means.residual_variance * means.variance_of(weighing.weights))
    assert error == pytest.approx(float(np.squeeze(wanted.sd)), rel=1e-9)
    assert weighing.like_with_like


def test_the_weights_are_a_contrast_that_ignores_every_station():
    table = cells(readings())
    weighing = grouped_means(table, groups=["group"], factors=["station"]).weigh(
        np.array([1.0, 0, 0, 0, 0, -1])
    )
    by_station = pd.Series(weighing.weights).groupby(table["station"]).sum()
    assert by_station.to_numpy() == pytest.approx(np.zeros(3), abs=1e-12)
    ours = weighing.weights[table["group"] == "g0"].sum()
    assert ours == pytest.approx(1.0)


def test_the_means_are_those_at_equal_shares_of_the_levels():
    table = readings()
    means = grouped_means(cells(table), groups=["group"], factors=["station"])
    fit = smf.ols("value ~ 0 + group + station", table).fit()
    everywhere = pd.DataFrame(
        [(f"g{g}", s) for g in range(6) for s in "abc"], columns=["group", "station"]
    )
    wanted = fit.predict(everywhere).groupby(everywhere["group"]).mean()
    assert means.means == pytest.approx(wanted.to_numpy(), rel=1e-9)
    assert means.groups["group"].tolist() == list(wanted.index)


def test_within_cells_the_repeats_are_pooled():
    table = readings()
    means = grouped_means(cells(table), groups=["group"], factors=["station"])
    wanted = table.groupby(["group", "station"])["value"]
    assert means.repeat_df == int((wanted.size() - 1).sum())
    assert means.repeat_variance == pytest.approx(
        float((wanted.var().fillna(0) * (wanted.size() - 1)).sum()) / means.repeat_df
    )


def test_a_large_offset_does_not_spoil_the_digits():
    near = grouped_means(cells(readings()), groups=["group"], factors=["station"])
    far = grouped_means(cells(readings(offset=1e6)), groups=["group"], factors=["station"])
    contrast = np.array([1.0, -1, 0, 0, 0, 0])
    assert far.weigh(contrast).estimate == pytest.approx(near.weigh(contrast).estimate, abs=1e-8)


def test_a_factor_that_never_varies_within_groups_corrects_nothing_and_says_so():
    table = pd.DataFrame(
        {
            "group": ["a", "b", "c", "d"],
            "gauge": ["1", "1", "1", "2"],
            "n": [2, 2, 2, 2],
            "mean": [1.0, 2.0, 3.0, 4.0],
            "ss": [0.1, 0.1, 0.1, 0.1],
        }
    )
    means = grouped_means(table, groups=["group"], factors=["gauge"])
    assert means.means.tolist() == [1, 2, 3, 4]
    assert means.residual_df == 4
    assert means.weigh(np.array([1.0, -1, 0, 0])).like_with_like
    assert not means.weigh(np.array([1.0, 0, 0, -1])).like_with_like


def test_without_repeats_or_residual_there_is_no_error():
    table = pd.DataFrame({"group": ["a", "b"], "n": [1, 1], "mean": [1.0, 2.0], "ss": [0.0, 0.0]})
    means = grouped_means(table, groups=["group"], factors=[])
    assert (means.residual_df, means.repeat_df) == (0, 0)
    assert math.isnan(means.residual_variance)
    assert math.isnan(means.repeat_variance)


def test_what_is_no_contrast_or_no_table_is_refused():
    table = cells(readings())
    means = grouped_means(table, groups=["group"], factors=[])
    with pytest.raises(Refusal, match=r"add to 0"):
        means.weigh(np.ones(6))
    with pytest.raises(Refusal, match=r"one coefficient a group"):
        means.weigh(np.array([1.0, -1.0]))
    with pytest.raises(Refusal, match=r"no readings"):
        grouped_means(table.iloc[:0], groups=["group"], factors=[])
