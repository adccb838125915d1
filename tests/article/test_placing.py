"""Dots and their places: few, fair, and without chance."""

from __future__ import annotations

import numpy as np
import pytest

from workbench.article.placing import dots, spread_out, van_der_corput


def test_few_readings_are_dots_of_their_own() -> None:
    places, each = dots(np.array([2.0, 1.0]), np.array([1, 3]), 10)
    assert places.tolist() == [1.0, 1.0, 1.0, 2.0]
    assert each == 1


def test_many_readings_become_quantile_dots() -> None:
    """Against numpy's inverse of the empirical distribution, on the readings written out."""
    generator = np.random.default_rng(3)
    values, counts = np.sort(generator.normal(size=50)), generator.integers(1, 400, 50)
    places, each = dots(values, counts, 100)
    assert each == -(-counts.sum() // 100)
    assert places.size <= 100
    ranks = (np.arange(places.size) + 0.5) / places.size
    expected = np.quantile(np.repeat(values, counts), ranks, method="inverted_cdf")
    assert places.tolist() == expected.tolist()


def test_work_grows_with_distinct_values_not_with_readings() -> None:
    places, each = dots(np.array([1.0, 2.0]), np.array([10**12, 3 * 10**12]), 1000)
    assert places.size == 1000
    assert each == 4 * 10**9
    assert (places == 1.0).mean() == pytest.approx(0.25)


def test_no_readings_give_no_dots() -> None:
    places, each = dots(np.empty(0), np.empty(0, dtype=int), 10)
    assert places.size == spread_out(places).size == 0
    assert each == 1


def test_van_der_corput_begins_as_published() -> None:
    """Niederreiter (1992), section 3.1: 0, 1/2, 1/4, 3/4, 1/8, 5/8, 3/8, 7/8 (from memory)."""
    assert van_der_corput(8).tolist() == [0, 1 / 2, 1 / 4, 3 / 4, 1 / 8, 5 / 8, 3 / 8, 7 / 8]


@pytest.mark.parametrize("values", [np.ones(9), np.sort(np.random.default_rng(1).normal(size=300))])
def test_offsets_stay_in_their_lane_and_come_out_the_same(values: np.ndarray) -> None:
    offsets = spread_out(values)
    assert np.abs(offsets).max() <= 1
    assert offsets.tolist() == spread_out(values).tolist()
    assert np.unique(offsets).size > values.size / 2
