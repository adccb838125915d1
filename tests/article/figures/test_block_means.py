"""Block means in their intervals."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from workbench.article.figures.block_means import MOST, block_means, interval
from workbench.article.sample import Sample

Maker = Callable[..., Sample]


def test_interval_is_students_over_the_bores() -> None:
    """t table, 3 degrees of freedom, two-sided 95%: 3.182 (printed in any handbook)."""
    low, high = interval(4, 12.0, 0.2, 0.95)
    assert (low, high) == pytest.approx((12 - 3.182 * 0.1, 12 + 3.182 * 0.1), abs=1e-4)


def test_a_single_bore_gives_no_interval(sample_of_sizes: Maker) -> None:
    assert all(map(math.isnan, interval(1, 12.0, math.nan, 0.95)))
    sample = sample_of_sizes({"works": 3})
    sample.blocks["bore_sd"] = math.nan
    assert "3 blocks with a single bore mean: no interval" in block_means(sample).caption


def test_blocks_are_sorted_within_their_family(sample_of_sizes: Maker) -> None:
    data = block_means(sample_of_sizes({"works": 12, "trophy": 3})).data
    assert data["place"].is_monotonic_increasing
    for _, mine in data.groupby("family"):
        assert mine["mean"].is_monotonic_increasing


def test_many_blocks_are_thinned_and_it_is_said(sample_of_sizes: Maker) -> None:
    sample = sample_of_sizes({"works": 500, "trophy": 2})
    picture = block_means(sample)
    assert len(picture.data) <= MOST + 2
    assert "of 502 blocks drawn" in picture.caption
    works = picture.data[picture.data["family"] == "works"]["mean"]
    everything = sample.blocks[sample.blocks["family"] == "works"]["mean"]
    assert (works.min(), works.max()) == (everything.min(), everything.max())
