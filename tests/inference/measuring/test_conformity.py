"""Decisions at a limit and their risks: mirror, unit, scipy and simulation as witnesses."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from workbench.errors import Refusal
from workbench.inference.measuring.conformity import Limits, decide, risks


@pytest.mark.parametrize(
    ("value", "outcome"),
    [
        (3.20, "conforming"),
        (3.10, "too_close"),
        (2.95, "too_close"),
        (2.80, "not_conforming"),
    ],
)
def test_three_answers_at_a_lower_limit(value: float, outcome: str) -> None:
    assert decide(value, 0.1, Limits(lower=3.0)).outcome == outcome


@settings(max_examples=60, deadline=None)
@given(value=st.floats(2.0, 4.0), u=st.floats(0.01, 1.0), nu=st.sampled_from([3.0, 20.0, math.inf]))
def test_a_single_limit_is_decided_by_its_guard_band(value: float, u: float, nu: float) -> None:
    found = decide(value, u, Limits(lower=3.0), degrees_of_freedom=nu)
    if found.outcome == "conforming":
        assert value >= 3.0 + found.guard_band - 1e-9
    elif found.outcome == "not_conforming":
        assert value <= 3.0 - found.guard_band + 1e-9
    else:
        assert abs(value - 3.0) <= found.guard_band + 1e-9


@settings(max_examples=60, deadline=None)
@given(value=st.floats(2.0, 4.0), u=st.floats(0.01, 1.0))
def test_mirror_and_unit_do_not_matter(value: float, u: float) -> None:
    here = decide(value, u, Limits(lower=3.0))
    mirror = decide(-value, u, Limits(upper=-3.0))
    inches = decide(value / 25.4, u / 25.4, Limits(lower=3.0 / 25.4))
    for other in (mirror, inches):
        assert other.probability == pytest.approx(here.probability, abs=1e-12)
    assert mirror.outcome == here.outcome


def test_few_readings_widen_the_guard_band() -> None:
    known = decide(3.18, 0.1, Limits(lower=3.0))
    few = decide(3.18, 0.1, Limits(lower=3.0), degrees_of_freedom=4)
    assert (known.outcome, few.outcome) == ("conforming", "too_close")
    assert few.guard_band == pytest.approx(0.1 * stats.t(4).ppf(0.95))


def test_between_two_limits_both_tails_count() -> None:
    """1.7 u inside each of two limits: each alone is met, both together are not."""
    limits = Limits(lower=-1.7, upper=1.7)
    assert decide(0.0, 1.0, Limits(lower=-1.7)).outcome == "conforming"
    assert decide(0.0, 1.0, limits).outcome == "too_close"
    assert decide(5.0, 1.0, limits).outcome == "not_conforming"


@pytest.mark.parametrize(
    ("limits", "band"),
    [
        (Limits(lower=3.0), 0.0),
        (Limits(lower=3.0), 0.165),
        (Limits(upper=6.0), -0.1),
        (Limits(lower=3.0, upper=5.5), 0.1),
        (Limits(lower=4.5, upper=7.0), 0.0),
    ],
)
def test_risks_against_the_bivariate_normal_of_scipy(limits: Limits, band: float) -> None:
    mean, spread, u = 4.5, 0.8, 0.2
    found = risks(mean, spread, u, limits, guard_band=band)
    joint = stats.multivariate_normal(
        [mean, mean], [[spread**2, spread**2], [spread**2, spread**2 + u**2]]
    )
    low = [max(limits.lower, -50.0), max(limits.lower + band, -50.0)]
    high = [min(limits.upper, 60.0), min(limits.upper - band, 60.0)]
    both = joint.cdf(high, lower_limit=low)
    assert found.accepted - found.consumer == pytest.approx(both, abs=1e-6)
    assert found.conforming - found.producer == pytest.approx(both, abs=1e-6)


def test_risks_by_simulation() -> None:
    generator, trials = np.random.default_rng(6), 400_000
    true = generator.normal(4.5, 0.8, trials)
    read = true + generator.normal(0, 0.3, trials)
    found = risks(4.5, 0.8, 0.3, Limits(lower=3.5), guard_band=0.2)
    accepted = read >= 3.7
    assert found.consumer == pytest.approx(np.mean(accepted & (true < 3.5)), abs=5e-4)
    assert found.producer == pytest.approx(np.mean(~accepted & (true >= 3.5)), abs=1.5e-3)
    assert found.accepted == pytest.approx(np.mean(accepted), abs=2.5e-3)
    assert found.conforming == pytest.approx(np.mean(true >= 3.5), abs=2.5e-3)


def test_a_guard_band_moves_the_risk_from_consumer_to_producer() -> None:
    plain = risks(4.5, 0.8, 0.3, Limits(lower=3.5))
    guarded = risks(4.5, 0.8, 0.3, Limits(lower=3.5), guard_band=0.5)
    assert guarded.consumer < plain.consumer
    assert guarded.producer > plain.producer


def test_a_good_gauge_runs_no_risk() -> None:
    found = risks(4.5, 0.8, 1e-7, Limits(lower=3.5))
    assert found.consumer == pytest.approx(0.0, abs=1e-7)
    assert found.producer == pytest.approx(0.0, abs=1e-7)


def test_what_is_refused() -> None:
    limit = Limits(lower=3.0)
    with pytest.raises(Refusal, match=r"The limits must rise: 3.0 to 2.0"):
        Limits(lower=3.0, upper=2.0)
    with pytest.raises(Refusal, match="The limits must rise: nan"):
        Limits(lower=math.nan)
    with pytest.raises(Refusal, match="a lower limit, an upper limit, or both"):
        Limits()
    with pytest.raises(Refusal, match="The value must be a finite number, not nan"):
        decide(math.nan, 0.1, limit)
    with pytest.raises(Refusal, match="The standard uncertainty must be above 0"):
        decide(3.0, 0.0, limit)
    with pytest.raises(Refusal, match=r"Confidence must be above 0.5, not 0.4"):
        decide(3.0, 0.1, limit, confidence=0.4)
    with pytest.raises(Refusal, match="degrees of freedom are 0; they must be above 0"):
        decide(3.0, 0.1, limit, degrees_of_freedom=0)
    with pytest.raises(Refusal, match="The spread must be above 0"):
        risks(4.5, 0.0, 0.1, limit)
    with pytest.raises(Refusal, match=r"The limits must rise: 4.0 to 3.0"):
        risks(4.5, 1.0, 0.1, Limits(lower=3.0, upper=4.0), guard_band=1.0)
