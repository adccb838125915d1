"""Tables of several families: the numbers of scipy, in words; too little to compare said."""

from __future__ import annotations

import re
from collections.abc import Callable

import lxml.html
import numpy as np
import pytest
from scipy import stats

from workbench.article.family_tables import (
    MOST_FAMILIES,
    block_means_of,
    equality_table,
    families_table,
    intervals_table,
    pairs_table,
)
from workbench.article.numbers import p_words
from workbench.article.sample import Sample

TABLES: tuple[Callable[[Sample], object], ...] = (
    intervals_table,
    families_table,
    pairs_table,
    lambda sample: equality_table(sample, seed=1),
)


@pytest.fixture
def three(sample_of_sizes: Callable[..., Sample]) -> Sample:
    return sample_of_sizes({"works": 12, "deepdeck": 6, "trophy": 3})


def test_all_families_at_once_against_scipy(three: Sample) -> None:
    rows = list(block_means_of(three).values())
    table = families_table(three)
    one_way, ranks = stats.f_oneway(*rows), stats.kruskal(*rows)
    assert table.rows[1][1:] == (
        f"F = {one_way.statistic:.2f}",
        "2, 18.0",
        p_words(float(one_way.pvalue)),
    )
    assert table.rows[2][1:] == (f"H = {ranks.statistic:.2f}", "2", p_words(float(ranks.pvalue)))
    welch = stats.f_oneway(*rows, equal_var=False)
    assert table.rows[0][3] == p_words(float(welch.pvalue))


def test_pairs_against_scipy(three: Sample) -> None:
    means = block_means_of(three)
    rows = {row[0]: row for row in pairs_table(three).rows}
    found = stats.tukey_hsd(*means.values(), equal_var=False)
    assert rows["trophy less works"][2] == p_words(float(found.pvalue[2, 0]))
    assert rows["trophy less deepdeck"][2] == p_words(float(found.pvalue[2, 1]))
    alike = stats.tukey_hsd(*means.values())
    assert rows["trophy less works"][6] == p_words(float(alike.pvalue[2, 0]))
    assert rows["trophy less deepdeck"][6] == p_words(float(alike.pvalue[2, 1]))
    against = stats.dunnett(means["deepdeck"], means["trophy"], control=means["works"], rng=1)
    shown = float(rows["deepdeck less works"][4].replace("p < 0.001", "0.0005").lstrip("p =><"))
    assert shown == pytest.approx(float(against.pvalue[0]), abs=2e-3)
    assert rows["trophy less deepdeck"][3:5] == ("", "")  # neither is the reference


def test_equal_spread_against_scipy(three: Sample) -> None:
    rows = list(block_means_of(three).values())
    table = equality_table(three, seed=1)
    assert table.rows[0][3] == p_words(float(stats.levene(*rows, center="median").pvalue))
    assert table.rows[1][3] == p_words(float(stats.fligner(*rows).pvalue))
    ratio = np.std(rows[1], ddof=1) / np.std(rows[0], ddof=1)
    assert table.rows[2][0] == "deepdeck / works"
    assert table.rows[2][1].startswith(f"{ratio:.1f}")
    assert "too few blocks" in table.rows[3][2]


def test_intervals_of_each_family(three: Sample) -> None:
    table = intervals_table(three)
    means = block_means_of(three)["works"]
    low, high = stats.t.interval(
        0.95, 11, means.mean(), means.std(ddof=1) * np.sqrt(1 + 1 / means.size)
    )
    assert f"({low:.2f} to {high:.2f})" in table.rows[0][6]
    assert table.rows[2][2].endswith("no interval")  # three blocks give no median its 95 %
    drawn = stats.bootstrap(
        (means,), np.median, n_resamples=20_000, vectorized=True, method="BCa", rng=1
    ).confidence_interval
    ends = re.search(r"\((.+) to (.+)\)", table.rows[0][3])
    assert ends is not None
    assert float(ends[1]) == pytest.approx(drawn.low, abs=0.02)
    assert float(ends[2]) == pytest.approx(drawn.high, abs=0.02)
    assert table.rows[2][3] == "too few blocks"


@pytest.mark.parametrize("made", TABLES)
def test_too_little_to_compare_is_said(
    made: Callable[[Sample], object], sample_of_sizes: Callable[..., Sample]
) -> None:
    table = made(sample_of_sizes({"works": 1}))
    assert table.rows == ()
    assert "one block: works" in table.note


def test_too_many_families_are_not_set_beside_each_other(
    sample_of_sizes: Callable[..., Sample],
) -> None:
    many = sample_of_sizes({f"f{number}": 3 for number in range(MOST_FAMILIES + 1)})
    assert pairs_table(many).rows == ()
    assert "9 families are too many" in pairs_table(many).note


@pytest.mark.parametrize("made", TABLES)
def test_any_names_and_numbers_of_blocks_are_shown_as_text(
    made: Callable[[Sample], object], sample: Sample
) -> None:
    table = made(sample)
    page = lxml.html.fromstring(f"<div>{table.html()}</div>")
    assert not page.xpath("//script | //img | //b")
    assert table.plain()
