"""Equality of spread: swap, unit, shift, interval against p, refusals."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from workbench.errors import Refusal
from workbench.inference.means.welch import Summary
from workbench.inference.spreads.equality import (
    bartlett,
    brown_forsythe,
    fligner_killeen,
    variance_ratio,
)

DECKS = {
    "works": (9.1, 9.4, 8.8, 9.0, 9.3),
    "deep": (9.9, 10.4, 10.0, 11.2),
    "rare": (11.0, 9.6, 10.1),
}
TESTS = (brown_forsythe, fligner_killeen, bartlett)


@pytest.mark.parametrize("test", TESTS)
@given(scale=st.floats(0.01, 50), shifts=st.lists(st.floats(-50, 50), min_size=3, max_size=3))
@settings(max_examples=25, deadline=None)
def test_unit_and_each_familys_place_do_not_matter(test, scale, shifts) -> None:
    moved = {
        name: np.array(row) * scale + shift
        for (name, row), shift in zip(DECKS.items(), shifts, strict=True)
    }
    assert test(moved).p_value == pytest.approx(test(DECKS).p_value, rel=1e-6)


@pytest.mark.parametrize("test", TESTS)
def test_order_does_not_matter(test) -> None:
    assert test(dict(reversed(DECKS.items()))).p_value == pytest.approx(test(DECKS).p_value)


def test_scipy_agrees_where_nothing_ties() -> None:
    """Odd counts: in an even family the two middle blocks tie, which scipy takes for chance."""
    generator = np.random.default_rng(2)
    rows = {name: generator.normal(size=n) for name, n in (("a", 7), ("b", 9), ("c", 5))}
    for test, theirs in (
        (brown_forsythe, stats.levene),
        (fligner_killeen, stats.fligner),
        (bartlett, stats.bartlett),
    ):
        expected, found = theirs(*rows.values()), test(rows)
        assert (found.statistic, found.p_value) == pytest.approx(
            (expected.statistic, expected.pvalue), rel=1e-9
        )


def test_equal_distances_tie_although_not_in_binary() -> None:
    """9.1 - 9.0 and 9.4 - 9.3 tie: in whole tenths the ranks must be the same."""
    tenths = {name: [round(10 * value) for value in row] for name, row in DECKS.items()}
    assert fligner_killeen(DECKS).statistic == pytest.approx(fligner_killeen(tenths).statistic)
    theirs = stats.fligner(*tenths.values())
    assert fligner_killeen(DECKS).p_value == pytest.approx(theirs.pvalue)


def test_swapped_families_invert_the_ratio() -> None:
    forward = variance_ratio(DECKS["deep"], DECKS["works"])
    back = variance_ratio(DECKS["works"], DECKS["deep"])
    assert back.estimate == pytest.approx(1 / forward.estimate)
    assert back.p_value(0.5) == pytest.approx(forward.p_value(2.0))
    assert back.interval().low == pytest.approx(1 / forward.interval().high)
    assert back.sd_interval().high == pytest.approx(1 / math.sqrt(forward.interval().low))


@pytest.mark.parametrize("confidence", [0.5, 0.9, 0.99])
def test_the_interval_ends_where_p_says(confidence: float) -> None:
    found = variance_ratio(DECKS["deep"], DECKS["works"])
    for end in (found.interval(confidence).low, found.interval(confidence).high):
        assert found.p_value(end) == pytest.approx(1 - confidence)


@pytest.mark.parametrize("test", TESTS)
@pytest.mark.parametrize(
    ("families", "message"),
    [
        ({"works": (1, 2)}, "1 families are given"),
        ({"works": (1, 2), "deep": (1,)}, "family 'deep' holds 1 number"),
        ({"works": (1, 2), "deep": (1, math.inf)}, "family 'deep' holds inf"),
    ],
)
def test_refusals(test, families, message) -> None:
    with pytest.raises(Refusal, match=message):
        test(families)


def test_refusals_without_spread() -> None:
    equal = {"works": (1, 3), "deep": (4, 6)}
    with pytest.raises(Refusal, match="No family shows any spread"):
        brown_forsythe(equal)
    with pytest.raises(Refusal, match="equally far from their family's median"):
        fligner_killeen(equal)
    with pytest.raises(Refusal, match="Family 'deep' shows no spread"):
        bartlett({"works": (1, 3), "deep": (4, 4)})
    with pytest.raises(Refusal, match="The reference shows no spread"):
        variance_ratio((1, 2), Summary(n=5, mean=3, sd=0))
    ratio = variance_ratio((1, 2, 4), (1, 5, 7))
    with pytest.raises(Refusal, match="lies above 0, not at 0"):
        ratio.p_value(0)
    with pytest.raises(Refusal, match="Confidence must lie"):
        ratio.interval(1)
