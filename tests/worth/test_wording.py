"""Odds and money in words."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench.inference.results import Interval
from workbench.worth.wording import (
    blocks_text,
    cases_text,
    money_interval_text,
    money_text,
    odds_text,
    simulated_odds_text,
)


@pytest.mark.parametrize(
    ("chance", "text"),
    [
        (0.0, "fewer than 1 in a hundred"),
        (0.004, "fewer than 1 in a hundred"),
        (0.01, "1 in a hundred"),
        (0.1, "1 in ten"),
        (0.155, "16 in a hundred"),
        (0.5, "5 in ten"),
        (0.55, "55 in a hundred"),
        (0.9, "9 in ten"),
        (0.97, "97 in a hundred"),
        (1.0, "more than 99 in a hundred"),
        (math.nan, "odds not known"),
    ],
)
def test_odds(chance, text) -> None:
    assert odds_text(chance) == text


@given(st.floats(0.006, 0.994))
def test_odds_are_never_off_by_more_than_two_in_a_hundred(chance) -> None:
    number, _, of = odds_text(chance).partition(" in ")
    said = int(number) / {"ten": 10, "a hundred": 100}[of]
    assert said == pytest.approx(chance, abs=0.0201)


def test_simulated_odds_print_their_error() -> None:
    assert simulated_odds_text(0.25, 0.0) == "25 in a hundred"
    assert "standard error 1.5" in simulated_odds_text(0.25, 0.015)


def test_cases() -> None:
    assert cases_text(0.9) == "9 cases of ten"
    assert cases_text(0.99) == "99 cases of a hundred"


def test_money() -> None:
    assert money_text(1234.567, "EUR") == "1234.57 EUR"
    assert money_text(1234.567, "EUR", 0.0001) == "1234.57 EUR"
    assert money_text(1234.567, "EUR", 45) == "1235 EUR"
    assert money_text(-0.001, "EUR") == "0.00 EUR"
    assert money_text(math.nan, "EUR") == "without bound"


def test_intervals_of_money() -> None:
    def text(low: float, high: float) -> str:
        return money_interval_text(Interval(low=low, high=high, confidence=0.95), "EUR")

    assert text(-1234.0, 4321.0) == "-1200 to 4300 EUR"
    assert text(-math.inf, math.inf) == "no bound either way"
    assert text(-math.inf, 3.0) == "3.00 EUR and down, without bound"


def test_blocks() -> None:
    assert blocks_text(1) == "1 block"
    assert blocks_text(3.0) == "3 blocks"
