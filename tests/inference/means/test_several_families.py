"""One-way analyses: two families are a t test, units and order do not matter, refusals."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.errors import Refusal
from workbench.inference.means.pooled import pooled
from workbench.inference.means.several_families import one_way, welch_one_way
from workbench.inference.means.welch import Summary, welch
from workbench.inference.results import Difference

DECKS = {"works": (9.1, 9.4, 8.8, 9.0, 9.3), "deep": (9.9, 10.4, 10.0), "trophy": (11.0, 9.6)}
OMNIBUS = (one_way, welch_one_way)


@pytest.mark.parametrize("analysis", OMNIBUS)
@given(scale=st.floats(0.01, 100), shift=st.floats(-1e4, 1e4))
@settings(max_examples=25, deadline=None)
def test_unit_and_origin_do_not_matter(analysis, scale: float, shift: float) -> None:
    moved = {name: np.array(row) * scale + shift for name, row in DECKS.items()}
    assert analysis(moved).p_value == pytest.approx(analysis(DECKS).p_value, rel=1e-6)


@pytest.mark.parametrize("analysis", OMNIBUS)
def test_order_does_not_matter(analysis) -> None:
    turned = dict(reversed(DECKS.items()))
    assert analysis(turned).statistic == pytest.approx(analysis(DECKS).statistic)


def test_two_families_are_the_t_tests() -> None:
    """F of two families is the square of t; so is the p, by the pooled and by Welch's analysis."""
    two = {name: DECKS[name] for name in ("works", "deep")}
    for analysis, t in (
        (one_way, pooled(two["deep"], two["works"])),
        (welch_one_way, welch(Summary.of(two["deep"]), Summary.of(two["works"]))),
    ):
        found = analysis(two)
        assert found.statistic == pytest.approx(t.statistic() ** 2)
        assert found.within_degrees_of_freedom == pytest.approx(t.degrees_of_freedom)
        assert found.p_value == pytest.approx(t.p_value())


def test_pooled_swap_unit_and_interval() -> None:
    forward, back = pooled(DECKS["deep"], DECKS["works"]), pooled(DECKS["works"], DECKS["deep"])
    assert back.estimate == pytest.approx(-forward.estimate)
    assert back.p_value() == pytest.approx(forward.p_value())
    inches = pooled(np.array(DECKS["deep"]) / 25.4, np.array(DECKS["works"]) / 25.4)
    assert inches.p_value(0.5 / 25.4) == pytest.approx(forward.p_value(0.5))
    for confidence in (0.5, 0.9, 0.99):
        low = forward.interval(confidence).low
        assert forward.p_value(low) == pytest.approx(1 - confidence)


def test_one_block_borrows_the_spread_of_the_other_family() -> None:
    """t = (x - mean) / (sd sqrt(1 + 1/n)): the modified t of a single case."""
    works = np.array(DECKS["works"])
    found: Difference = pooled([11.0], works)
    expected = (11.0 - works.mean()) / (works.std(ddof=1) * math.sqrt(1 + 1 / 5))
    assert found.statistic() == pytest.approx(expected)
    assert found.degrees_of_freedom == 4


@pytest.mark.parametrize("analysis", OMNIBUS)
@pytest.mark.parametrize(
    ("families", "message"),
    [
        ({"works": (1, 2)}, "1 families are given; at least 2"),
        ({"works": (1, 2), "deep": ()}, "family 'deep' holds 0 numbers"),
        ({"works": (1, 2), "deep": (1, math.nan)}, "family 'deep' holds nan at place 2"),
        ({"works": (2, 2), "deep": (3, 3)}, "spread"),
    ],
)
def test_refusals(analysis, families, message) -> None:
    with pytest.raises(Refusal, match=message):
        analysis(families)


def test_refusals_of_one_analysis() -> None:
    with pytest.raises(Refusal, match="Every family holds a single value"):
        one_way({"works": [1], "deep": [2]})
    with pytest.raises(Refusal, match="Family 'deep' shows no spread of its own"):
        welch_one_way({"works": [1, 2], "deep": [3, 3]})
    with pytest.raises(Refusal, match="family 'deep' counts 1; at least 2"):
        welch_one_way({"works": [1, 2], "deep": Summary(n=1, mean=3, sd=0)})
    with pytest.raises(Refusal, match="Every family holds a single value"):
        pooled([1], [2])
