"""Quantiles of families by ranks: against counts of a binomial, and what few blocks cannot say."""

from __future__ import annotations

import re
from collections.abc import Callable

import numpy as np
import pytest
from scipy import stats

from workbench.article.family_tables import block_means_of
from workbench.article.quantile_tables import SHARES, quantiles_table
from workbench.article.sample import Sample


def test_every_row_against_scipy(sample_of_sizes: Callable[..., Sample]) -> None:
    sample = sample_of_sizes({"works": 40})
    means = np.sort(block_means_of(sample)["works"])
    table = quantiles_table(sample)
    assert len(table.rows) == len(SHARES)
    for row, share in zip(table.rows, SHARES, strict=True):
        value = re.match(r"[-0-9.]+", row[2])
        assert value is not None
        expected = stats.mstats.mquantiles(means, [share], alphap=1 / 3, betap=1 / 3)[0]
        assert float(value[0]) == pytest.approx(expected, abs=0.06)
        ends = re.search(r"\((.+) to (.+)\)", row[2])
        if ends is None:
            assert share in (0.1, 0.9)
            continue
        # a binomial count of blocks below: the chance that neither end is passed
        low, high = (int(np.abs(means - float(end)).argmin()) + 1 for end in ends.groups())
        at = stats.binom(means.size, share)
        attained = at.cdf(high - 1) - at.cdf(low - 1)
        assert float(row[3].rstrip("%")) == pytest.approx(100 * attained, abs=0.06)
        assert attained >= 0.95


def test_few_blocks_have_open_ends(sample_of_sizes: Callable[..., Sample]) -> None:
    rows = {row[1]: row for row in quantiles_table(sample_of_sizes({"trophy": 3})).rows}
    assert "no limit either way" in rows["50%"][2]
    assert rows["50%"][3] == ""
    lone = quantiles_table(sample_of_sizes({"trophy": 1}))
    assert lone.rows == ()
    assert "one block are left out" in lone.note


def test_ends_mirror_when_shares_do(sample_of_sizes: Callable[..., Sample]) -> None:
    rows = {row[1]: row for row in quantiles_table(sample_of_sizes({"works": 40})).rows}
    assert rows["25%"][3] == rows["75%"][3]
    assert rows["10%"][3] == rows["90%"][3]
