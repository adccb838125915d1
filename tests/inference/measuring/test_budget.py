"""Budgets: what adds, what averages, what cancels; the uncertainties package as witness."""

from __future__ import annotations

import math

import numpy as np
import pytest
import uncertainties
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.errors import Refusal
from workbench.inference.measuring.budget import Budget, Component, combine


def component(name: str, stated: float, **more: object) -> Component:
    return Component(name=name, kind="B", stated=stated, **more)  # type: ignore[arg-type]


READING = Budget(
    components=(
        component("repeat", 0.04, degrees_of_freedom=9),
        component("step", 0.005, distribution="rectangular"),
        component("calibration", 0.03, shared="C1"),
    )
)


@settings(max_examples=50, deadline=None)
@given(
    stated=st.lists(st.floats(0.01, 5.0), min_size=3, max_size=3),
    sensitivities=st.lists(st.floats(-3.0, 3.0), min_size=3, max_size=3),
    r=st.floats(-0.9, 0.9),
)
def test_combined_against_the_uncertainties_package(
    stated: list[float], sensitivities: list[float], r: float
) -> None:
    budget = Budget(
        components=tuple(
            component(name, u, sensitivity=c)
            for name, u, c in zip("abc", stated, sensitivities, strict=True)
        ),
        correlations=(("a", "b", r),),
    )
    matrix = np.diag(np.square(stated))
    matrix[0, 1] = matrix[1, 0] = r * stated[0] * stated[1]
    inputs = uncertainties.correlated_values((1.0, 2.0, 3.0), matrix)
    witness = sum(c * x for c, x in zip(sensitivities, inputs, strict=True))
    assert budget.combined == pytest.approx(witness.s, rel=1e-6, abs=1e-9)
    if budget.combined > 1e-6:
        assert sum(budget.shares().values()) == pytest.approx(1.0)


def test_unit_leaves_shares_and_factor_alone() -> None:
    inches = Budget(
        components=tuple(
            component(
                c.name,
                c.stated / 25.4,
                distribution=c.distribution,
                degrees_of_freedom=c.degrees_of_freedom,
            )
            for c in READING.components
        )
    )
    assert inches.combined == pytest.approx(READING.combined / 25.4)
    assert inches.shares() == pytest.approx(READING.shares())
    assert inches.coverage_factor() == pytest.approx(READING.coverage_factor())


def test_only_what_is_not_shared_falls_with_readings() -> None:
    mean = READING.mean_of(16)
    own = math.hypot(0.04, 0.005 / math.sqrt(3)) / 4
    assert mean.combined == pytest.approx(math.hypot(own, 0.03), rel=1e-12)
    assert READING.mean_of(10**9).combined == pytest.approx(0.03, rel=1e-6)
    assert READING.mean_of(1) == READING


def test_contrast_under_one_calibration_and_under_two_by_simulation() -> None:
    generator, trials = np.random.default_rng(3), 40_000
    other = Budget(
        components=(
            *READING.components[:2],
            component("calibration", 0.03, shared="C2"),
        )
    )
    for second, same in ((READING, True), (other, False)):
        first = generator.normal(0, 0.03, trials)
        again = first if same else generator.normal(0, 0.03, trials)
        own = [
            generator.normal(0, 0.04, (trials, 4)).mean(axis=1)
            + generator.uniform(-0.005, 0.005, (trials, 4)).mean(axis=1)
            for _ in range(2)
        ]
        simulated = float((own[0] + first - own[1] - again).std())
        stated = combine([("a", 1, READING.mean_of(4)), ("b", -1, second.mean_of(4))])
        assert stated.combined == pytest.approx(simulated, rel=0.015)


def test_shared_component_with_unequal_sensitivities_cancels_in_part() -> None:
    def under(sensitivity: float) -> Budget:
        return Budget(components=(component("speed", 0.02, sensitivity=sensitivity, shared="C1"),))

    both = combine([("a", 1, under(6.0)), ("b", -1, under(4.0))])
    assert both.combined == pytest.approx(0.02 * 2.0)
    assert [c.name for c in both.components] == ["speed (C1)"]


