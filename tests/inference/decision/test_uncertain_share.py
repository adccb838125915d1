"""Beliefs about a share: against scipy, against each other, refusals."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from workbench.errors import Refusal
from workbench.inference.decision.uncertain_share import BetaShare, WeightedShare
from workbench.inference.shares.count import Count

WEIGHTS = st.floats(0.3, 40)


@pytest.mark.parametrize(("a", "b"), [(0.5, 3.5), (3.5, 0.5), (8, 2), (1, 1)])
def test_beta_against_scipy(a, b) -> None:
    share = BetaShare(a=a, b=b)
    p = np.array([0.05, 0.4, 0.9])
    assert share.quantile(p) == pytest.approx(stats.beta(a, b).ppf(p))
    assert share.below(p) == pytest.approx(stats.beta(a, b).cdf(p))
    assert share.mean == pytest.approx(stats.beta(a, b).mean())
    expected = stats.betabinom(7, a, b).pmf(np.arange(8))
    assert share.outcome_chances(7) == pytest.approx(expected)
    assert share.outcome_chances(7, most=2) == pytest.approx(expected[:3])
    assert share.all_fail([0, 1, 7]) == pytest.approx([1, b / (a + b), expected[0]])


@pytest.mark.parametrize(("a", "b"), [(0.5, 3.5), (2.5, 0.5), (8.0, 2.0)])
@pytest.mark.parametrize("rescued", [0.001, 0.2, 1.0])
def test_expected_trials_against_quadrature(a, b, rescued) -> None:
    def one_over_usable(p: float) -> float:
        return 1 / (rescued + (1 - rescued) * stats.beta.ppf(p, a, b))

    by_quadrature = integrate.quad(one_over_usable, 0, 1, limit=400)[0]
    assert BetaShare(a=a, b=b).expected_trials(rescued) == pytest.approx(by_quadrature, rel=1e-6)


def test_expected_trials_need_a_weight_above_one() -> None:
    assert BetaShare(a=1.0, b=2.0).expected_trials() == math.inf
    assert BetaShare(a=1.5, b=2.0).expected_trials() == pytest.approx(5)
    assert BetaShare(a=1.0, b=2.0).expected_trials(0.01) < math.inf


@given(WEIGHTS, WEIGHTS, st.integers(1, 12), st.data())
def test_expectation_of_the_posterior_is_the_prior(a, b, trials, data) -> None:
    """Averaged over what may be seen, what is known afterwards is what is known now."""
    share = BetaShare(a=a, b=b)
    chances = share.outcome_chances(trials)
    after = [share.after(Count(yes=x, of=trials)) for x in range(trials + 1)]
    assert chances.sum() == pytest.approx(1)
    assert chances @ [then.mean for then in after] == pytest.approx(share.mean)
    rescued = data.draw(st.floats(0.05, 1))
    expected = chances @ [then.expected_trials(rescued) for then in after]
    assert expected == pytest.approx(share.expected_trials(rescued), rel=1e-7)


def test_many_equal_weights_answer_as_the_beta() -> None:
    beta = BetaShare(a=3.5, b=2.5)
    fine = WeightedShare(values=beta.quantile((np.arange(20_000) + 0.5) / 20_000))
    seen = Count(yes=2, of=5)
    for share, other in ((beta, fine), (beta.after(seen), fine.after(seen))):
        assert other.mean == pytest.approx(share.mean, abs=1e-4)
        assert other.outcome_chances(3) == pytest.approx(share.outcome_chances(3), abs=1e-4)
        assert other.all_fail(4) == pytest.approx(share.all_fail(4), abs=1e-4)
        assert other.below(0.3) == pytest.approx(share.below(0.3), abs=1e-4)
        assert other.quantile(0.7) == pytest.approx(share.quantile(0.7), abs=1e-3)
        assert other.expected_trials(0.1) == pytest.approx(share.expected_trials(0.1), abs=1e-3)


def test_weights_are_kept_with_their_values() -> None:
    share = WeightedShare(values=np.array([0.9, 0.1]), weights=np.array([3.0, 1.0]))
    assert share.mean == pytest.approx(0.7)
    assert share.quantile([0.25, 0.26]) == pytest.approx([0.1, 0.9])
    assert share.below([0.05, 0.1, 0.9]) == pytest.approx([0, 0.25, 1])
    assert np.mean(share.draw(np.random.default_rng(1), 4000) == 0.9) == pytest.approx(
        0.75, abs=0.03
    )
    assert WeightedShare(values=np.array([0.0, 1.0])).expected_trials() == math.inf
    held_nowhere = WeightedShare(values=np.array([0.0, 0.5]), weights=np.array([0.0, 1.0]))
    assert held_nowhere.expected_trials() == 2


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: BetaShare(a=0, b=1), "weights above 0, not 0 and 1"),
        (lambda: BetaShare(a=1, b=math.inf), "weights above 0"),
        (lambda: WeightedShare(values=np.array([0.2, 1.2])), "from 0 to 1, not 0.2 to 1.2"),
        (lambda: WeightedShare(values=np.array([])), "holds 0 numbers"),
        (lambda: WeightedShare(values=np.array([math.nan])), "must be finite"),
        (lambda: WeightedShare(values=np.ones(2), weights=np.ones(3)), "a weight of 0 or more"),
        (lambda: WeightedShare(values=np.ones(2), weights=np.zeros(2)), "not all 0"),
        (
            lambda: WeightedShare(values=np.array([1.0])).after(Count(yes=1, of=2)),
            "could give 1 passes of 2",
        ),
    ],
)
def test_refusals(make, message) -> None:
    with pytest.raises(Refusal, match=message):
        make()
