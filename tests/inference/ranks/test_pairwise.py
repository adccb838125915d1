"""Differences picked from their order must be those that sorting them all gives."""

from __future__ import annotations

import numpy as np
import pytest

from workbench.inference.ranks import pairwise
from workbench.inference.ranks.mann_whitney import mann_whitney
from workbench.inference.ranks.pairwise import ordered_differences


@pytest.mark.parametrize("step", [0.01, 0.1, None])
@pytest.mark.parametrize(("m", "n"), [(1, 400), (37, 61), (300, 2), (120, 120)])
def test_the_picked_differences_are_those_of_numpy_sort(
    m: int, n: int, step: float | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    rng = np.random.default_rng(m + n)
    own, other = rng.normal(5.2, 0.3, m), rng.normal(5.0, 0.3, n)
    if step is not None:
        own, other = np.round(own / step) * step, np.round(other / step) * step
    apart = np.sort(np.subtract.outer(own, other), axis=None)
    places = [0, m * n // 7, m * n // 2, m * n - 1]
    for held in (1, 50):
        monkeypatch.setattr(pairwise, "HELD", held)
        assert ordered_differences(own, other, places) == [apart[place] for place in places]


def test_many_equal_values_end(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pairwise, "HELD", 1)
    assert ordered_differences(np.full(50, 0.3), np.full(40, 0.1), [0, 1999]) == [0.3 - 0.1] * 2


def test_many_blocks_give_the_interval_of_few(monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(5)
    own, other = rng.normal(1, 1, 70), rng.normal(0, 1, 81)
    whole = mann_whitney(own, other)
    expected, middle = whole.interval(0.9), whole.estimate
    monkeypatch.setattr(pairwise, "HELD", 10)
    assert whole.interval(0.9) == expected
    assert whole.estimate == middle == np.median(np.subtract.outer(own, other))
