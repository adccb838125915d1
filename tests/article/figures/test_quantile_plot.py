"""Block means against normal quantiles."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from workbench.article.figures.quantile_plot import quantile_plot
from workbench.article.sample import Sample
from workbench.inference.normal_plot import normal_plot

Maker = Callable[..., Sample]


def test_points_and_band_are_those_of_inference(sample_of_sizes: Maker) -> None:
    sample = sample_of_sizes({"works": 20})
    data = quantile_plot(sample, seed=5).data
    plot = normal_plot(sample.blocks["mean"], 0.95, seed=5)
    for column, expected in (
        ("normal_quantile", plot.theoretical),
        ("block_mean", plot.ordered),
        ("low", plot.low),
        ("high", plot.high),
    ):
        assert data[column].to_list() == pytest.approx(expected.tolist())


def test_a_point_outside_the_band_is_counted_and_ringed(sample_of_sizes: Maker) -> None:
    sample = sample_of_sizes({"works": 20})
    sample.blocks.loc[0, "mean"] = 40.0
    picture = quantile_plot(sample, seed=5)
    plot = normal_plot(sample.blocks["mean"], 0.95, seed=5)
    assert plot.outside > 0
    assert f"20 blocks, {plot.outside} point" in picture.alt
    assert "outside the 95% band" in picture.alt


@pytest.mark.parametrize(("size", "reason"), [(4, "too few blocks"), (1, "too few blocks")])
def test_few_blocks_get_no_band_and_the_reason(
    sample_of_sizes: Maker, size: int, reason: str
) -> None:
    picture = quantile_plot(sample_of_sizes({"works": size}), seed=1)
    assert f"no band: {reason}" in picture.alt
    assert picture.data["low"].isna().all()


def test_equal_blocks_get_no_band(sample_of_sizes: Maker) -> None:
    sample = sample_of_sizes({"works": 6})
    sample.blocks["mean"] = 12.0
    assert "no band: all are equal" in quantile_plot(sample, seed=1).alt
