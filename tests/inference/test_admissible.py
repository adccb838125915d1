"""What single numbers and pairs must be."""

from __future__ import annotations

import math

import pytest

from workbench.errors import Refusal
from workbench.inference.admissible import finite, paired, positive, uncertainty


def test_sound_numbers_come_back_as_floats() -> None:
    assert (uncertainty("u", 0), positive("x", 2), finite("x", -3)) == (0.0, 2.0, -3.0)
    assert isinstance(positive("x", 2), float)


@pytest.mark.parametrize("value", [-0.1, math.nan, math.inf])
def test_an_uncertainty_is_0_or_more(value: float) -> None:
    with pytest.raises(Refusal, match="The step must be 0 or more and finite, not"):
        uncertainty("The step", value)


@pytest.mark.parametrize("value", [0.0, -1.0, math.nan, math.inf])
def test_a_size_is_above_0(value: float) -> None:
    with pytest.raises(Refusal, match="The ball must be above 0 and finite, not"):
        positive("The ball", value)


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_a_value_is_finite(value: float) -> None:
    with pytest.raises(Refusal, match="The value must be a finite number, not"):
        finite("The value", value)


def test_pairs_have_one_length() -> None:
    paired("a", [1, 2], "b", [3, 4])
    with pytest.raises(Refusal, match="a and b are read in pairs, but there are 2 of one and 1"):
        paired("a", [1, 2], "b", [3])
