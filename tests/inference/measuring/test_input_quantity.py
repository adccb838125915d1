"""Distributions to draw from: scipy as witness, spreads as stated, refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import special, stats

from workbench.errors import Refusal
from workbench.inference.measuring.input_quantity import (
    Arcsine,
    CurvilinearTrapezoid,
    InputQuantity,
    Normal,
    NormalErrors,
    Rectangular,
    Triangular,
)

TRIALS = 200_000


def rng() -> np.random.Generator:
    return np.random.default_rng(1)


@pytest.mark.parametrize(
    ("quantity", "witness"),
    [
        (Normal(mean=2.0, standard_uncertainty=0.5), stats.norm(2.0, 0.5)),
        (NormalErrors(mean=2.0, known=0.5), stats.norm(2.0, 0.5)),
        (NormalErrors(mean=2.0, few=((0.5, 6),)), stats.t(6, 2.0, 0.5)),
        (NormalErrors(mean=2.0, few=((0.5, 4),)), stats.t(4, 2.0, 0.5)),
        (Rectangular(low=1.0, high=3.0), stats.uniform(1.0, 2.0)),
        (Triangular(low=1.0, high=3.0), stats.triang(0.5, 1.0, 2.0)),
        (Arcsine(low=1.0, high=3.0), stats.arcsine(1.0, 2.0)),
    ],
)
def test_draws_against_scipy(quantity: InputQuantity, witness: stats.rv_continuous) -> None:
    assert quantity.mean == pytest.approx(witness.mean())
    assert quantity.standard_uncertainty == pytest.approx(witness.std())
    assert stats.kstest(quantity.draw(rng(), 20_000), witness.cdf).pvalue > 0.01


def test_errors_known_from_two_readings_add_up_as_cauchy_errors_do() -> None:
    """On one degree of freedom t is the Cauchy distribution, whose scales add up."""
    several = NormalErrors(mean=1.0, few=((0.2, 1), (0.5, 1), (0.3, 1)))
    assert stats.kstest(several.draw(rng(), 20_000), stats.cauchy(1.0, 1.0).cdf).pvalue > 0.01


def test_errors_of_every_kind_add_up_by_their_characteristic_functions() -> None:
    """The mean of the cosine of a sum is the product of those of its parts.

    That of t: Hurst, S. (1995). The characteristic function of the Student t distribution.
    Australian National University, SRR 044-95 (from memory).
    """
    errors = NormalErrors(mean=0.0, known=0.4, few=((0.5, 2), (0.3, 4), (0.7, 9)))
    drawn = errors.draw(rng(), TRIALS)
    for place in (0.5, 1.0, 2.0):
        expected = math.exp(-((0.4 * place) ** 2) / 2)
        for scale, degrees in errors.few:
            at, half = math.sqrt(degrees) * scale * place, degrees / 2
            expected *= special.kv(half, at) * at**half / (math.gamma(half) * 2 ** (half - 1))
        error = np.cos(place * drawn).std() / math.sqrt(TRIALS)
        assert np.cos(place * drawn).mean() == pytest.approx(expected, abs=4 * error)


def test_curvilinear_trapezoid_has_the_stated_spread() -> None:
    """JCGM 101, 6.4.3.2: variance (b - a)^2 / 12 + d^2 / 9; without blur it is the rectangle."""
    quantity = CurvilinearTrapezoid(low=1.0, high=3.0, blur=0.5)
    assert quantity.draw(rng(), TRIALS).std() == pytest.approx(
        quantity.standard_uncertainty, rel=0.01
    )
    assert quantity.standard_uncertainty == pytest.approx(math.sqrt(1 / 3 + 0.25 / 9))
    thin = CurvilinearTrapezoid(low=1.0, high=3.0, blur=1e-6)
    assert thin.standard_uncertainty == pytest.approx(
        Rectangular(low=1.0, high=3.0).standard_uncertainty
    )


def test_a_t_without_a_variance_says_so() -> None:
    assert math.isinf(NormalErrors(mean=0.0, few=((1.0, 2.0),)).standard_uncertainty)


def test_what_is_refused() -> None:
    with pytest.raises(Refusal, match="bounds must rise: 2"):
        Rectangular(low=2.0, high=1.0)
    with pytest.raises(Refusal, match="below the half-width 1, not 2"):
        CurvilinearTrapezoid(low=1.0, high=3.0, blur=2.0)
    with pytest.raises(Refusal, match="standard uncertainty must be above 0"):
        Normal(mean=0.0, standard_uncertainty=0.0)
    with pytest.raises(Refusal, match="degrees of freedom must be above 0"):
        NormalErrors(mean=0.0, few=((1.0, 0.0),))
