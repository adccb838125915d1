"""Trials until enough pass: scipy for a known share, simulation for an unknown one, refusals."""

import math

import numpy as np
import pytest
from scipy import stats

from workbench.errors import Refusal
from workbench.inference.decision.trials import TrialsNeeded
from workbench.inference.decision.uncertain_share import BetaShare, WeightedShare


@pytest.mark.parametrize("wanted", [1, 4])
def test_known_share_against_scipy(wanted) -> None:
    needed = TrialsNeeded(share=WeightedShare(values=np.array([0.3])), wanted=wanted)
    trials = np.arange(1, 30)
    expected = stats.nbinom(wanted, 0.3).pmf(trials - wanted)
    assert needed.chances(29) == pytest.approx(expected)
    for share in (0.1, 0.5, 0.9, 0.99):
        assert needed.quantile(share) == stats.nbinom(wanted, 0.3).ppf(share) + wanted


@pytest.mark.parametrize(("wanted", "rescued"), [(1, 0.0), (1, 0.3), (3, 0.0), (3, 0.3)])
def test_uncertain_share_against_simulation(wanted, rescued) -> None:
    needed = TrialsNeeded(share=BetaShare(a=2.5, b=3.5), wanted=wanted, rescued=rescued)
    generator = np.random.default_rng(1)
    size = 200_000
    share = generator.beta(2.5, 3.5, size)
    usable = share + (1 - share) * rescued
    drawn = wanted + generator.negative_binomial(wanted, usable)
    for trials in (wanted, wanted + 2, wanted + 10):
        expected = needed.chance_of_more_than(trials)
        error = math.sqrt(expected * (1 - expected) / size)
        assert np.mean(drawn > trials) == pytest.approx(expected, abs=4 * error)
    assert needed.quantile(0.9) == np.quantile(drawn, 0.9, method="inverted_cdf")


def test_beta_and_weights_agree() -> None:
    beta = BetaShare(a=3.0, b=1.0)
    fine = WeightedShare(values=beta.quantile((np.arange(5000) + 0.5) / 5000))
    for wanted in (1, 3):
        one, other = (TrialsNeeded(share=s, wanted=wanted, rescued=0.1) for s in (beta, fine))
        assert one.chances(12) == pytest.approx(other.chances(12), abs=1e-3)


def test_a_long_tail_where_none_has_passed() -> None:
    """None of three passed: a tenth of the cases need hundreds, and there is no mean."""
    needed = TrialsNeeded(share=BetaShare(a=0.5, b=3.5))
    assert needed.mean == math.inf
    assert needed.chance_of_more_than(int(needed.quantile(0.9))) <= 0.1
    assert needed.chance_of_more_than(int(needed.quantile(0.9)) - 1) > 0.1
    never = TrialsNeeded(share=WeightedShare(values=np.array([0.0])))
    assert never.quantile(0.5) == math.inf


def test_all_rescued_needs_as_many_as_wanted() -> None:
    needed = TrialsNeeded(share=BetaShare(a=1, b=9), wanted=3, rescued=1.0)
    assert needed.mean == 3
    assert needed.quantile(0.999) == 3


@pytest.mark.parametrize(
    ("stated", "message"),
    [
        ({"wanted": 0}, "`wanted` must be 1 or more, not 0"),
        ({"wanted": 1.5}, "`wanted` is a whole number, not 1.5"),
        ({"rescued": 1.2}, "from 0 to 1, not at 1.2"),
        ({"rescued": math.nan}, "from 0 to 1, not at nan"),
    ],
)
def test_refusals(stated, message) -> None:
    with pytest.raises(Refusal, match=message):
        TrialsNeeded(share=BetaShare(a=1, b=1), **stated)


@pytest.mark.parametrize("share", [0, 1, math.nan])
def test_share_of_cases(share) -> None:
    with pytest.raises(Refusal, match="between 0 and 1"):
        TrialsNeeded(share=BetaShare(a=1, b=1)).quantile(share)
