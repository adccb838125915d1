"""The zones a figure shades are those the rules of evidence judge by."""

from __future__ import annotations

import itertools

import pytest

from workbench.article.zones import boundaries, zones
from workbench.claims.rules import DIRECTIONS, Direction, outcome
from workbench.inference.results import Interval

MARGINS = (0.0, 0.5, 2.0)
CASES = [pair for pair in itertools.product(DIRECTIONS, MARGINS) if pair not in {("same", 0.0)}]


@pytest.mark.parametrize(("direction", "margin"), CASES)
@pytest.mark.parametrize("middle", [-3.0, -1.0, -0.2, 0.1, 0.3, 1.0, 4.0])
def test_an_interval_inside_a_zone_has_its_outcome(
    direction: Direction, margin: float, middle: float
) -> None:
    interval = Interval(low=middle - 0.05, high=middle + 0.05, confidence=0.95)
    inside = [
        z for z in zones(direction, margin) if z.low < interval.low and interval.high < z.high
    ]
    judged = outcome(direction, margin, interval, interval)
    assert [zone.outcome for zone in inside] == [judged]


@pytest.mark.parametrize(("direction", "margin"), CASES)
def test_an_interval_across_a_boundary_is_unresolved(direction: Direction, margin: float) -> None:
    for line in boundaries(direction, margin):
        across = Interval(low=line - 0.1, high=line + 0.1, confidence=0.95)
        assert outcome(direction, margin, across, across) == "unresolved"


@pytest.mark.parametrize(("direction", "margin"), CASES)
def test_zones_cover_the_line_without_a_gap(direction: Direction, margin: float) -> None:
    found = zones(direction, margin)
    assert found[0].low == -float("inf")
    assert found[-1].high == float("inf")
    assert all(left.high == right.low for left, right in itertools.pairwise(found))


def test_a_claim_that_could_not_be_read_has_no_zones() -> None:
    assert zones(None, 0.0) == boundaries(None, 0.0) == ()


def test_a_margin_below_zero_is_kept() -> None:
    assert boundaries("greater", -1.0) == (-1.0,)
    assert boundaries("less", -1.0) == (1.0,)