def test_swapping_the_families_changes_nothing() -> None:
    forth = combine([("a", 1, READING), ("b", -1, READING.mean_of(4))])
    back = combine([("b", 1, READING.mean_of(4)), ("a", -1, READING)])
    assert forth.combined == pytest.approx(back.combined)
    assert forth.degrees_of_freedom == pytest.approx(back.degrees_of_freedom)


def test_interval_is_symmetric_and_grows_with_confidence() -> None:
    narrow, wide = READING.interval(7.0, 0.90), READING.interval(7.0, 0.99)
    assert narrow.low + narrow.high == pytest.approx(14.0)
    assert wide.half_width > narrow.half_width
    assert narrow.half_width == pytest.approx(READING.expanded(0.90))


def test_a_component_of_readings_is_their_standard_deviation() -> None:
    found = Component.from_readings("repeat", [5.1, 5.3, 5.2, 5.2])
    assert found.standard_uncertainty == pytest.approx(np.std([5.1, 5.3, 5.2, 5.2], ddof=1))
    assert (found.kind, found.degrees_of_freedom) == ("A", 3)


def test_an_expanded_uncertainty_is_divided_by_its_factor() -> None:
    assert component("piece", 0.02, divisor=2.0).standard_uncertainty == pytest.approx(0.01)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"stated": -0.1}, "“repeat” must be 0 or more and finite, not -0.1"),
        ({"stated": math.nan}, "must be 0 or more and finite, not nan"),
        ({"kind": "C"}, "of type A or B, not 'C'"),
        ({"distribution": "lognormal"}, "one of normal, rectangular, triangular, arcsine"),
        ({"divisor": 0.0}, "The divisor of “repeat” must be above 0"),
        ({"divisor": 2.0, "distribution": "arcsine"}, "follows from its arcsine distribution"),
        ({"sensitivity": math.inf}, "The sensitivity of “repeat” must be a finite number"),
        ({"degrees_of_freedom": 0.0}, "must be above 0, not 0"),
    ],
)
def test_bad_components_are_refused(change: dict[str, object], message: str) -> None:
    stated: dict[str, object] = {"name": "repeat", "kind": "A", "stated": 0.1}
    with pytest.raises(Refusal, match=message):
        Component(**(stated | change))  # type: ignore[arg-type]


def test_bad_budgets_are_refused() -> None:
    a, b, c = (component(name, 0.1) for name in "abc")
    with pytest.raises(Refusal, match="needs a component"):
        Budget(components=())
    with pytest.raises(Refusal, match="“a” is named twice"):
        Budget(components=(a, a))
    with pytest.raises(Refusal, match="joins two components of the budget"):
        Budget(components=(a, b), correlations=(("a", "x", 0.5),))
    with pytest.raises(Refusal, match="lies between -1 and 1, not 2"):
        Budget(components=(a, b), correlations=(("a", "b", 2),))
    with pytest.raises(Refusal, match="cannot all hold at once"):
        Budget(
            components=(a, b, c),
            correlations=(("a", "b", 0.9), ("b", "c", 0.9), ("a", "c", -0.9)),
        )
    few = Budget(
        components=(component("a", 0.1, degrees_of_freedom=4), b), correlations=(("a", "b", 0.5),)
    )
    with pytest.raises(Refusal, match="no effective number of them"):
        few.expanded()
    assert few.expanded(degrees_of_freedom=4) > few.combined
    with pytest.raises(Refusal, match="nothing to share out"):
        Budget(components=(component("a", 0.0),)).shares()
    with pytest.raises(Refusal, match="1 or more readings, not of 0"):
        READING.mean_of(0)
    with pytest.raises(Refusal, match="combine it by hand"):
        combine([("a", 1, few), ("b", -1, READING)])
    with pytest.raises(Refusal, match="a label of its own"):
        combine([("a", 1, READING), ("a", -1, READING)])
    louder = Budget(components=(component("calibration", 0.04, shared="C1"),))
    with pytest.raises(Refusal, match=r"“calibration \(C1\)” is stated differently"):
        combine([("a", 1, READING), ("b", -1, louder)])
    with pytest.raises(Refusal, match="The step of “display” must be above 0"):
        Component.from_step("display", 0.0)
