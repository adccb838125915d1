"""Histograms in whole gauge steps."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from workbench.article.figures.distribution import bin_edges, distribution
from workbench.article.sample import Sample

Maker = Callable[..., Sample]


@pytest.mark.parametrize("step", [0.01, 0.05, 0.0254, 0.1])
def test_bins_are_whole_steps_half_a_step_off_every_value(
    sample_of_sizes: Maker, step: float
) -> None:
    sample = sample_of_sizes({"works": 20, "trophy": 3})
    rounded = np.round(sample.distinct["value"] / step) * step
    sample = replace(sample, step=step, distinct=sample.distinct.assign(value=rounded))
    edges = bin_edges(sample)
    widths = np.diff(edges) / step
    assert widths == pytest.approx(np.full(widths.size, widths[0].round()))
    away = (edges[:, None] - rounded.to_numpy()[None, :]) / step
    assert np.abs(away).min() == pytest.approx(0.5)
    used = rounded[sample.distinct["counted"]]
    assert edges[0] < used.min()
    assert used.max() < edges[-1]


def test_outlines_hold_each_familys_share_and_every_reading(sample_of_sizes: Maker) -> None:
    sample = sample_of_sizes({"works": 20, "trophy": 3})
    picture = distribution(sample)
    width = np.diff(bin_edges(sample))[0]
    for axes in picture.figure.axes:
        x, y = axes.collections[0].get_paths()[0].vertices.T
        area = abs(x @ np.roll(y, 1) - y @ np.roll(x, 1)) / 2
        assert area / width == pytest.approx(100)
    readings = picture.data.groupby("family")["readings"].sum().to_dict()
    assert readings == {"works": 240, "trophy": 36}


def test_words_agree_with_the_readings_written_out(sample_of_sizes: Maker) -> None:
    sample = sample_of_sizes({"works": 20})
    used = sample.distinct[sample.distinct["counted"]]
    values = pd.Series(np.repeat(used["value"].to_numpy(), used["count"].to_numpy()))
    low, middle, high = np.quantile(values, [0.25, 0.5, 0.75], method="inverted_cdf")
    assert (
        f"20 blocks, 240 readings, from {values.min():.2f} to {values.max():.2f} mm, median "
        f"{middle:.2f} mm, middle half {low:.2f} to {high:.2f} mm"
    ) in distribution(sample).alt


def test_equal_readings_are_one_bin(sample_of_sizes: Maker) -> None:
    sample = sample_of_sizes({"works": 3})
    same = sample.distinct.assign(value=12.0).drop_duplicates(["family", "counted"])
    edges = bin_edges(replace(sample, distinct=same))
    assert edges == pytest.approx([11.995, 12.005])
