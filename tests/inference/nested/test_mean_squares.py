"""Intervals of combinations of mean squares: exact cases, confidence held, refusals."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
import pytest
from scipy import stats

from workbench.errors import Refusal
from workbench.inference.nested.mean_squares import (
    MeanSquare,
    combination_interval,
    combined,
    generalized_interval,
)


def square(value: float, degrees_of_freedom: int) -> MeanSquare:
    return MeanSquare(value=value, degrees_of_freedom=degrees_of_freedom)


@pytest.mark.parametrize(("value", "n", "weight"), [(2.0, 7, 1.0), (0.3, 60, 2.5), (5.0, 1, 0.1)])
def test_a_single_mean_square_has_the_exact_interval(value: float, n: int, weight: float) -> None:
    """NIST/SEMATECH e-Handbook 7.2.3.1: n s^2 over chi-square points."""
    found = combination_interval([(weight, square(value, n))], 0.9)
    exact = weight * n * value / stats.chi2(n).ppf([0.95, 0.05])
    assert (found.low, found.high) == pytest.approx(tuple(exact), rel=1e-9)


def test_a_large_partner_leaves_a_difference_exact() -> None:
    """With the subtracted mean square known, the ends are those of the other, moved."""
    found = combination_interval([(1.0, square(4.0, 9)), (-1.0, square(1.0, 10**7))], 0.95)
    exact = 9 * 4.0 / stats.chi2(9).ppf([0.975, 0.025]) - 1.0
    assert (found.low, found.high) == pytest.approx(tuple(exact), rel=5e-3)


@pytest.mark.parametrize(
    ("weights", "freedoms", "expected"),
    [
        ((1.0, -1.0), (9, 18), (10.0, 1.0)),
        ((1.0, -1.0), (9, 18), (1.2, 1.0)),
        ((1.0, -1.0), (2, 18), (5.0, 1.0)),
        ((1.0, 1.0, 1.0), (2, 18, 60), (5.0, 1.0, 1.0)),
        ((1 / 30, 0.3, -1 / 3), (2, 18, 60), (3.0, 1.1, 1.0)),
    ],
)
def test_confidence_is_held(
    weights: tuple[float, ...], freedoms: tuple[int, ...], expected: tuple[float, ...]
) -> None:
    """Simulated at 90 %: not below it by more than three standard errors."""
    generator, trials = np.random.default_rng(7), 1200
    truth = sum(c * e for c, e in zip(weights, expected, strict=True))
    held = 0
    for _ in range(trials):
        terms = [
            (c, square(float(e * generator.chisquare(n) / n), n))
            for c, e, n in zip(weights, expected, freedoms, strict=True)
        ]
        held += combination_interval(terms, 0.90).contains(truth)
    assert held / trials > 0.90 - 3 * math.sqrt(0.09 / trials)
    assert held / trials < 0.96


def test_unit_changes_the_ends_by_its_square() -> None:
    terms = [(0.2, square(4.0, 9)), (-0.2, square(1.0, 18))]
    inches = [(c, square(s.value / 25.4**2, s.degrees_of_freedom)) for c, s in terms]
    here, there = combination_interval(terms), combination_interval(inches)
    assert there.low * 25.4**2 == pytest.approx(here.low)
    assert there.high * 25.4**2 == pytest.approx(here.high)
    assert combined(inches) * 25.4**2 == pytest.approx(combined(terms))


def test_generalized_interval_of_a_ratio_is_the_exact_one() -> None:
    """The ratio of two expected mean squares has the exact F interval."""

    def ratio(drawn: Mapping[str, np.ndarray]) -> np.ndarray:
        return np.asarray(drawn["a"] / drawn["b"])

    found = generalized_interval(
        {"a": square(6.0, 8), "b": square(2.0, 20)},
        ratio,
        generator=np.random.default_rng(1),
        draws=200_000,
    )
    exact = 3.0 / stats.f(8, 20).ppf([0.975, 0.025])
    assert (found.low, found.high) == pytest.approx(tuple(exact), rel=0.02)


def test_what_is_refused() -> None:
    with pytest.raises(Refusal, match="A mean square is 0 or more, not -1"):
        square(-1.0, 3)
    with pytest.raises(Refusal, match="needs a degree of freedom, not 0"):
        square(1.0, 0)
    with pytest.raises(Refusal, match="needs a positive term"):
        combination_interval([(-1.0, square(1.0, 3))])
    with pytest.raises(Refusal, match="Confidence must lie between 0 and 1"):
        combination_interval([(1.0, square(1.0, 3))], 1.0)
