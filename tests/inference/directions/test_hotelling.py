import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.errors import Refusal
from workbench.inference.directions.hotelling import (
    VectorSample,
    mean_vector,
    pooled_difference,
    vector_difference,
)

RNG = np.random.default_rng(5)
OWN = RNG.normal((0.1, 0.2), (0.1, 0.2), (9, 2))
OTHER = RNG.normal((0.0, 0.1), (0.3, 0.1), (6, 2))


def test_one_sample_is_t_squared_along_its_own_best_direction() -> None:
    """T^2 is the largest squared t of any projection (Hotelling 1931)."""
    best = max(
        (part.mean() / (part.std(ddof=1) / 3)) ** 2
        for turn in np.radians(np.linspace(0, 180, 3601))
        for part in [OWN @ [math.cos(turn), math.sin(turn)]]
    )
    vector = mean_vector(OWN)
    t2 = float(
        np.array([vector.x, vector.y]) @ np.linalg.solve(vector.covariance, [vector.x, vector.y])
    )
    assert t2 == pytest.approx(best, rel=1e-5)


@given(st.floats(0, 360), st.floats(0.01, 100))
@settings(max_examples=40, deadline=None)
def test_p_knows_no_axes_and_no_unit_and_swapping_turns_the_sign(degrees, unit) -> None:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    turn = unit * np.array([[c, s], [-s, c]])
    plain, other = vector_difference(OWN, OTHER), vector_difference(OWN @ turn, OTHER @ turn)
    assert other.p_value() == pytest.approx(plain.p_value(), rel=1e-8)
    assert other.degrees_of_freedom == pytest.approx(plain.degrees_of_freedom, rel=1e-8)
    assert other.size == pytest.approx(unit * plain.size)
    swapped = vector_difference(OTHER, OWN)
    assert (swapped.x, swapped.y) == pytest.approx((-plain.x, -plain.y))
    assert swapped.p_value() == pytest.approx(plain.p_value())


def test_equal_size_and_scatter_is_the_pooled_test() -> None:
    moved = OWN + np.array([0.3, -0.1])
    own, pooled = vector_difference(moved, OWN), pooled_difference(moved, OWN)
    assert own.degrees_of_freedom == pytest.approx(2 * (len(OWN) - 1))
    assert own.p_value() == pytest.approx(pooled.p_value())


def test_one_vector_borrows_the_scatter_of_the_other_sample() -> None:
    alone = vector_difference([[0.4, 0.1]], OWN)
    assert alone.method == "Hotelling, scatter pooled"
    assert alone.degrees_of_freedom == len(OWN) - 1
    inflation = 1 + 1 / len(OWN)
    assert alone.covariance == pytest.approx(np.cov(OWN.T) * inflation)


def test_region_covers_the_mean() -> None:
    rng = np.random.default_rng(12)
    covariance = [[0.04, 0.015], [0.015, 0.02]]
    hits = sum(
        mean_vector(rng.multivariate_normal((0.1, -0.2), covariance, 6)).p_value(0.1, -0.2) >= 0.05
        for _ in range(1500)
    )
    assert hits / 1500 == pytest.approx(0.95, abs=0.018)


def test_difference_covers_where_scatter_and_counts_are_unequal() -> None:
    rng = np.random.default_rng(13)
    hits = 0
    for _ in range(1500):
        own = rng.normal(0, (0.3, 0.2), (6, 2))
        other = rng.normal(0, (0.1, 0.1), (20, 2))
        hits += vector_difference(own, other).p_value() >= 0.05
    assert hits / 1500 == pytest.approx(0.95, abs=0.02)


def test_refusals() -> None:
    with pytest.raises(Refusal, match="3 vectors or more; here: 2"):
        mean_vector(OWN[:2])
    with pytest.raises(Refusal, match="together 4"):
        vector_difference(OWN[:1], OWN[1:3])
    with pytest.raises(Refusal, match="rows of two"):
        mean_vector([1, 2, 3])
    with pytest.raises(Refusal, match="rows of two"):
        mean_vector([["a", "b"]])
    with pytest.raises(Refusal, match="finite"):
        mean_vector([[1, 2], [3, math.inf], [2, 2]])
    with pytest.raises(Refusal, match="both directions"):
        mean_vector([[1, 1], [2, 2], [3, 3], [4, 4]])
    assert math.isnan(VectorSample.of([[1, 2]]).cxx)
