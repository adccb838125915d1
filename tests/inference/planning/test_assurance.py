"""Assurance: drawn truths, limits of a sharp and of a blunt pilot, refusals."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from workbench.errors import Refusal
from workbench.inference.planning.aims import Aim
from workbench.inference.planning.assurance import (
    assurance,
    assurance_of_more,
    limit_of_assurance,
)
from workbench.inference.planning.layouts import Precision
from workbench.inference.results import Difference

PILOT = Difference(estimate=0.8, standard_error=0.4, degrees_of_freedom=6, method="pilot")
PLAN = Precision(standard_error=0.25, degrees_of_freedom=20)
CLAIMS = (("greater", 0.1), ("less", 0.1), ("same", 1.5), ("different", 0.0), ("different", 0.3))


@pytest.mark.parametrize(("kind", "margin"), CLAIMS)
@pytest.mark.parametrize("fixed", [None, 0.6])
def test_against_drawn_truths(kind, margin, fixed):
    """True spread and difference from what the pilot leaves open, then a study, then its test."""
    rng, size = np.random.default_rng(1), 200_000
    spread = 1 / np.sqrt(rng.chisquare(6, size) / 6)
    truth = 0.8 + 0.4 * spread * rng.normal(size=size) if fixed is None else fixed
    error = 0.25 * spread
    estimate = truth + error * rng.normal(size=size)
    found = error * np.sqrt(rng.chisquare(20, size) / 20)
    reach = found * stats.t.ppf(0.95 if kind == "same" else 0.975, 20)
    low, high = estimate - reach, estimate + reach
    shown = {
        "greater": low > margin,
        "less": high < -margin,
        "same": (low > -margin) & (high < margin),
        "different": (low > margin) | (high < -margin),
    }[kind]
    answer = assurance(PILOT, PLAN, kind=kind, margin=margin, difference=fixed)
    assert answer == pytest.approx(shown.mean(), abs=0.005)


@pytest.mark.parametrize(("kind", "margin"), CLAIMS)
def test_a_pilot_without_error_leaves_the_power(kind, margin):
    sharp = replace(PILOT, standard_error=1e-9, degrees_of_freedom=math.inf)
    aim = Aim(kind=kind, difference=0.8, margin=margin)
    assert assurance(sharp, PLAN, kind=kind, margin=margin) == pytest.approx(
        aim.power(0.25, 20), abs=1e-6
    )


@pytest.mark.parametrize(("kind", "margin"), [c for c in CLAIMS if c != ("different", 0.0)])
def test_an_endless_study_reaches_the_pilots_own_chance(kind, margin):
    endless = Precision(standard_error=1e-7, degrees_of_freedom=math.inf)
    limit = limit_of_assurance(PILOT, kind=kind, margin=margin)
    assert assurance(PILOT, endless, kind=kind, margin=margin) == pytest.approx(limit, abs=1e-5)
    assert assurance(PILOT, PLAN, kind=kind, margin=margin) < max(limit, 0.5) + 0.05


def test_it_is_nearer_to_one_half_than_the_power():
    power = Aim(kind="greater", difference=0.8).power(0.2, 30)
    found = assurance(PILOT, Precision(standard_error=0.2, degrees_of_freedom=30), kind="greater")
    assert 0.5 < found < power


def test_mirror_and_unit():
    turned = replace(PILOT, estimate=-0.8)
    inches = replace(PILOT, estimate=0.8 / 25.4, standard_error=0.4 / 25.4)
    small = Precision(standard_error=0.25 / 25.4, degrees_of_freedom=20)
    one = assurance(PILOT, PLAN, kind="greater", margin=0.1)
    assert assurance(turned, PLAN, kind="less", margin=0.1) == pytest.approx(one)
    assert assurance(inches, small, kind="greater", margin=0.1 / 25.4) == pytest.approx(one)


@pytest.mark.parametrize(("kind", "margin"), CLAIMS)
def test_of_a_study_that_goes_on_against_drawn_readings(kind, margin):
    """10 values a side at hand, 8 more of each; the old ones stay what they are."""
    now = Difference(
        estimate=0.8, standard_error=0.2**0.5, degrees_of_freedom=18, method="ten a side"
    )
    then = Precision(standard_error=(2 / 18) ** 0.5, degrees_of_freedom=34)
    rng, size = np.random.default_rng(2), 200_000
    variance = 18 / rng.chisquare(18, size)
    truth = 0.8 + rng.normal(size=size) * np.sqrt(0.2 * variance)
    new = truth + rng.normal(size=size) * np.sqrt(variance * 2 / 8)
    estimate = (10 * 0.8 + 8 * new) / 18
    pooled = (18 + variance * rng.chisquare(14, size)) / 32
    reach = np.sqrt(pooled * 2 / 18) * stats.t.ppf(0.95 if kind == "same" else 0.975, 34)
    low, high = estimate - reach, estimate + reach
    shown = {
        "greater": low > margin,
        "less": high < -margin,
        "same": (low > -margin) & (high < margin),
        "different": (low > margin) | (high < -margin),
    }[kind]
    found = assurance_of_more(now, then, kind=kind, margin=margin)
    assert found == pytest.approx(shown.mean(), abs=0.006)


def test_predictive_power_in_closed_form():
    """Phi((sqrt(N) z - sqrt(n) 1.96) / sqrt(N - n)), spreads known, no prior knowledge.

    Spiegelhalter, Freedman and Blackburn (1986), Controlled Clinical Trials 7 (from memory).
    """
    for n, whole, z in ((10, 20, 1.2), (30, 40, 2.5), (5, 100, 0.4)):
        now = Difference(
            estimate=z / n**0.5, standard_error=n**-0.5, degrees_of_freedom=math.inf, method="z"
        )
        then = Precision(standard_error=whole**-0.5, degrees_of_freedom=math.inf)
        expected = stats.norm.cdf(
            (whole**0.5 * z - n**0.5 * stats.norm.ppf(0.975)) / (whole - n) ** 0.5
        )
        assert assurance_of_more(now, then, kind="greater") == pytest.approx(expected)


def test_nothing_more_settles_nothing():
    now = Difference(estimate=0.8, standard_error=0.4, degrees_of_freedom=9, method="now")
    then = Precision(standard_error=0.4, degrees_of_freedom=9)
    assert assurance_of_more(now, then, kind="greater") == pytest.approx(0.0, abs=1e-12)
    assert assurance_of_more(now, then, kind="greater", margin=-0.2) == pytest.approx(1.0)


def test_a_calibration_lets_the_estimate_move():
    """The error of measuring taken off was part of the estimate: variances now less those then."""
    now = Difference(estimate=0.3, standard_error=0.1, degrees_of_freedom=math.inf, method="z")
    then = Precision(standard_error=0.1, degrees_of_freedom=math.inf)
    found = assurance_of_more(now, then, kind="greater", shared=0.4, shared_then=0.05)
    moves, reach = (0.4**2 - 0.05**2) ** 0.5, stats.norm.ppf(0.975) * math.hypot(0.1, 0.05)
    assert found == pytest.approx(stats.norm.cdf((0.3 - reach) / moves))
    still = assurance_of_more(now, then, kind="greater", shared=0.4)
    assert still == pytest.approx(0.0, abs=1e-9)


def test_refusals():
    with pytest.raises(Refusal, match="kind is one of"):
        assurance(PILOT, PLAN, kind="more")
    with pytest.raises(Refusal, match="margin for 'same' is above 0"):
        assurance(PILOT, PLAN, kind="same")
    with pytest.raises(Refusal, match=r"Sameness at 0\.5 confidence is no claim"):
        assurance(PILOT, PLAN, kind="same", margin=1, confidence=0.5)
    with pytest.raises(Refusal, match="always shows some difference"):
        limit_of_assurance(PILOT, kind="different")
