"""Several looks: the level is kept, drawn paths, unforeseen looks, blocks one by one, refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from workbench.errors import Refusal
from workbench.inference.planning.sequential import SPENDING, sequential_plan, spent_by
from workbench.inference.results import Difference

UNEVEN = [0.2, 0.25, 0.7, 1.0]


@pytest.mark.parametrize("spending", SPENDING)
@pytest.mark.parametrize("fractions", [[1.0], [0.5, 1.0], UNEVEN, [k / 40 for k in range(1, 41)]])
@pytest.mark.parametrize("confidence", [0.9, 0.95, 0.99])
def test_all_looks_together_keep_the_level(spending, fractions, confidence):
    plan = sequential_plan(fractions, spending=spending, confidence=confidence)
    crossing = plan.crossing(0.0)
    assert crossing.either == pytest.approx(1 - confidence, abs=1e-8)
    assert crossing.above == pytest.approx(crossing.below, abs=1e-10)
    assert plan.spent[-1] == pytest.approx(1 - confidence)


def test_one_look_is_the_plain_test():
    plan = sequential_plan([1.0])
    assert plan.bounds[0] == pytest.approx(stats.norm.ppf(0.975))
    assert plan.nominal[0] == pytest.approx(0.05)
    assert plan.inflation(0.8) == pytest.approx(1, abs=1e-8)
    # the far side is not counted
    assert plan.power(2.5) == pytest.approx(stats.norm.sf(stats.norm.ppf(0.975) - 2.5))


@pytest.mark.parametrize("spending", SPENDING)
@pytest.mark.parametrize("drift", [0.0, 1.5, -3.0])
def test_against_drawn_paths(spending, drift):
    rng, size = np.random.default_rng(2), 100_000
    plan = sequential_plan(UNEVEN, spending=spending)
    steps = np.diff([0, *UNEVEN])
    scores = np.cumsum(drift * steps + np.sqrt(steps) * rng.normal(size=(size, 4)), axis=1)
    z = scores / np.sqrt(UNEVEN)
    crossed = np.abs(z) > np.array(plan.bounds)
    first = np.where(crossed.any(axis=1), crossed.argmax(axis=1), 3)
    found = plan.crossing(drift)
    for look in range(4):
        stopped = crossed[:, look] & (first == look)
        assert np.mean(stopped & (z[:, look] > 0)) == pytest.approx(found.above[look], abs=0.006)
        assert np.mean(stopped & (z[:, look] < 0)) == pytest.approx(found.below[look], abs=0.006)
    assert np.mean(np.array(UNEVEN)[first]) == pytest.approx(found.information, abs=0.005)


@pytest.mark.parametrize("spending", SPENDING)
def test_later_looks_do_not_move_earlier_bounds(spending):
    whole = sequential_plan([0.1, 0.3, 0.6, 1.0], spending=spending)
    other = sequential_plan([0.1, 0.3, 0.35, 0.5, 0.9, 1.0], spending=spending)
    assert other.bounds[:2] == pytest.approx(whole.bounds[:2])


def test_the_kinds_differ_as_they_are_meant_to():
    strict = sequential_plan(UNEVEN)
    level = sequential_plan(UNEVEN, spending="pocock")
    assert strict.bounds[0] > 4 > level.bounds[0]
    assert strict.bounds[-1] < 2.1 < level.bounds[-1]
    assert 1 < strict.inflation() < 1.05 < level.inflation()
    drift = level.drift_for(0.8)
    assert level.power(drift) == pytest.approx(0.8, abs=1e-8)
    assert level.crossing(drift).information * level.inflation() < 1


def test_too_early_a_look_has_no_bound():
    plan = sequential_plan([0.02, 0.5, 1.0])
    assert plan.bounds[0] == math.inf
    assert (plan.nominal[0], plan.spent[0]) == (0, 0)
    difference = Difference(estimate=9.0, standard_error=1.0, degrees_of_freedom=2, method="any")
    assert plan.interval(difference, 1).low == -math.inf
    assert plan.crossing(0.0).either == pytest.approx(0.05, abs=1e-9)


def test_intervals_at_a_look_agree_with_its_nominal_p():
    plan = sequential_plan(UNEVEN, spending="pocock")
    difference = Difference(estimate=1.0, standard_error=0.35, degrees_of_freedom=8, method="any")
    for look, nominal in enumerate(plan.nominal, start=1):
        interval = plan.interval(difference, look)
        assert interval.confidence == 0.95
        for margin in (-0.2, 0.0, 0.1, 0.5):
            assert interval.contains(margin) == (difference.p_value(margin) >= nominal)


@pytest.mark.parametrize("spending", SPENDING)
def test_blocks_measured_one_by_one(spending):
    """Pooled t after every pair of blocks, 3 to 12 a side; without bounds far above 5 in 100."""
    rng, size = np.random.default_rng(3), 20_000
    ours, others = rng.normal(size=(2, size, 12))
    looks = list(range(3, 13))
    plan = sequential_plan([n / 12 for n in looks], spending=spending)
    stopped, careless = np.zeros(size, dtype=bool), np.zeros(size, dtype=bool)
    for n, nominal in zip(looks, plan.nominal, strict=True):
        p = stats.ttest_ind(ours[:, :n], others[:, :n], axis=1).pvalue
        stopped |= p < nominal
        careless |= p < 0.05
    assert stopped.mean() == pytest.approx(0.05, abs=0.012)
    assert careless.mean() > 0.15


def test_spending_ends_at_the_level():
    for spending in SPENDING:
        assert spent_by(1.0, 0.025, spending) == pytest.approx(0.025)
        spent = [spent_by(t, 0.025, spending) for t in (0.1, 0.3, 0.5, 0.9)]
        assert spent == sorted(spent)


def test_refusals():
    for looks in ([], [0.0, 1.0], [0.5, 0.4], [0.5, 1.1], [0.5, 0.5]):
        with pytest.raises(Refusal, match="Looks come at rising shares"):
            sequential_plan(looks)
    with pytest.raises(Refusal, match="spending is one of obrien-fleming, pocock, not 'even'"):
        sequential_plan([1.0], spending="even")
    with pytest.raises(Refusal, match="Confidence must lie"):
        sequential_plan([1.0], confidence=1)
    plan = sequential_plan([0.5, 1.0])
    with pytest.raises(Refusal, match="Power must lie"):
        plan.drift_for(1.0)
    difference = Difference(estimate=1, standard_error=1, degrees_of_freedom=9, method="any")
    with pytest.raises(Refusal, match="The looks are 1 to 2, not 3"):
        plan.interval(difference, 3)
