from __future__ import annotations

from fractions import Fraction

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.errors import Refusal
from workbench.records.units import (
    SPELLINGS,
    all_units,
    canonical_unit,
    exact_factor,
    factor,
    kind_of,
    spelling_table,
    units_of,
)

PINT_NAMES = {"um": "micrometer", "in": "inch", "mil": "thou", "t": "metric_ton", "lb": "pound"}
CONVERTIBLE = (*units_of("length"), *units_of("mass"))


def test_against_nist_sp_811() -> None:
    """NIST SP 811 (2008), appendix B.8: exact factors, printed in bold (from memory)."""
    assert exact_factor("in", "mm") == Fraction("25.4")
    assert exact_factor("mil", "mm") == Fraction("0.0254")
    assert exact_factor("lb", "kg") == Fraction("0.45359237")
    assert exact_factor("oz", "g") == Fraction("28.349523125")


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry[Fraction]:
    return pint.UnitRegistry(non_int_type=Fraction)


@pytest.mark.parametrize("start", CONVERTIBLE)
@pytest.mark.parametrize("end", CONVERTIBLE)
def test_against_pint(registry: pint.UnitRegistry[Fraction], start: str, end: str) -> None:
    """The general-purpose unit library agrees; where it refuses, so do we."""
    one = registry.Quantity(Fraction(1), PINT_NAMES.get(start, start))
    if kind_of(start) != kind_of(end):
        with pytest.raises(pint.DimensionalityError):
            one.to(PINT_NAMES.get(end, end))
        with pytest.raises(Refusal, match="cannot be turned into"):
            exact_factor(start, end)
    else:
        assert exact_factor(start, end) == one.to(PINT_NAMES.get(end, end)).magnitude
        assert factor(start, end) == float(exact_factor(start, end))


@given(st.sampled_from(units_of("length")), st.sampled_from(units_of("length")))
@settings(max_examples=40)
def test_there_and_back_is_one(start: str, end: str) -> None:
    assert exact_factor(start, end) * exact_factor(end, start) == 1


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("inch", "in"),
        ('"', "in"),
        ("in.", "in"),
        ("In", "in"),
        ("MM", "mm"),
        (" mm ", "mm"),
        ("HB", "HB"),
        ("HBW", "HB"),
        ("hbw", "HB"),
        ("lbs.", "lb"),
        ("µm", "um"),
        ("μm", "um"),
        ("Leeb  D", "HLD"),
    ],
)
def test_spellings(text: str, unit: str) -> None:
    assert canonical_unit(text) == unit


@pytest.mark.parametrize("text", ["", "furlong", "m m", "5", "mm mm", "°C", "HB 10/3000"])
def test_what_is_no_unit(text: str) -> None:
    assert canonical_unit(text) is None


def test_no_spelling_stands_for_two_units() -> None:
    spelled = [name for unit in all_units() for name in (unit.lower(), *SPELLINGS[unit])]
    assert len(spelled) == len(set(spelled))
    assert all(canonical_unit(unit) == unit for unit in all_units())


def test_hardness_scales_have_no_factor() -> None:
    assert factor("HB", "HBW") == 1
    with pytest.raises(Refusal, match="no common factor") as refusal:
        factor("HLD", "HB")
    assert refusal.value.code == "hardness_scale"


def test_a_unit_of_the_users_own_converts_to_itself_only() -> None:
    assert factor("clicks", "clicks") == 1
    with pytest.raises(Refusal, match="“clicks” cannot be turned into “mm”") as refusal:
        factor("clicks", "mm")
    assert refusal.value.code == "unit_mismatch"


def test_the_table_names_every_unit() -> None:
    assert all(f"| `{unit}` |" in spelling_table() for unit in all_units())
