"""Budgets against the worked examples of JCGM 100:2008 (printed values from memory)."""

import math

import numpy as np
import pytest

from workbench.inference.measuring.budget import Budget, Component, combine


def component(name: str, stated: float, degrees_of_freedom: float = math.inf) -> Component:
    return Component(name=name, kind="A", stated=stated, degrees_of_freedom=degrees_of_freedom)


def test_end_gauge_of_annex_h1() -> None:
    """Table H.1, nanometres; the guide rounds 16.7 degrees of freedom down to 16."""
    comparator = Budget(
        components=(
            component("observations", 5.8, 24),
            component("random", 3.9, 5),
            component("systematic", 6.7, 8),
        )
    )
    assert comparator.combined == pytest.approx(9.7, abs=0.05)
    rounded = (9.7 / comparator.combined) ** 4  # the guide goes on with 9.7
    assert rounded * comparator.degrees_of_freedom == pytest.approx(25.6, abs=0.06)
    gauge = Budget(
        components=(
            component("standard", 25, 18),
            component("comparator", 9.7, 25.6),
            component("expansion", 2.9, 50),
            component("temperature", 16.6, 2),
        )
    )
    assert gauge.combined == pytest.approx(32, abs=0.5)
    assert gauge.combined**2 == pytest.approx(1002, abs=1.1)
    assert math.floor(gauge.degrees_of_freedom) == 16
    assert gauge.coverage_factor(0.99, degrees_of_freedom=16) == pytest.approx(2.92, abs=0.005)
    assert gauge.expanded(0.99, degrees_of_freedom=16) == pytest.approx(93, abs=0.6)


def test_product_of_annex_g4() -> None:
    """G.4.1: Y = b X1 X2 X3 from 10, 5 and 15 readings; relative, in per cent."""
    budget = Budget(
        components=(component("x1", 0.25, 9), component("x2", 0.57, 4), component("x3", 0.82, 14))
    )
    assert budget.combined == pytest.approx(1.03, abs=0.005)
    assert budget.degrees_of_freedom == pytest.approx(19.0, abs=0.05)
    assert budget.coverage_factor(0.95) == pytest.approx(2.09, abs=0.005)
    assert budget.expanded(0.95) == pytest.approx(2.2, abs=0.05)


@pytest.mark.parametrize(
    ("distribution", "printed"),
    [("rectangular", 0.577), ("triangular", 0.408), ("arcsine", 0.707)],
)
def test_divisors(distribution: str, printed: float) -> None:
    """4.3.7, 4.3.9 and JCGM 101, 6.4.6, for a half-width of 1."""
    found = Component(name="x", kind="B", stated=1.0, distribution=distribution)  # type: ignore[arg-type]
    assert found.standard_uncertainty == pytest.approx(printed, abs=5e-4)


def test_step_of_a_display() -> None:
    """F.2.2.1: a step of 0.01 gives 0.29 times the step."""
    found = Component.from_step("display", 0.01)
    assert found.standard_uncertainty == pytest.approx(0.0029, abs=5e-5)


def test_ten_resistors_against_one_standard() -> None:
    """5.2.2: ten resistors of 1000 ohm, each compared with one standard of u = 0.1 ohm, in a row.

    The error is shared: 1 ohm in all, where independent errors would give 0.32 ohm.
    """

    def resistor(standard: str) -> Budget:
        return Budget(components=(Component(name="u", kind="B", stated=0.1, shared=standard),))

    one = combine([(str(i), 1, resistor("S")) for i in range(10)])
    ten = combine([(str(i), 1, resistor(f"S{i}")) for i in range(10)])
    assert one.combined == pytest.approx(1.0, abs=1e-12)
    assert ten.combined == pytest.approx(0.32, abs=0.005)


def test_correlated_impedance_of_annex_h2() -> None:
    """Tables H.2 to H.4: resistance and reactance from five sets of voltage, current and phase."""
    volts = np.array([5.007, 4.994, 5.005, 4.990, 4.999])
    amperes = np.array([19.663, 19.639, 19.640, 19.685, 19.678]) * 1e-3
    phase = np.array([1.0456, 1.0438, 1.0468, 1.0428, 1.0433])
    rows = np.vstack([volts, amperes, phase])
    v, i, f = rows.mean(axis=1)
    s = rows.std(axis=1, ddof=1) / math.sqrt(5)
    r = np.corrcoef(rows)
    assert [r[0, 1], r[0, 2], r[1, 2]] == pytest.approx([-0.36, 0.86, -0.65], abs=0.005)

    def budget(sensitivities: tuple[float, float, float]) -> Budget:
        return Budget(
            components=tuple(
                Component(name=name, kind="A", stated=u, sensitivity=c, degrees_of_freedom=4)
                for name, u, c in zip("vif", s, sensitivities, strict=True)
            ),
            correlations=(("v", "i", r[0, 1]), ("v", "f", r[0, 2]), ("i", "f", r[1, 2])),
        )

    resistance, reactance = v / i * math.cos(f), v / i * math.sin(f)
    assert resistance == pytest.approx(127.732, abs=5e-4)
    assert reactance == pytest.approx(219.847, abs=5e-4)
    assert budget((resistance / v, -resistance / i, -reactance)).combined == pytest.approx(
        0.071, abs=5e-4
    )
    assert budget((reactance / v, -reactance / i, resistance)).combined == pytest.approx(
        0.295,
        abs=1e-3,  # the guide goes on with rounded correlations
    )
    assert budget((1 / i, -v / i**2, 0.0)).combined == pytest.approx(0.236, abs=5e-4)
