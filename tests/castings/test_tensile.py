"""Hardness to a band of tensile strength: the relation, its range, its caution."""

from __future__ import annotations

import pytest

from workbench.castings.tensile import hardness_of, tensile_band
from workbench.errors import Refusal


@pytest.mark.parametrize(("strength", "hardness"), [(200, 188), (250, 210), (300, 232)])
def test_against_en_1561(strength: float, hardness: float) -> None:
    """EN 1561:2011 / ISO 185:2020: RH = 1 (formula from memory)."""
    assert hardness_of(strength) == pytest.approx(hardness)


@pytest.mark.parametrize("hardness", [150.0, 188.0, 210.0, 250.0])
def test_the_band_goes_back_to_the_hardness(hardness: float) -> None:
    band = tensile_band(hardness, "HB")
    assert 1.2 * (100 + 0.44 * band.low) == pytest.approx(hardness)
    assert 0.8 * (100 + 0.44 * band.high) == pytest.approx(hardness)


def test_the_band_is_wide_and_says_so() -> None:
    band = tensile_band(210.0, "HB")
    assert (band.low, band.high) == (pytest.approx(170, abs=1), pytest.approx(370, abs=1.5))
    assert "no conversion" in band.caution
    assert "from memory" in band.source


@pytest.mark.parametrize("hardness", [143.9, 254.1, float("nan"), float("inf"), -1.0])
def test_outside_the_relation_is_refused(hardness: float) -> None:
    with pytest.raises(Refusal, match="lies outside"):
        tensile_band(hardness, "HB")


@pytest.mark.parametrize("scale", ["HLD", "HRC", "HV"])
def test_another_scale_is_refused(scale: str) -> None:
    """ASTM E140 and ISO 18265:2013 do not cover grey iron (their scopes)."""
    with pytest.raises(Refusal, match="one of Brinell hardness"):
        tensile_band(210.0, scale)


@pytest.mark.parametrize(
    ("strength", "relative"), [(99, 1.0), (351, 1.0), (250, 0.79), (250, 1.21)]
)
def test_a_strength_or_ratio_outside_is_refused(strength: float, relative: float) -> None:
    with pytest.raises(Refusal, match=r"stated for|lies from"):
        hardness_of(strength, relative)
