"""Monte Carlo propagation: what it must agree with, where it must part, and what it refuses."""

from __future__ import annotations

import math
from typing import cast

import numpy as np
import pytest
from scipy import stats

from workbench.errors import Refusal
from workbench.inference.measuring.budget import Budget, Component
from workbench.inference.measuring.input_quantity import InputQuantity, Normal, Rectangular
from workbench.inference.measuring.propagation import compare, propagate, propagate_budget

TRIALS = 200_000


def rng(seed: int = 1) -> np.random.Generator:
    return np.random.default_rng(seed)


def test_formula_and_monte_carlo_agree_where_straight_and_normal() -> None:
    budget = Budget(
        components=(
            Component(name="a", kind="B", stated=0.04),
            Component(name="b", kind="B", stated=0.03, sensitivity=-2.0),
            Component(name="c", kind="B", stated=0.02, divisor=2.0),
        ),
        correlations=(("a", "b", 0.4),),
    )
    result = propagate_budget(budget, 7.0, generator=rng(), trials=1_000_000)
    found = compare(result, budget.interval(7.0), budget.combined)
    assert found.tolerance == pytest.approx(0.0005)
    assert result.mean == pytest.approx(7.0, abs=3e-4)
    assert result.standard_uncertainty == pytest.approx(budget.combined, rel=0.003)
    assert found.agree


def test_they_part_for_few_readings_and_for_bounded_inputs() -> None:
    few = Budget(components=(Component(name="a", kind="A", stated=1.0, degrees_of_freedom=3),))
    drawn = propagate_budget(few, generator=rng())
    assert drawn.interval().half_width == pytest.approx(few.expanded(), rel=0.02)
    assert drawn.standard_uncertainty > 1.4 * few.combined

    bounded = Budget(
        components=(Component(name="a", kind="B", stated=1.0, distribution="rectangular"),)
    )
    found = compare(
        propagate_budget(bounded, generator=rng()), bounded.interval(0.0), bounded.combined
    )
    assert not found.agree
    assert found.settled
    assert found.low_gap == pytest.approx(1.96 / math.sqrt(3) - 0.95, abs=0.01)


def test_a_close_call_is_not_settled_by_few_trials() -> None:
    budget = Budget(components=(Component(name="a", kind="B", stated=1.0),))
    found = compare(
        propagate_budget(budget, generator=rng(), trials=10_000),
        budget.interval(0.0),
        budget.combined,
    )
    assert found.numerical_error > found.tolerance / 4
    assert not found.settled


def test_every_distribution_of_a_budget_is_drawn_with_its_own_spread() -> None:
    for distribution in ("normal", "rectangular", "triangular", "arcsine"):
        component = Component(
            name="a b (c)",
            kind="B",
            stated=0.3,
            sensitivity=-2.0,
            distribution=distribution,  # type: ignore[arg-type]
        )
        drawn = propagate_budget(Budget(components=(component,)), generator=rng())
        assert drawn.standard_uncertainty == pytest.approx(abs(component.contribution), rel=0.01)


def test_shortest_interval_of_a_lopsided_result() -> None:
    """Chi-square on 2: the shortest 95 % interval starts at nothing."""
    result = propagate(
        lambda x, y: x**2 + y**2,
        {
            "x": Normal(mean=0.0, standard_uncertainty=1.0),
            "y": Normal(mean=0.0, standard_uncertainty=1.0),
        },
        generator=rng(),
    )
    equal, short = result.interval(), result.shortest()
    assert (equal.low, equal.high) == pytest.approx(stats.chi2(2).ppf([0.025, 0.975]), rel=0.03)
    assert short.low == pytest.approx(0.0, abs=0.01)
    assert short.high == pytest.approx(stats.chi2(2).ppf(0.95), rel=0.02)
    assert short.half_width < equal.half_width


def test_the_same_seed_gives_the_same_bits_and_another_does_not() -> None:
    inputs: dict[str, InputQuantity] = {"x": Normal(mean=0.0, standard_uncertainty=1.0)}
    first, again, other = (
        propagate(lambda x: x, inputs, generator=rng(seed)) for seed in (5, 5, 6)
    )
    assert np.array_equal(first.values, again.values)
    assert not np.array_equal(first.values, other.values)


def test_numerical_error_is_the_spread_over_seeds() -> None:
    inputs: dict[str, InputQuantity] = {"x": Normal(mean=0.0, standard_uncertainty=1.0)}
    runs = [
        propagate(lambda x: x, inputs, generator=rng(seed), trials=10_000) for seed in range(200)
    ]
    spread = np.std([run.interval().low for run in runs])
    assert np.mean([run.numerical_error() for run in runs]) == pytest.approx(spread, rel=0.3)


def test_what_is_refused() -> None:
    inputs: dict[str, InputQuantity] = {
        "x": Normal(mean=0.0, standard_uncertainty=1.0),
        "y": Rectangular(low=0.0, high=1.0),
        "z": Normal(mean=0.0, standard_uncertainty=1.0),
    }

    def model(**drawn: np.ndarray) -> np.ndarray:
        return cast("np.ndarray", drawn["x"] + drawn["y"])

    with pytest.raises(Refusal, match="10000 trials or more, not 100"):
        propagate(model, inputs, generator=rng(), trials=100)
    with pytest.raises(Refusal, match="Only normal inputs may be correlated, not “y”"):
        propagate(model, inputs, generator=rng(), correlations=(("x", "y", 0.5),))
    with pytest.raises(Refusal, match="cannot all hold at once"):
        propagate(model, inputs, generator=rng(), correlations=(("x", "z", 1.5),))
    with pytest.raises(Refusal, match="one finite number for each of 200000 trials"):
        propagate(lambda **_: np.zeros(3), inputs, generator=rng())
    with pytest.raises(Refusal, match="one finite number for each"):
        propagate(lambda **drawn: drawn["x"] * math.inf, inputs, generator=rng())
    result = propagate(model, inputs, generator=rng(), trials=10_000)
    with pytest.raises(Refusal, match="too few for an interval at 0"):
        result.interval(0.99999)
    with pytest.raises(Refusal, match="reported to 1 or 2, not 3"):
        compare(result, result.interval(), 1.0, digits=3)
    with pytest.raises(Refusal, match="must be above 0, not 0"):
        compare(result, result.interval(), 0.0)
