"""Estimates in words."""

from __future__ import annotations

import math

import pytest

from workbench.article.numbers import (
    as_shown,
    estimate_words,
    p_words,
    percent,
    range_words,
    verdict_words,
)
from workbench.claims.verdict import Check, Verdict


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ((2.3144, 1.902, 2.7268, "mm"), "2.31 (1.90 to 2.73) mm"),
        ((2.3144, 1.902, 2.7268, ""), "2.31 (1.90 to 2.73)"),
        ((-0.0537, -0.1342, 0.0513, "share"), "-5.4 (-13.4 to 5.1) percentage points"),
        ((2.3144, math.nan, math.nan, "mm"), "2.3144 mm, no interval"),
        ((2.3144, None, None, "mm"), "2.3144 mm, no interval"),
        ((math.nan, 1.0, 2.0, "mm"), "no estimate"),
        ((None, None, None, "mm"), "no estimate"),
        ((2.3144, 1.9, math.inf, "mm"), "2.31 (above 1.90) mm"),
        ((2.3144, -math.inf, math.inf, "mm"), "2.31 (no limit either way) mm"),
    ],
)
def test_estimates(given: tuple[float, float, float, str], said: str) -> None:
    assert estimate_words(*given) == said


def test_the_gauge_step_bounds_the_digits() -> None:
    assert (
        estimate_words(12.34567, 12.34467, 12.34667, "mm", step=0.01) == "12.35 (12.34 to 12.35) mm"
    )


def test_other_numbers() -> None:
    assert [percent(c) for c in (0.95, 0.995, 0.9)] == ["95%", "99.5%", "90%"]
    assert range_words(11.0, 12.5, "mm") == "11 to 12.5 mm"
    assert p_words(math.nan) == "no p-value"
    assert p_words(0.0134) == "p = 0.013"


def test_a_verdict_on_shares_is_drawn_in_the_unit_it_is_written_in() -> None:
    ends = {"estimate": -0.05, "low": -0.13, "high": 0.05}
    verdict = Verdict(
        claim="c", statement="s", outcome="unresolved", confidence=0.95, sentence="", next_step="",
        unit="share", margin=0.02, standard_error=0.03, finest=0.001,
        checks=(Check(name="other", **ends),), **ends,
    )  # fmt: skip
    shown = as_shown(verdict)
    assert (shown.estimate, shown.low, shown.high, shown.margin) == (-5.0, -13.0, 5.0, 2.0)
    assert (shown.checks[0].low, shown.unit) == (-13.0, "percentage points")
    assert verdict_words(shown, shown) == verdict_words(verdict, verdict)
    assert as_shown(shown) is shown
