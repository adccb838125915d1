"""Means of families together, by drawing, and the next blocks: against libraries, and refusals."""

from __future__ import annotations

import re
from collections.abc import Callable

import numpy as np
import pytest
from scipy import stats

from workbench.article.family_tables import block_means_of
from workbench.article.mean_tables import NEXT, mean_intervals_table
from workbench.article.sample import Sample


def ends(words: str) -> tuple[float, float]:
    found = re.search(r"\((.+) to (.+)\)", words)
    assert found is not None
    return float(found[1]), float(found[2])


def test_each_column_against_scipy(sample_of_sizes: Callable[..., Sample]) -> None:
    sample = sample_of_sizes({"works": 12, "deepdeck": 6, "trophy": 3})
    table = mean_intervals_table(sample)
    for row, means in zip(table.rows, block_means_of(sample).values(), strict=True):
        error = means.std(ddof=1) / np.sqrt(means.size)
        together = stats.t.interval(1 - 0.05 / 3, means.size - 1, means.mean(), error)
        assert ends(row[1]) == pytest.approx(together, abs=0.06)  # shown to 0.1
        if means.size < 5:
            assert row[2] == "too few blocks"
        else:
            drawn = stats.bootstrap(
                (means,), np.mean, n_resamples=20_000, vectorized=True, method="BCa", rng=1
            ).confidence_interval
            assert ends(row[2]) == pytest.approx((drawn.low, drawn.high), abs=0.1)
        # all of the next: wider than one, tighter than as many apart after Bonferroni
        spread = means.std(ddof=1) * np.sqrt(1 + 1 / means.size)
        one = stats.t.interval(0.95, means.size - 1, means.mean(), spread)
        apart = stats.t.interval(1 - 0.05 / NEXT, means.size - 1, means.mean(), spread)
        low, high = ends(row[3])
        assert apart[0] - 0.06 <= low < one[0]
        assert one[1] < high <= apart[1] + 0.06


def test_one_block_is_left_out_and_said(sample_of_sizes: Callable[..., Sample]) -> None:
    table = mean_intervals_table(sample_of_sizes({"works": 6, "single": 1}))
    assert len(table.rows) == 1
    assert "one block are left out: 1" in table.note
    assert mean_intervals_table(sample_of_sizes({"single": 1})).rows == ()
