"""Rising functions inverted: scipy's own inverses, averages of normals, steps, flat stretches."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ndtr, ndtri, stdtr, stdtrit

from workbench.inference.distributions.inverse import inverse

SHARES = np.array([1e-10, 1e-4, 0.025, 0.3, 0.5, 0.8, 0.975, 1 - 1e-6])


def test_against_the_normal_quantiles() -> None:
    assert inverse(ndtr, SHARES, SHARES) == pytest.approx(ndtri(SHARES), rel=1e-9)


@pytest.mark.parametrize("freedom", [1.0, 2.0, 30.0])
def test_against_student_quantiles(freedom) -> None:
    found = inverse(lambda z: stdtr(freedom, z), SHARES, SHARES)
    assert found == pytest.approx(stdtrit(freedom, SHARES), rel=1e-5)


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10_000), share=st.floats(0.001, 0.999))
def test_what_is_found_gives_the_share_back(seed, share) -> None:
    means = np.random.default_rng(seed).normal(0, 2, (7, 5))

    def mixed(z):
        return ndtr(z[:, None] - means).mean(axis=1)

    assert mixed(inverse(mixed, share, np.zeros(7))) == pytest.approx(share, abs=1e-13)


def test_a_jump_is_found_and_what_is_never_reached_lies_far_out() -> None:
    jump = inverse(lambda z: (z > 3.3) * 1.0, np.array([0.25, 0.75]), np.zeros(2))
    assert jump == pytest.approx(3.3)
    assert inverse(lambda z: 0.5 + 0 * z, np.array(0.75), np.zeros(1)) > 1e15


def test_it_asks_for_few_values() -> None:
    asked = []

    def counted(z):
        asked.append(z)
        return ndtr(z)

    inverse(counted, SHARES[2:-2], SHARES[2:-2])
    assert len(asked) < 25
