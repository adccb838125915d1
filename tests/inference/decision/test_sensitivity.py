"""Sobol indices against the closed form of the Ishigami function; swings by hand; refusals."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.errors import Refusal
from workbench.inference.decision.sensitivity import Swing, sobol, swings


def uniform(low: float, high: float):
    return lambda p: low + (high - low) * np.asarray(p)


def ishigami(at):
    x, y, z = (at[name] for name in "xyz")
    return np.sin(x) + 7 * np.sin(y) ** 2 + 0.1 * z**4 * np.sin(x)


ANGLES = {name: uniform(-math.pi, math.pi) for name in "xyz"}


def test_ishigami() -> None:
    """Variances of the function with a = 7 and b = 0.1 as Ishigami and Homma (1990) have them.

    V1 = (1 + b pi^4 / 5)^2 / 2, V2 = a^2 / 8, V13 = 8 b^2 pi^8 / 225, all others 0 (read in the
    documentation of a general library; printed elsewhere as 0.3138, 0.4424 and 0.2436).
    """
    a, b = 7, 0.1
    alone, second = (1 + b * math.pi**4 / 5) ** 2 / 2, a**2 / 8
    together = 8 * b**2 * math.pi**8 / 225
    variance = alone + second + together
    assert variance == pytest.approx(0.5 + a**2 / 8 + b * math.pi**4 / 5 + b**2 * math.pi**8 / 18)
    assert alone / variance == pytest.approx(0.3138, abs=2e-4)
    expected = {
        "x": (alone, alone + together),
        "y": (second, second),
        "z": (0.0, together),
    }
    found = sobol(ishigami, ANGLES, generator=np.random.default_rng(1))
    assert [index.name for index in found] == ["x", "y", "z"]
    for index in found:
        first, total = (part / variance for part in expected[index.name])
        assert index.first_error < 0.01
        assert index.first == pytest.approx(first, abs=max(5 * index.first_error, 1e-3))
        assert index.total == pytest.approx(total, abs=max(5 * index.total_error, 1e-3))


@given(st.floats(0.1, 10), st.floats(0.1, 10), st.floats(0.01, 1000))
@settings(max_examples=10)
def test_a_sum_shares_its_variance_and_scale_does_not_matter(a, b, scale) -> None:
    def total(at):
        return scale * (a * at["u"] + b * at["v"])

    found = sobol(
        total,
        {"u": uniform(0, 1), "v": uniform(0, 1)},
        generator=np.random.default_rng(1),
    )
    by_name = {index.name: index for index in found}
    assert by_name["u"].first == pytest.approx(a**2 / (a**2 + b**2), abs=0.02)
    assert by_name["u"].total == pytest.approx(by_name["u"].first, abs=0.02)


def test_same_seed_same_indices() -> None:
    one, other = (sobol(ishigami, ANGLES, generator=np.random.default_rng(4)) for _ in range(2))
    assert one == other


def test_swings_by_hand() -> None:
    """2 u - v with u, v from 0 to 1: nine tenths of u swing it by 1.8, of v by 0.9."""
    found = swings(lambda at: 2 * at["u"] - at["v"], {"v": uniform(0, 1), "u": uniform(0, 1)}, 0.9)
    assert [swing.name for swing in found] == ["u", "v"]
    assert found[0].at_low == pytest.approx(0.1 - 0.5)
    assert found[0].at_high == pytest.approx(1.9 - 0.5)
    assert [swing.width for swing in found] == pytest.approx([1.8, 0.9])
    assert [swing.turns for swing in found] == [True, False]


def test_swings_without_bound() -> None:
    assert Swing(name="x", at_low=math.inf, at_high=1.0, middle=2.0).width == math.inf
    assert Swing(name="x", at_low=math.inf, at_high=math.inf, middle=2.0).width == 0


@pytest.mark.parametrize(
    ("ask", "message"),
    [
        (lambda g: sobol(ishigami, {}, generator=g), "Nothing is uncertain"),
        (lambda g: swings(ishigami, {}), "Nothing is uncertain"),
        (lambda g: swings(ishigami, ANGLES, 1.0), "Confidence must lie"),
        (lambda g: sobol(ishigami, ANGLES, generator=g, points=1000), "power of 2"),
        (lambda g: sobol(ishigami, ANGLES, generator=g, replicates=1), "2 replicates"),
        (lambda g: sobol(lambda at: 0 * at["x"], ANGLES, generator=g), "does not vary"),
        (lambda g: sobol(lambda at: at["x"] / 0.0, ANGLES, generator=g), "without bound"),
    ],
)
def test_refusals(ask, message) -> None:
    with np.errstate(divide="ignore"), pytest.raises(Refusal, match=message):
        ask(np.random.default_rng(1))
