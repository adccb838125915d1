"""What a plan would show: tabled bounds, widths by hand, odds of stopping by simulation, words."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from workbench.worth.claim_study import ClaimStudy, Measured
from workbench.worth.measuring_plan import MeasuringPlan
from workbench.worth.outlook_words import (
    asked_sentence,
    looks_json,
    looks_sentence,
    outlook_json,
    shows_sentence,
)
from workbench.worth.plan_claims import Asked, ClaimPlan
from workbench.worth.plan_outlook import Outlook, outlook, schedule
from workbench.worth.prices import Prices

# Ten blocks of each family at hand, a standard deviation of 1 between blocks, nothing else unsure.
STUDY = ClaimStudy(
    direction="greater",
    margin=0.1,
    scope="family",
    confidence=0.95,
    estimate=0.6,
    standard_error=math.sqrt(2 / 10),
    degrees_of_freedom=18.0,
    block=1.0,
    bore=0.0,
    place=0.0,
    repeat=0.0,
    candidate=Measured.evenly(10),
    reference=Measured.evenly(10),
    unit="mm",
)
FORTY = MeasuringPlan(candidate=40, reference=40)
PRICES = Prices(currency="GBP", families={}, refused={}, ordinary=None)
PLAN = ClaimPlan(claim="x", statement="", candidate="Trophy", reference="Works", study=STUDY)


def test_bounds_of_five_looks_as_tabled() -> None:
    """10, 20, 30, 40, 50 a side: 4.877 at hand, then 3.357, 2.680, 2.290, 2.031 to come.

    Bounds of O'Brien-Fleming type for five even looks at 5 %, as tabled by Jennison and Turnbull
    (2000), table 7.2 on spending functions (from memory).
    """
    found = schedule(STUDY, FORTY)
    assert found is not None
    assert [look.candidate for look in found.looks] == [10, 20, 30, 40]
    assert [look.information for look in found.looks] == pytest.approx([0.4, 0.6, 0.8, 1.0])
    z = [-stats.norm.ppf(look.p_value / 2) for look in found.looks]
    assert z == pytest.approx([3.357, 2.680, 2.290, 2.031], abs=1e-3)
    assert [look.confidence for look in found.looks] == pytest.approx(
        [1 - look.p_value for look in found.looks]
    )


def test_how_far_beyond_by_hand() -> None:
    """Twenty a side at the first look: t of 38 degrees at its p, times sqrt(2 / 20)."""
    found = schedule(STUDY, FORTY)
    assert found is not None
    first = found.looks[0]
    t = stats.t.isf(first.p_value / 2, 38)
    assert first.beyond == pytest.approx(t * math.sqrt(2 / 20), rel=1e-6)


def test_odds_of_stopping_against_drawn_blocks() -> None:
    """Blocks drawn one by one, known spread: stopped by each look, of those still open at hand."""
    found = schedule(STUDY, FORTY)
    assert found is not None
    generator = np.random.default_rng(5)
    ours = generator.normal(0.6, 1, (100_000, 50)).cumsum(axis=1)
    others = generator.normal(0.0, 1, (100_000, 50)).cumsum(axis=1)
    z = [
        ((ours[:, n - 1] - others[:, n - 1]) / n - 0.1) / math.sqrt(2 / n)
        for n in (10, 20, 30, 40, 50)
    ]
    bounds = [4.877, *(-stats.norm.ppf(look.p_value / 2) for look in found.looks)]
    stopped = z[0] > bounds[0]
    still = ~stopped
    measured = np.where(still, 80.0, np.nan)
    for at, look in enumerate(found.looks, start=1):
        now = (z[at] > bounds[at]) & ~stopped
        measured[now & still] = 2 * look.candidate
        stopped |= now
        assert look.settled == pytest.approx(stopped[still].mean(), abs=0.006)
    assert found.blocks == pytest.approx(np.nanmean(measured), abs=0.3)


@pytest.mark.parametrize(
    ("study", "plan"),
    [
        (STUDY, MeasuringPlan(candidate=1)),
        (STUDY, MeasuringPlan(again=4)),
        (replace(STUDY, direction="same", margin=1.0), FORTY),
        (replace(STUDY, direction="different", margin=0.7), FORTY),
        (replace(STUDY, ratio=2.0, whole_blocks=True, margin=0.0), FORTY),
    ],
)
def test_nothing_to_look_at_twice(study, plan) -> None:
    assert schedule(study, plan) is None


def test_widths_by_hand() -> None:
    """Fifty a side, 98 degrees of freedom: t times sqrt(2 / 50), c4 nearly 1 (0.9975)."""
    found = outlook(STUDY, FORTY)
    assert found is not None
    half = stats.t.ppf(0.975, 98) * math.sqrt(2 / 50)
    assert found.half_width == pytest.approx(0.99745 * half, rel=1e-4)
    assert found.within == pytest.approx(half * math.sqrt(stats.chi2.ppf(0.8, 98) / 98))
    beyond = stats.nct.sf(stats.t.ppf(0.975, 98), 98, found.detectable / math.sqrt(2 / 50))
    assert beyond == pytest.approx(0.8, abs=1e-6)


def test_another_unit() -> None:
    inches = replace(
        STUDY,
        margin=0.1 / 25.4,
        estimate=0.6 / 25.4,
        standard_error=STUDY.standard_error / 25.4,
        block=1.0 / 25.4**2,
    )
    one, two = outlook(STUDY, FORTY), outlook(inches, FORTY)
    assert one is not None
    assert two is not None
    assert two.half_width * 25.4 == pytest.approx(one.half_width)
    assert two.detectable * 25.4 == pytest.approx(one.detectable)


def test_words_and_plain_values() -> None:
    found = replace(
        PLAN,
        now=Outlook(half_width=0.94, within=math.nan, detectable=1.33),
        then=outlook(STUDY, FORTY),
        looks=schedule(STUDY, FORTY),
    )
    shows = shows_sentence(found)
    assert "As measured the interval reaches 0.94 mm either way." in shows
    assert "lies from its margin by 1.3 mm as measured, 0.57 mm with this plan." in shows
    looks = looks_sentence(found)
    assert "after 10 Trophy and 10 Works at 99.921%" in looks
    assert "after 40 Trophy and 40 Works at 95.8%" in looks
    plain = [looks_json(found), outlook_json(found.now), outlook_json(None)]
    assert json.loads(json.dumps(plain, allow_nan=False)) == plain
    assert plain[1] == {"half_width": 0.94, "half_width_8_in_10": None, "detectable": 1.33}
    assert shows_sentence(PLAN) == looks_sentence(PLAN) == ""


def test_what_was_asked_in_words() -> None:
    said = asked_sentence(PLAN, Asked(budget=500.0, half_width=0.2), PRICES)
    assert "For 500.00 GBP nothing can be had" in said
    assert "No plan within reach makes the interval reach 0.20 mm either way." in said
    assert asked_sentence(PLAN, Asked(), PRICES) == ""
