"""Medians of fitted extreme values: scipy's fit as witness, coverage, swap, units, refusals."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from workbench.errors import Refusal
from workbench.inference.extremes.fitted_median import fitted_median_difference


def minima(seed, count, middle=4.0, scale=0.15):
    return middle - scale * np.random.default_rng(seed).gumbel(size=count)


def test_against_scipys_fit_of_the_same_family():
    ours, others = minima(1, 60), minima(2, 60, 3.8)
    medians = [-stats.genextreme.median(*stats.genextreme.fit(-row)) for row in (ours, others)]
    found = fitted_median_difference(ours, others)
    assert found.estimate == pytest.approx(medians[0] - medians[1], abs=1e-3)


def test_intervals_keep_their_confidence():
    truth = 0.2
    held = [
        fitted_median_difference(minima(2 * s, 30), minima(2 * s + 1, 30, 3.8))
        .interval(0.9)
        .contains(truth)
        for s in range(150)
    ]
    assert abs(np.mean(held) - 0.9) < 4 * (0.09 / 150) ** 0.5


def test_swap_and_unit():
    ours, others = minima(3, 12), minima(4, 15, 3.8)
    plain, turned = fitted_median_difference(ours, others), fitted_median_difference(others, ours)
    inches = fitted_median_difference(ours / 25.4, others / 25.4)
    assert turned.estimate == pytest.approx(-plain.estimate)
    assert turned.p_value() == pytest.approx(plain.p_value())
    assert inches.estimate * 25.4 == pytest.approx(plain.estimate, rel=1e-4)
    assert inches.p_value() == pytest.approx(plain.p_value(), rel=1e-2)


def test_too_few_are_refused():
    with pytest.raises(Refusal, match="2 blocks tell no shape"):
        fitted_median_difference([4.0, 3.9], minima(5, 10))
