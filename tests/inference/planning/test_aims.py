"""Aims: simulation, mirrors, levels at the margin, the error a power needs, refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from workbench.errors import Refusal
from workbench.inference.planning.aims import Aim

AIMS = (
    Aim(kind="greater", difference=0.9, margin=0.2),
    Aim(kind="greater", difference=0.1, margin=-0.5),
    Aim(kind="less", difference=-0.7, margin=0.1),
    Aim(kind="same", difference=0.1, margin=0.8),
    Aim(kind="different", difference=0.6),
    Aim(kind="different", difference=-0.9, margin=0.2, confidence=0.9),
)


@pytest.mark.parametrize("aim", AIMS, ids=lambda aim: f"{aim.kind} {aim.margin:g}")
def test_against_drawn_estimates(aim):
    rng = np.random.default_rng(1)
    size, error, df = 100_000, 0.25, 7
    estimate = aim.difference + error * rng.normal(size=size)
    found = error * np.sqrt(rng.chisquare(df, size) / df)
    level = aim.confidence if aim.kind == "same" else (1 + aim.confidence) / 2
    reach = stats.t.ppf(level, df) * found
    low, high = estimate - reach, estimate + reach
    shown = {
        "greater": low > aim.margin,
        "less": high < -aim.margin,
        "same": (low > -aim.margin) & (high < aim.margin),
        "different": (low > aim.margin) | (high < -aim.margin),
    }[aim.kind]
    assert aim.power(error, df) == pytest.approx(shown.mean(), abs=4 * 0.5 / math.sqrt(size))


def test_mirrored_aims_have_the_same_power():
    for df in (3, 40, math.inf):
        for kind, other in (("greater", "less"), ("same", "same"), ("different", "different")):
            one = Aim(kind=kind, difference=0.4, margin=0.3)
            back = Aim(kind=other, difference=-0.4, margin=0.3)
            assert back.power(0.2, df) == pytest.approx(one.power(0.2, df), abs=1e-12)


def test_at_the_margin_power_is_the_level():
    assert Aim(kind="greater", difference=0.3, margin=0.3).power(0.2, 9) == pytest.approx(0.025)
    assert Aim(kind="less", difference=-0.3, margin=0.3).power(0.2, 9) == pytest.approx(0.025)
    assert Aim(kind="different", difference=0).power(0.2, 9) == pytest.approx(0.05)
    assert Aim(kind="same", difference=9, margin=9).power(0.2, 9) == pytest.approx(0.05, abs=1e-6)


@settings(max_examples=40, deadline=None)
@given(
    aim=st.sampled_from(AIMS),
    df=st.sampled_from([1, 2, 5, 17.5, 300, math.inf]),
    power=st.sampled_from([0.1, 0.5, 0.8, 0.95, 0.999]),
)
def test_the_error_needed_gives_the_power_and_no_larger_one_does(aim, df, power):
    error = aim.error_needed(df, power)
    assert error > 0
    if math.isfinite(error):
        assert aim.power(error, df) == pytest.approx(power, abs=1e-7)
        assert aim.power(1.02 * error, df) < power


def test_the_error_needed_grows_with_the_freedom():
    for aim in AIMS:
        errors = [aim.error_needed(df) for df in (1, 2, 4, 10, 50, math.inf)]
        assert errors == sorted(errors)


def test_unit_does_not_matter():
    for aim in AIMS:
        inches = Aim(
            kind=aim.kind,
            difference=aim.difference / 25.4,
            margin=aim.margin / 25.4,
            confidence=aim.confidence,
        )
        assert inches.power(0.3 / 25.4, 6) == pytest.approx(aim.power(0.3, 6))
        assert inches.error_needed(6) == pytest.approx(aim.error_needed(6) / 25.4)


@pytest.mark.parametrize("df", [1198, 58])
def test_far_tails_are_numbers(df):
    """Ready noncentral t routines give NaN for the far side here."""
    for difference in (9.0, -9.0):
        assert Aim(kind="different", difference=difference).power(1, df) == pytest.approx(
            1, abs=1e-6
        )


def test_a_truth_on_the_wrong_side_is_out_of_reach():
    for aim in (
        Aim(kind="greater", difference=0.2, margin=0.2),
        Aim(kind="less", difference=0.1),
        Aim(kind="same", difference=-0.5, margin=0.5),
        Aim(kind="different", difference=0.1, margin=0.2),
    ):
        assert not aim.reachable
        assert aim.error_needed(30) == 0


def test_refusals():
    with pytest.raises(Refusal, match="kind is one of greater, less, same, different"):
        Aim(kind="better", difference=1)
    with pytest.raises(Refusal, match="difference is finite, not nan"):
        Aim(kind="greater", difference=math.nan)
    for kind, margin, words in (
        ("same", 0, "above 0"), ("different", -1, "0 or above"), ("less", math.inf, "finite")
    ):  # fmt: skip
        with pytest.raises(Refusal, match=f"margin for '{kind}' is {words}"):
            Aim(kind=kind, difference=1, margin=margin)
    with pytest.raises(Refusal, match="Confidence must lie"):
        Aim(kind="greater", difference=1, confidence=1)
    with pytest.raises(Refusal, match=r"Power must lie between 0 and 1, not at 1\.5"):
        AIMS[0].error_needed(5, 1.5)
