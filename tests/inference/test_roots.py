import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from workbench.errors import Refusal
from workbench.inference.roots import root_between

CURVES = {
    "cubic": (lambda x: x**3 - 2 * x - 5, 2.0, 3.0),
    "steep": (lambda x: math.exp(x) - 1e5, -50.0, 50.0),
    "far": (lambda x: math.atan(x) - 1.2, -1e6, 1e6),
    "cosine": (lambda x: math.cos(x) - x, 0.0, 1.0),
    "small": (lambda x: x - 1e-9, -1.0, 1.0),
}


@pytest.mark.parametrize("name", CURVES)
def test_the_crossing_is_that_of_brent(name: str) -> None:
    """Witness: `scipy.optimize.brentq`; the number of calls is about its own or below."""
    function, low, high = CURVES[name]
    calls = []

    def counted(x: float) -> float:
        calls.append(x)
        return function(x)

    found = root_between(counted, low, high)
    mine = len(calls)
    calls.clear()
    assert found == pytest.approx(brentq(counted, low, high), rel=1e-12, abs=4e-12)
    assert mine <= 1.2 * len(calls) + 2


def test_wallis_cubic() -> None:
    """x^3 - 2 x - 5 = 0 at 2.0945514815423265 (Wallis 1685, the textbook example; from memory)."""
    assert root_between(lambda x: x**3 - 2 * x - 5, 2.0, 3.0) == pytest.approx(2.0945514815423265)


@given(st.floats(-0.99, 0.99), st.sampled_from([1, 3, 9]), st.sampled_from([-1.0, 1.0]))
def test_either_way_round_and_either_sign(at: float, power: int, sign: float) -> None:
    def function(x: float) -> float:
        return sign * (x - at) ** power

    for low, high in ((-1.0, 1.0), (1.0, -1.0)):
        found = root_between(function, low, high, absolute=1e-9)
        assert abs(found - at) <= 1e-9 or abs(function(found)) < 1e-20


def test_a_jump_is_closed_in_on() -> None:
    found = root_between(lambda x: 1.0 if x > 0.3 else -1.0, -1.0, 1.0, absolute=1e-10)
    assert found == pytest.approx(0.3, abs=2e-10)


def test_a_crossing_at_an_end() -> None:
    assert root_between(lambda x: x, 0.0, 2.0) == 0.0
    assert root_between(lambda x: x - 2, 0.0, 2.0) == 2.0


def test_infinite_ends_of_the_function() -> None:
    found = root_between(lambda x: math.log(x) if x > 0 else -math.inf, 0.0, 5.0)
    assert found == pytest.approx(1.0)


def test_refusals() -> None:
    with pytest.raises(Refusal, match="goes from 1 to 4"):
        root_between(lambda x: x**2, 1.0, 2.0)
    with pytest.raises(Refusal, match="goes from nan"):
        root_between(lambda _: math.nan, 1.0, 2.0)
    with pytest.raises(Refusal, match=r"no number at 0\.5"):
        root_between(lambda x: x - 0.25 if x in (0.0, 1.0) else math.nan, 0.0, 1.0)
    with pytest.raises(Refusal, match=r"between 0\.0 and inf"):
        root_between(lambda x: x, 0.0, math.inf)


def test_values_known_already_are_not_asked_for() -> None:
    asked: list[float] = []

    def curve(x: float) -> float:
        asked.append(x)
        return x**3 - 2

    found = root_between(curve, 0.0, 2.0, values=(-2.0, 6.0))
    assert found == root_between(lambda x: x**3 - 2, 0.0, 2.0)
    assert not {0.0, 2.0} & set(asked)
    with pytest.raises(Refusal, match="no crossing of 0 is known"):
        root_between(curve, 0.0, 2.0, values=(1.0, 6.0))
