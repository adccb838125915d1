import math

import numpy as np
import pytest
from scipy.optimize import minimize

from workbench.errors import Refusal
from workbench.inference.directions.vector_scatter import (
    scatter_ratio,
    scatter_test,
    spatial_median,
)
from workbench.inference.means.several_families import one_way

ROUND = np.array([[1.0, 0], [-1, 0], [0, 1], [0, -1]])


def test_spatial_median_minimises_the_sum_of_distances() -> None:
    rows = np.random.default_rng(1).normal(size=(15, 2)) * [3, 1]
    found = minimize(
        lambda at: np.hypot(*(rows - at).T).sum(), rows.mean(axis=0), method="Nelder-Mead",
        options={"xatol": 1e-10, "fatol": 1e-13},
    )  # fmt: skip
    assert spatial_median(rows) == pytest.approx(found.x, abs=1e-5)


def test_spatial_median_of_a_triangle_with_a_wide_corner_is_that_corner() -> None:
    """Fermat: a corner of 120 degrees or more is itself the point."""
    assert spatial_median([[0, 0], [5, 1], [-5, 1]]) == pytest.approx([0, 0], abs=1e-9)
    assert spatial_median(ROUND + 3) == pytest.approx([3, 3])


def test_distances_written_out() -> None:
    wide = np.vstack([ROUND * 2, ROUND * 3])
    found = scatter_test({"a": ROUND * [[1], [1], [1.5], [1.5]], "b": wide})
    stretch = math.sqrt(4 / 3), math.sqrt(8 / 7)
    by_hand = one_way(
        {
            "a": stretch[0] * np.array([1, 1, 1.5, 1.5]),
            "b": stretch[1] * np.repeat([2.0, 3.0], 4),
        }
    )
    assert found.statistic == pytest.approx(by_hand.statistic)
    assert found.p_value == pytest.approx(by_hand.p_value)


def test_ratio_knows_units_and_turns_upside_down_when_swapped() -> None:
    rng = np.random.default_rng(2)
    own, other = rng.normal(size=(9, 2)) * 0.3, rng.normal(size=(12, 2)) * 0.1
    plain, swapped = scatter_ratio(own, other), scatter_ratio(other, own)
    assert plain.estimate == pytest.approx(1 / swapped.estimate)
    assert plain.p_value() == pytest.approx(swapped.p_value())
    assert scatter_ratio(own * 25.4, other * 25.4).p_value() == pytest.approx(plain.p_value())
    assert plain.interval().contains(1.0) == (plain.p_value() >= 0.05)


def test_alike_families_are_told_apart_no_oftener_than_stated() -> None:
    rng = np.random.default_rng(3)
    by_test, by_ratio = [], []
    for _ in range(400):
        own, other = rng.normal(size=(8, 2)), rng.normal(size=(14, 2))
        by_test.append(scatter_test({"a": own, "b": other}).p_value)
        by_ratio.append(scatter_ratio(own, other).p_value())
    assert np.mean(np.array(by_test) < 0.1) == pytest.approx(0.1, abs=0.045)
    assert np.mean(np.array(by_ratio) < 0.1) == pytest.approx(0.1, abs=0.045)


def test_refusals() -> None:
    with pytest.raises(Refusal, match="at least 3"):
        scatter_test({"a": ROUND, "b": ROUND[:2]})
    with pytest.raises(Refusal, match="are equal"):
        scatter_ratio(ROUND, np.ones((4, 2)))
    with pytest.raises(Refusal, match="spread"):
        scatter_test({"a": ROUND, "b": ROUND})
    with pytest.raises(Refusal, match="families"):
        scatter_test({"a": ROUND})
