"""Even points: more even than chance by scipy's measure, uniform, right on average, refusals."""

import numpy as np
import pytest
from scipy.stats import kstest, qmc

from workbench.errors import Refusal
from workbench.inference.even import PRIMES, even_points


@pytest.mark.parametrize("columns", [2, 4, 8])
def test_more_even_than_chance_by_the_discrepancy_of_scipy(columns: int) -> None:
    points = even_points(1000, columns, np.random.default_rng(1))
    chance = np.random.default_rng(1).random((1000, columns))
    assert qmc.discrepancy(points) < 0.5 * qmc.discrepancy(chance)


@pytest.mark.parametrize("column", range(len(PRIMES)))
def test_each_column_is_uniform(column: int) -> None:
    points = even_points(2000, len(PRIMES), np.random.default_rng(3))[:, column]
    assert 0 < points.min() < points.max() < 1
    assert kstest(points, "uniform").statistic < 0.005  # a random sample: 0.03 once in twenty


def test_averages_are_right_over_shifts() -> None:
    """Of the largest of three numbers, 3 / 4."""
    found = [even_points(50, 3, np.random.default_rng(s)).max(axis=1).mean() for s in range(400)]
    assert np.mean(found) == pytest.approx(0.75, abs=0.002)


def test_a_seed_gives_the_same_points() -> None:
    one, other = (even_points(10, 2, np.random.default_rng(s)) for s in (5, 5))
    assert (one == other).all()


@pytest.mark.parametrize(("count", "columns"), [(0, 2), (10, 0), (10, 9)])
def test_refusals(count: int, columns: int) -> None:
    with pytest.raises(Refusal, match=f"1 to 8 columns, not {count} of {columns}"):
        even_points(count, columns, np.random.default_rng(1))
