from __future__ import annotations

import math
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from uncertainties import ufloat

from workbench.records.rounding import (
    digits_for,
    interval_text,
    number_text,
    p_text,
    quantity_text,
)


@pytest.mark.parametrize(
    ("value", "uncertainty", "shown"),
    [
        # JCGM 100:2008, 7.2.2 and 7.2.6: a mass of 100.021 47 g with a standard uncertainty of
        # 0.35 mg, printed with both digits of it (from memory).
        (100.02147, 0.00035, "100.02147 g"),
        # JCGM 100:2008, 7.2.6: 10.057 62 ohm with 27 milliohm is 10.058 ohm.
        (10.05762, 0.027, "10.058 g"),
    ],
)
def test_against_jcgm_100(value: float, uncertainty: float, shown: str) -> None:
    assert quantity_text(value, uncertainty, "g") == shown


@given(st.floats(0.01, 1000), st.floats(1e-4, 9))
@settings(max_examples=60)
def test_against_the_uncertainties_library(value: float, uncertainty: float) -> None:
    """Two significant digits of the uncertainty, as the general-purpose library prints them."""
    printed = f"{ufloat(value, uncertainty):.2uf}".split("+/-")[0]
    ours = number_text(value, digits_for(uncertainty))
    # The library rounds the binary value, we its shortest decimal text: a half may differ.
    assert abs(Decimal(ours) - Decimal(printed)) <= Decimal(1).scaleb(-digits_for(uncertainty))
    assert Decimal(ours).as_tuple().exponent == Decimal(printed).as_tuple().exponent


@pytest.mark.parametrize(
    ("uncertainty", "step", "decimals"),
    [
        (0.0234, None, 3),
        (0.0234, 0.01, 2),
        (0.0996, None, 2),
        (0.099, None, 3),
        (2.34, 0.01, 1),
        (31, None, 0),
        (310, 0.1, -1),
        (0, 0.05, 2),
        (math.nan, 0.001, 3),
        (math.inf, 1, 0),
        (0.001, 10, -1),
    ],
)
def test_digits(uncertainty: float, step: float | None, decimals: int) -> None:
    assert digits_for(uncertainty, step) == decimals


@pytest.mark.parametrize(
    ("value", "decimals", "shown"),
    [
        # ISO 80000-1:2009, B.3, rule A (halves to even), its examples (from memory).
        (12.25, 1, "12.2"),
        (12.35, 1, "12.4"),
        (1225.0, -1, "1220"),
        (1235.0, -1, "1240"),
        (-0.001, 2, "0.00"),
        (-2.5, 0, "-2"),
        (math.inf, 2, "∞"),
        (-math.inf, 2, "-∞"),
        (math.nan, 2, "not known"),
    ],
)
def test_numbers(value: float, decimals: int, shown: str) -> None:
    assert number_text(value, decimals) == shown


@pytest.mark.parametrize(
    ("step", "decimals"),
    [(1.0, 0), (0.5, 1), (0.05, 2), (0.0254, 2), (0.01, 2), (0.00775, 2), (0.001 / 1.013, 3)],
)
def test_a_step_shows_its_own_decimals_corrected_or_not(step: float, decimals: int) -> None:
    # by hand: 0.01 mm read through a calibration of slope 1.29 is 0.00775 mm, still hundredths
    assert digits_for(1e-9, step) == decimals


def test_quantities_carry_their_unit_and_step() -> None:
    assert quantity_text(5.2, unit="mm", step=0.01) == "5.20 mm"
    assert quantity_text(5.23456789, unit="mm") == "5.23457 mm"
    assert quantity_text(5.0, 0.3) == "5.00"
    assert quantity_text(math.nan, unit="mm") == "not known mm"


def test_intervals() -> None:
    assert interval_text(1.98765, 2.34567, "mm") == "1.988 to 2.346 mm"
    assert interval_text(1.98765, 2.34567, "mm", step=0.01) == "1.99 to 2.35 mm"
    assert interval_text(2.5, math.inf, "mm", step=0.01) == "above 2.50 mm"
    assert interval_text(-math.inf, 2.5, "mm", step=0.01) == "below 2.50 mm"
    assert interval_text(-math.inf, math.inf, "mm") == "no limit either way"
    assert interval_text(-0.5, 0.25, "kg", uncertainty=0.19) == "-0.50 to 0.25 kg"


@pytest.mark.parametrize(
    ("p", "shown"),
    [
        (0.0134, "p = 0.013"),
        (0.01, "p = 0.010"),
        (0.00996, "p = 0.010"),
        (0.0034, "p = 0.0034"),
        (0.001, "p = 0.0010"),
        (0.000999, "p < 0.001"),
        (0.263, "p = 0.26"),
        (0.996, "p > 0.99"),
        (0.5, "p = 0.50"),
        (0, "p < 0.001"),
        (1, "p > 0.99"),
        (math.nan, "p not known"),
    ],
)
def test_p_values(p: float, shown: str) -> None:
    assert p_text(p) == shown


@given(st.floats(-1e6, 1e6), st.floats(1e-6, 1e4), st.sampled_from([None, 1.0, 0.01, 0.001]))
@settings(max_examples=100)
def test_what_is_printed_is_within_half_a_digit(
    value: float, uncertainty: float, step: float | None
) -> None:
    decimals = digits_for(uncertainty, step)
    printed = Decimal(number_text(value, decimals))
    assert abs(printed - Decimal(repr(value))) <= Decimal(1).scaleb(-decimals) / 2


def test_a_difference_of_shares_is_printed_in_percentage_points() -> None:
    assert quantity_text(0.0, 0.031, "share", 0.001) == "0.0 percentage points"
    assert quantity_text(0.02, unit="share") == "2 percentage points"
    assert interval_text(-0.134, 0.0513, "share", uncertainty=0.031, step=0.001) == (
        "-13.4 to 5.1 percentage points"
    )
