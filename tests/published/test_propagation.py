"""Monte Carlo propagation against the worked examples of JCGM 101:2008 (printed from memory)."""

import numpy as np
import pytest

from workbench.inference.measuring.input_quantity import (
    Arcsine,
    CurvilinearTrapezoid,
    InputQuantity,
    Normal,
    NormalErrors,
    Rectangular,
)
from workbench.inference.measuring.propagation import Propagation, compare, propagate
from workbench.inference.results import Interval

TRIALS = 1_000_000


def added(inputs: list[InputQuantity]) -> Propagation:
    named = {f"x{place}": quantity for place, quantity in enumerate(inputs)}
    return propagate(
        lambda **drawn: sum(drawn.values(), start=np.zeros(TRIALS)),
        named,
        generator=np.random.default_rng(101),
        trials=TRIALS,
    )


def formula(u: float) -> Interval:
    return Interval(low=-1.959964 * u, high=1.959964 * u, confidence=0.95)


def bounded(u: float) -> Rectangular:
    return Rectangular(low=-u * 3**0.5, high=u * 3**0.5)


def test_sum_of_four_normal_inputs() -> None:
    """9.2.2, Table 2: u = 2.0 and -3.92 to 3.92; the formula holds."""
    result = added([Normal(mean=0.0, standard_uncertainty=1.0)] * 4)
    assert result.standard_uncertainty == pytest.approx(2.0, abs=0.01)
    assert result.interval().low == pytest.approx(-3.92, abs=0.02)
    assert result.interval().high == pytest.approx(3.92, abs=0.02)
    assert compare(result, formula(2.0), 2.0).agree


def test_sum_of_four_rectangular_inputs() -> None:
    """9.2.3, Table 3: -3.88 to 3.88, shorter than the formula's 3.92."""
    result = added([bounded(1.0)] * 4)
    assert result.interval().low == pytest.approx(-3.88, abs=0.015)
    assert result.interval().high == pytest.approx(3.88, abs=0.015)
    found = compare(result, formula(2.0), 2.0)
    assert found.tolerance == pytest.approx(0.05)
    assert found.agree


def test_one_large_rectangular_input() -> None:
    """9.2.4, Table 4: u = 10.1; -17.0 to 17.0 where the formula says 19.9: not validated."""
    result = added([bounded(1.0)] * 3 + [bounded(10.0)])
    assert result.standard_uncertainty == pytest.approx(10.1, abs=0.05)
    assert result.interval().low == pytest.approx(-17.0, abs=0.05)
    assert result.interval().high == pytest.approx(17.0, abs=0.05)
    found = compare(result, formula(10.1), 10.1)
    assert found.tolerance == pytest.approx(0.5)
    assert found.low_gap == pytest.approx(2.8, abs=0.1)
    assert not found.agree
    assert found.settled


def test_gauge_block() -> None:
    """9.5, Tables 10 and 11, nanometres: 838, 36, 745 to 932; the formula gives u = 32."""

    def length(**x: np.ndarray) -> np.ndarray:
        standard = x["standard"] * (
            1 - x["expansion"] * (x["room"] + x["swing"]) - x["alpha"] * x["gap"]
        )
        return np.asarray(standard + x["comparator"] + x["random"] + x["systematic"] - 50e6)

    result = propagate(
        length,
        {
            "standard": NormalErrors(mean=50_000_623, few=((25, 18),)),
            "comparator": NormalErrors(mean=215, few=((6, 24),)),
            "random": NormalErrors(mean=0, few=((4, 5),)),
            "systematic": NormalErrors(mean=0, few=((7, 8),)),
            "alpha": Rectangular(low=9.5e-6, high=13.5e-6),
            "room": Normal(mean=-0.1, standard_uncertainty=0.2),
            "swing": Arcsine(low=-0.5, high=0.5),
            "expansion": CurvilinearTrapezoid(low=-1e-6, high=1e-6, blur=0.1e-6),
            "gap": CurvilinearTrapezoid(low=-0.05, high=0.05, blur=0.025),
        },
        generator=np.random.default_rng(95),
        trials=TRIALS,
    )
    assert result.mean == pytest.approx(838, abs=0.5)
    assert result.standard_uncertainty == pytest.approx(36, abs=0.6)
    limits = result.interval(0.99)
    assert limits.low == pytest.approx(745, abs=1.5)
    assert limits.high == pytest.approx(932, abs=1.5)
