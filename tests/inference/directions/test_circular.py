import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import i0, i1

from workbench.errors import Refusal
from workbench.inference.directions.circular import mean_direction, von_mises_fit

some = st.lists(st.floats(0, 360), min_size=4, max_size=12)


def test_rayleigh_of_three_steps_in_closed_form() -> None:
    """A walk of n steps ends within 1 with probability 1 / (n + 1) (Kluyver 1906)."""
    for n in (4, 5, 8, 20):
        degrees = [0.0, *([0, 180] * ((n - 1) // 2))]
        if n % 2 == 0:  # a last step at 120 degrees to the first leaves a walk of length 1
            degrees.append(120.0)
        found = mean_direction(degrees)
        assert found.n * found.length == pytest.approx(1)
        assert found.rayleigh == pytest.approx(1 - 1 / (found.n + 1), abs=1e-6)


def test_rayleigh_against_simulated_walks() -> None:
    rng = np.random.default_rng(3)
    turn = rng.uniform(0, 2 * math.pi, (40_000, 6))
    reach = np.hypot(np.cos(turn).sum(axis=1), np.sin(turn).sum(axis=1))
    degrees = [10, 40, 60, 95, 130, 260]
    found = mean_direction(degrees)
    share = float(np.mean(reach >= found.length * 6))
    assert found.rayleigh == pytest.approx(share, abs=0.01)


@given(some, st.floats(-360, 360))
@settings(max_examples=50, deadline=None)
def test_turning_all_directions_turns_the_mean(degrees, turn) -> None:
    try:
        plain = mean_direction(degrees)
    except Refusal:
        return
    other = mean_direction(np.array(degrees) + turn)
    assert other.length == pytest.approx(plain.length, abs=1e-9)
    if plain.length > 1e-3:
        around = (other.direction - plain.direction - turn + 180) % 360 - 180
        assert around == pytest.approx(0, abs=1e-6)
        assert other.rayleigh == pytest.approx(plain.rayleigh, abs=1e-6)


def test_concentration_solves_the_likelihood() -> None:
    fit = von_mises_fit([10, 25, 40, 350, 5, 90], small_sample=False)
    kappa = fit.concentration
    assert i1(kappa) / i0(kappa) == pytest.approx(fit.length, abs=1e-10)


def test_mean_direction_interval_covers() -> None:
    rng = np.random.default_rng(8)
    hits = 0
    for _ in range(400):
        drawn = np.degrees(rng.vonmises(math.radians(20), 3.0, 25))
        interval = von_mises_fit(drawn).direction_interval(0.9)
        hits += any(interval.contains(20 + 360 * k) for k in (-1, 0, 1))
    assert hits / 400 == pytest.approx(0.9, abs=0.045)


def test_refusals() -> None:
    with pytest.raises(Refusal, match="at least 3"):
        mean_direction([10, 20])
    with pytest.raises(Refusal, match="cancel"):
        mean_direction([0, 90, 180, 270])
    with pytest.raises(Refusal, match="no spread"):
        von_mises_fit([40, 40, 40])
    with pytest.raises(Refusal, match="gather nowhere"):
        von_mises_fit([0, 92, 180, 271])
    with pytest.raises(Refusal, match="no interval"):
        von_mises_fit([0, 60, 130, 290, 200], small_sample=False).direction_interval()
