"""Brinell hardness: the standard's table, its own geometry, units, refusals."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.errors import Refusal
from workbench.records.brinell import brinell


@pytest.mark.parametrize(
    ("diameter", "printed"),
    [(2.5, 602), (3.0, 415), (3.5, 302), (4.0, 229), (4.5, 179), (5.0, 143), (6.0, 95.5)],
)
def test_against_the_table_of_the_standards(diameter: float, printed: float) -> None:
    """ISO 6506-4 and ASTM E10, 10 mm ball, 3000 kgf = 29.42 kN (table values from memory)."""
    assert brinell(29420, 10, diameter).hardness == pytest.approx(printed, abs=0.6)


def test_a_load_in_kgf_has_no_rounded_constant() -> None:
    """At 4 mm: 228.83 with the standards' 0.102, 228.77 without rounding it."""
    assert brinell(29420, 10, 4.0).hardness == pytest.approx(228.83, abs=5e-3)
    assert brinell(3000, 10, 4.0, load_unit="kgf").hardness == pytest.approx(228.77, abs=5e-3)


def test_hardness_is_load_over_the_area_of_the_cap() -> None:
    """Area of a spherical cap: pi D h."""
    found = brinell(1000, 5, 2.0, load_unit="kgf")
    assert found.hardness * math.pi * 5 * found.depth == pytest.approx(1000)
    assert found.depth == pytest.approx((5 - math.sqrt(25 - 4)) / 2)


@settings(max_examples=50, deadline=None)
@given(diameter=st.floats(2.41, 5.99))
def test_inches_and_millimetres_give_one_hardness(diameter: float) -> None:
    metric = brinell(29420, 10, diameter)
    inches = brinell(29420, 10 / 25.4, diameter / 25.4, length_unit="in")
    assert inches.hardness == pytest.approx(metric.hardness, rel=1e-9)
    assert inches.least_thickness == pytest.approx(metric.least_thickness, rel=1e-9)
    assert inches.per_diameter == pytest.approx(metric.per_diameter, rel=1e-9)


@settings(max_examples=50, deadline=None)
@given(diameter=st.floats(2.5, 5.9))
def test_slope_is_that_of_the_formula(diameter: float) -> None:
    step = 1e-5
    high, low = (brinell(29420, 10, diameter + side).hardness for side in (step, -step))
    assert brinell(29420, 10, diameter).per_diameter == pytest.approx(
        (high - low) / (2 * step), rel=1e-5
    )


def test_one_index_gives_one_hardness_for_similar_impressions() -> None:
    """Geometric similarity: half the ball, a quarter of the load, half the impression."""
    large, small = brinell(29420, 10, 4.0), brinell(29420 / 4, 5, 2.0)
    assert small.hardness == pytest.approx(large.hardness)
    assert small.index == pytest.approx(large.index) == pytest.approx(30, rel=1e-3)
    assert large.standard_index
    assert not brinell(20000, 10, 4.0).standard_index


def test_room_an_impression_needs() -> None:
    found = brinell(29420, 10, 4.0)
    assert found.least_thickness == pytest.approx(8 * 0.4174, abs=1e-3)
    assert (found.least_spacing, found.least_edge) == (12.0, 10.0)


@pytest.mark.parametrize("diameter", [2.39, 6.01])
def test_an_impression_outside_the_range_is_refused(diameter: float) -> None:
    with pytest.raises(Refusal, match=r"holds from 0\.24 to 0\.6"):
        brinell(29420, 10, diameter)


def test_ends_of_the_range_are_inside() -> None:
    assert brinell(29420, 10, 2.4).hardness > brinell(29420, 10, 6.0).hardness


def test_bad_sizes_and_units_are_refused() -> None:
    with pytest.raises(Refusal, match="The load must be above 0"):
        brinell(0, 10, 4)
    with pytest.raises(Refusal, match="The ball must be above 0"):
        brinell(29420, -10, 4)
    with pytest.raises(Refusal, match="The impression must be above 0 and finite, not nan"):
        brinell(29420, 10, math.nan)
    with pytest.raises(Refusal, match="in N or kgf, not in “lbf”"):
        brinell(29420, 10, 4, load_unit="lbf")
    with pytest.raises(Refusal, match="“kg” cannot be turned into “mm”"):
        brinell(29420, 10, 4, length_unit="kg")
