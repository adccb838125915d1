"""The enlarged study: published variance and power, assurance by simulation, order of plans."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from workbench.worth.claim_study import ClaimStudy, Levels, Measured
from workbench.worth.measuring_plan import (
    MeasuringPlan,
    Plans,
    assurance,
    block_variance,
    enlarged,
    power,
)

STUDY = ClaimStudy(
    direction="greater",
    margin=0.0,
    scope="family",
    confidence=0.95,
    estimate=0.3,
    standard_error=0.25,
    degrees_of_freedom=8.0,
    block=0.15,
    bore=0.05,
    place=0.04,
    repeat=0.02,
    candidate=Measured.evenly(3, bores=4, places=4),
    reference=Measured.evenly(7, bores=4, places=4),
)


def one(number: float) -> np.ndarray:
    return np.array([float(number)])


def test_variance_of_a_nested_plan() -> None:
    """Cochran (1977), chapter 10, with the components of the Oxide data (Pinheiro and Bates 2000).

    8 lots of 3 wafers at 3 sites: 17.908, the square of the standard error 4.232 of the mean.
    """
    components = Levels(block=129.91360037, bore=35.86575686, place=12.56936357)
    variance = block_variance(components, one(3), one(3), one(1))[0] / 8
    assert variance == pytest.approx(17.908, abs=5e-4)
    assert math.sqrt(variance) == pytest.approx(4.232, abs=5e-4)
    twice = block_variance(components, one(3), one(6), one(1))[0] / 8
    assert twice == pytest.approx(17.82, abs=5e-3)


def two_samples(now: int, estimate: float) -> ClaimStudy:
    """Give two families of blocks with a standard deviation of 1 and nothing else."""
    return replace(
        STUDY,
        estimate=estimate,
        standard_error=math.sqrt(2 / now),
        degrees_of_freedom=2.0 * now - 2,
        block=1.0,
        bore=0.0,
        place=0.0,
        repeat=0.0,
        candidate=Measured.evenly(now),
        reference=Measured.evenly(now),
    )


@pytest.mark.parametrize(("further", "printed"), [(10, 0.8689528), (13, 0.9)])
def test_power_of_two_samples(further, printed) -> None:
    """Cohen (1988), tables 2.3.5 and 2.4.1: 20 a side 0.869, 22.02 a side 0.9 (from memory)."""
    plan = Plans.of(MeasuringPlan(candidate=further, reference=further))
    found = power(two_samples(10, 1.0), plan)[0]
    if further == 10:
        assert found == pytest.approx(printed, abs=5e-6)
    else:
        fewer = Plans.of(MeasuringPlan(candidate=12, reference=12))
        assert power(two_samples(10, 1.0), fewer)[0] < printed < found


def test_no_plan_changes_nothing() -> None:
    found = enlarged(STUDY, Plans.of(MeasuringPlan()))
    assert found.variance[0] == pytest.approx(STUDY.standard_error**2)
    assert found.degrees[0] == found.own_degrees[0] == STUDY.degrees_of_freedom


PLANS = st.builds(
    MeasuringPlan,
    candidate=st.integers(0, 20),
    reference=st.integers(0, 20),
    bores=st.integers(1, 4),
    places=st.integers(1, 4),
    repeats=st.integers(1, 3),
    again=st.integers(0, 4),
)


@given(PLANS, st.sampled_from(["bores", "places", "repeats", "again"]))
@settings(max_examples=60)
def test_more_reading_never_lowers_power(plan, name) -> None:
    more = replace(plan, **{name: getattr(plan, name) + 1})
    low, high = power(STUDY, Plans.of(plan, more))
    assert high >= low - 1e-9


@given(PLANS, st.sampled_from(["candidate", "reference"]))
@settings(max_examples=60)
def test_more_blocks_read_like_those_at_hand_never_lower_power(plan, name) -> None:
    alike = replace(plan, bores=4, places=4, repeats=1)
    more = replace(alike, **{name: getattr(alike, name) + 1})
    low, high = power(STUDY, Plans.of(alike, more))
    assert high >= low - 1e-9


@given(PLANS, st.floats(0.01, 100))
def test_another_unit(plan, factor) -> None:
    other = replace(
        STUDY,
        estimate=factor * STUDY.estimate,
        standard_error=factor * STUDY.standard_error,
        **{name: factor**2 * getattr(STUDY, name) for name in ("block", "bore", "place", "repeat")},
    )
    assert power(other, Plans.of(plan))[0] == pytest.approx(power(STUDY, Plans.of(plan))[0])


def test_swapping_the_families_and_the_direction() -> None:
    plan = MeasuringPlan(candidate=5, reference=2, bores=3)
    swapped = replace(
        STUDY,
        direction="less",
        estimate=-STUDY.estimate,
        candidate=STUDY.reference,
        reference=STUDY.candidate,
    )
    other = replace(plan, candidate=2, reference=5)
    assert power(swapped, Plans.of(other))[0] == pytest.approx(power(STUDY, Plans.of(plan))[0])


@pytest.mark.parametrize("shared", [0.0, 0.1])
def test_assurance_against_simulation(shared) -> None:
    """Draw what the blocks at hand leave open, then new blocks, put both together and judge.

    10 blocks of one spread a family at hand, 15 more of each: their means are weighed 10 to 15.
    The gauge's error shifts both the same way, so it moves neither but widens the interval.
    """
    study = replace(two_samples(10, 0.9), shared=shared)
    plans = Plans.of(MeasuringPlan(candidate=15, reference=15))
    generator = np.random.default_rng(8)
    size = 200_000
    variance = 18 / generator.chisquare(18, size)  # of a block, given that 1 was seen
    truth = 0.9 + generator.normal(size=size) * np.sqrt(variance * 2 / 10)
    new = truth + generator.normal(size=size) * np.sqrt(variance * 2 / 15)
    seen = (10 * 0.9 + 15 * new) / 25
    pooled = (18 + variance * generator.chisquare(28, size)) / 46  # the old squares and the new
    total = pooled * 2 / 25 + shared**2
    freedom = total**2 / ((total - shared**2) ** 2 / 48)
    decided = np.abs(seen) > stats.t.ppf(0.975, freedom) * np.sqrt(total)
    assert assurance(study, plans)[0] == pytest.approx(decided.mean(), abs=0.008)


def test_assurance_halfway_with_known_spreads() -> None:
    """Predictive power halfway at z: Phi(sqrt(2) z - 1.96), plus the far side.

    Spiegelhalter, Freedman and Blackburn (1986), with no prior knowledge (from memory).
    """
    study = replace(two_samples(20, 0.7), degrees_of_freedom=1e8)
    z = 0.7 / math.sqrt(2 / 20)
    found = assurance(study, Plans.of(MeasuringPlan(candidate=20, reference=20)))[0]
    expected = stats.norm.cdf(2**0.5 * z - 1.959964) + stats.norm.cdf(-(2**0.5) * z - 1.959964)
    assert found == pytest.approx(expected, abs=0.02)
    settled = replace(study, estimate=1.2)
    nearly = assurance(settled, Plans.of(MeasuringPlan(candidate=1)))[0]
    assert nearly > 0.99  # far beyond its bound already, and what is measured stays


def test_assurance_lies_below_power_where_power_is_high() -> None:
    plans = Plans.of(MeasuringPlan(candidate=60, reference=60, bores=4, places=4))
    assert assurance(STUDY, plans)[0] < 0.95 < power(STUDY, plans)[0]


def test_from_five_blocks_on_each_family_has_its_own_spread() -> None:
    """Two more of 3 against 30: the judge parts the spreads, and Welch's freedom is that of few.

    By hand: 1 / 5 and 1 / 30, so (7 / 30)^2 / ((1 / 5)^2 / 4 + (1 / 30)^2 / 29) = 5.424.
    """
    study = replace(
        two_samples(3, 1.5),
        standard_error=math.sqrt(1 / 3 + 1 / 30),
        degrees_of_freedom=31.0,
        reference=Measured.evenly(30),
    )
    one_more, two_more = (Plans.of(MeasuringPlan(candidate=more)) for more in (1, 2))
    found = enlarged(study, two_more)
    assert found.own_chance[0] == 1.0
    assert found.own_degrees[0] == pytest.approx(5.424, abs=1e-3)
    assert enlarged(study, one_more).own_chance[0] == pytest.approx(0.15)
    stays = replace(study, analysis_stays=True)
    assert enlarged(stays, two_more).own_chance[0] == 0.0
    assert power(stays, two_more)[0] > power(study, two_more)[0]


def test_two_spreads_by_their_f_ratio() -> None:
    """Davies (1954), table H (from memory): 11 blocks each find a ratio of variances of 8.870.

    With 95 in a hundred at one-sided 5 %, the two-sided interval at 90 %.
    """
    study = replace(
        STUDY,
        confidence=0.9,
        candidate=Measured.evenly(4),
        reference=Measured.evenly(6),
        ratio=8.870**0.5,
        whole_blocks=True,
    )
    plans = Plans.of(MeasuringPlan(candidate=7, reference=5))
    assert power(study, plans)[0] == pytest.approx(0.95, abs=5e-4)
    turned = replace(study, direction="less", ratio=1 / study.ratio)
    assert power(turned, plans)[0] == pytest.approx(0.95, abs=5e-4)
    assert 0.5 < assurance(study, plans)[0] < 0.95


def test_of_the_blocks_measured_only_reading_again_helps() -> None:
    study = replace(STUDY, scope="block")
    plans = Plans.of(MeasuringPlan(), MeasuringPlan(again=3), MeasuringPlan(candidate=9))
    found = enlarged(study, plans)
    assert found.variance == pytest.approx([0.0625, 0.0625 / 4, 0.0625])
    assert found.degrees == pytest.approx([8, 32, 8])


def test_a_calibration_takes_off_the_shared_error() -> None:
    study = replace(STUDY, shared=0.4, shared_calibrated=0.05, estimate=0.8)
    without, with_it = power(
        study,
        Plans.of(
            MeasuringPlan(candidate=40, reference=40, bores=4, places=4),
            MeasuringPlan(candidate=40, reference=40, bores=4, places=4, calibrated=True),
        ),
    )
    assert without < 0.6 < 0.99 < with_it
    worse = replace(study, shared_calibrated=0.9)
    assert power(worse, Plans.of(MeasuringPlan(calibrated=True))) == power(
        worse, Plans.of(MeasuringPlan())
    )


def test_each_family_may_have_spreads_of_its_own() -> None:
    """By hand: 4 / 10 + 1 / 10 before, 4 / 20 + 1 / 10 with ten more of the spread-out family."""
    study = replace(
        STUDY,
        standard_error=math.sqrt(0.5),
        degrees_of_freedom=18.0,
        block=4.0,
        bore=0.0,
        place=0.0,
        repeat=0.0,
        candidate=Measured.evenly(10),
        reference=Measured.evenly(10),
        reference_levels=Levels(block=1.0),
    )
    plans = Plans.of(MeasuringPlan(), MeasuringPlan(candidate=10), MeasuringPlan(reference=10))
    found = enlarged(study, plans)
    assert found.variance == pytest.approx([0.5, 0.3, 0.45])
    assert found.own_degrees[1] == pytest.approx(0.3**2 / (0.2**2 / 19 + 0.1**2 / 9))
