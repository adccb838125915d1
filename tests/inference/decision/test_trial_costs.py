"""Costs of trying until one passes: closed form, simulation and identities held together."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate

from workbench.errors import Refusal
from workbench.inference.decision.trial_costs import TrialCosts, mean_that_holds
from workbench.inference.decision.uncertain_share import BetaShare, WeightedShare

CASES = [
    TrialCosts(outlay=100.0),
    TrialCosts(outlay=100.0, salvage=60.0),
    TrialCosts(outlay=100.0, salvage=60.0, rework=30.0, rescued=0.4),
    TrialCosts(outlay=100.0, salvage=130.0),
    TrialCosts(outlay=100.0, rework=30.0, rescued=1.0),
]
SHARE = BetaShare(a=6.5, b=3.5)


def quadrature(function, share: BetaShare) -> float:
    found = integrate.quad(lambda p: float(function(share.quantile(np.array([p])))[0]), 0, 1)
    return float(found[0])


@pytest.mark.parametrize("costs", CASES)
def test_expected_against_quadrature(costs) -> None:
    assert costs.expected(SHARE) == pytest.approx(quadrature(costs.per_success, SHARE), rel=1e-6)


@pytest.mark.parametrize("costs", CASES)
@pytest.mark.parametrize("limit", [1, 3, None])
def test_expected_worth_against_quadrature(costs, limit) -> None:
    by_quadrature = quadrature(lambda share: costs.worth_it(share, 500.0, limit), SHARE)
    assert costs.expected_worth(SHARE, 500.0, limit) == pytest.approx(by_quadrature, rel=1e-6)


@pytest.mark.parametrize("costs", CASES)
@pytest.mark.parametrize("limit", [1, 3, None])
def test_simulation_within_its_own_error(costs, limit) -> None:
    generator = np.random.default_rng(7)
    size = 200_000
    share = SHARE.draw(generator, size)
    runs = costs.spend(share, generator, limit)
    mean, error = mean_that_holds(runs.spent)
    closed = costs.expected(SHARE) if limit is None else costs.expected_outlay(SHARE, limit)
    assert mean == pytest.approx(closed, abs=4 * error)
    if limit is not None:
        none = costs.chance_of_none(SHARE, limit)
        assert np.mean(~runs.succeeded) == pytest.approx(none, abs=4 * 0.5 / math.sqrt(size))
        assert runs.trials.max() <= limit
    else:
        assert bool(runs.succeeded.all())
        assert runs.trials.mean() == pytest.approx(
            SHARE.expected_trials(costs.rescued), abs=4 * runs.trials.std() / math.sqrt(size)
        )


def test_one_run_by_hand() -> None:
    """A share of 1 takes one trial; of 0, as many as allowed, all but their salvage lost."""
    costs = TrialCosts(outlay=100.0, salvage=60.0, rework=30.0)
    runs = costs.spend(np.array([1.0, 0.0]), np.random.default_rng(1), 3)
    assert list(runs.spent) == [100.0, 120.0]
    assert list(runs.trials) == [1, 3]
    assert list(runs.succeeded) == [True, False]
    without_end = costs.spend(np.array([0.0]), np.random.default_rng(1))
    assert without_end.spent[0] == math.inf
    assert not without_end.succeeded[0]


@given(st.floats(0.05, 1), st.integers(1, 6), st.sampled_from(CASES))
def test_a_limit_does_not_change_cost_per_success(share, limit, costs) -> None:
    """Wald: the money expected over the chance to succeed is the same with any limit."""
    known = WeightedShare(values=np.array([share]))
    succeeds = 1 - costs.chance_of_none(known, limit)
    per_success = float(costs.per_success(np.array([share]))[0])
    assert costs.expected_outlay(known, limit) / succeeds == pytest.approx(per_success)


@given(st.floats(0.1, 50), st.sampled_from(CASES), st.floats(0.01, 1))
def test_another_currency(rate, costs, share) -> None:
    other = TrialCosts(
        outlay=rate * costs.outlay,
        salvage=rate * costs.salvage,
        rework=rate * costs.rework,
        rescued=costs.rescued,
    )
    at = np.array([share])
    assert other.per_success(at) == pytest.approx(rate * costs.per_success(at))
    assert other.expected(SHARE) == pytest.approx(rate * costs.expected(SHARE))
    assert other.expected_outlay(SHARE, 3) == pytest.approx(rate * costs.expected_outlay(SHARE, 3))


def test_amounts_may_differ_from_run_to_run() -> None:
    outlay = np.array([100.0, 200.0])
    assert list(TrialCosts(outlay=outlay).per_success(np.array([0.5, 0.5]))) == [200, 400]


def test_no_share_no_success() -> None:
    nothing = np.array([0.0])
    assert TrialCosts(outlay=1.0).per_success(nothing)[0] == math.inf
    assert TrialCosts(outlay=1.0, salvage=2.0).per_success(nothing)[0] == -math.inf
    assert TrialCosts(outlay=1.0, salvage=1.0).per_success(nothing)[0] == 0
    assert TrialCosts(outlay=1.0, salvage=1.0).expected(BetaShare(a=0.5, b=1)) == 1
    assert TrialCosts(outlay=1.0).worth_it(nothing, 10.0, 3)[0] == -3


@pytest.mark.parametrize(("exponent", "holds"), [(3.0, True), (1.1, False)])
def test_means_of_heavy_tails(exponent, holds) -> None:
    draws = np.random.default_rng(3).pareto(exponent, 100_000)
    if holds:
        mean, error = mean_that_holds(draws)
        assert mean == pytest.approx(1 / (exponent - 1), abs=5 * error)
    else:
        with pytest.raises(Refusal, match="hangs on the 100 furthest"):
            mean_that_holds(draws)


def test_an_infinite_draw_has_no_mean() -> None:
    with pytest.raises(Refusal, match="without bound"):
        mean_that_holds(np.array([1.0, math.inf]))


@pytest.mark.parametrize("limit", [0, -1, 2.5])
def test_refused_limits(limit) -> None:
    costs, generator = TrialCosts(outlay=1.0), np.random.default_rng(1)
    for ask in (
        lambda: costs.expected_outlay(SHARE, limit),
        lambda: costs.chance_of_none(SHARE, limit),
        lambda: costs.spend(np.array([0.5]), generator, limit),
    ):
        with pytest.raises(Refusal, match="`limit`"):
            ask()


def test_refused_rescue() -> None:
    with pytest.raises(Refusal, match=r"from 0 to 1, not at -0\.1"):
        TrialCosts(outlay=1.0, rescued=-0.1)


def test_one_run_pays_one_of_several_reworks() -> None:
    """By hand: nothing passes, all are put right, 1 in 4 for 100 and 3 in 4 for 20; mean 40."""
    costs = TrialCosts(outlay=10.0, rework=40.0, rescued=1.0, reworks=((0.25, 100.0), (0.75, 20.0)))
    run = costs.spend(np.zeros(40_000), np.random.default_rng(1))
    assert set(np.unique(run.spent)) == {30.0, 110.0}
    assert np.mean(run.spent == 110.0) == pytest.approx(0.25, abs=0.01)
    assert run.spent.mean() == pytest.approx(
        costs.per_success(np.zeros(1))[0], abs=4 * run.spent.std() / 200
    )


def test_refused_reworks() -> None:
    with pytest.raises(Refusal, match=r"sum to 1, not to 0\.5"):
        TrialCosts(outlay=1.0, rework=1.0, rescued=0.5, reworks=((0.5, 1.0),))
