"""Value of information: closed forms, exact against simulated, order of values, refusals."""

import math
from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, stats

from workbench.errors import Refusal
from workbench.inference.decision.options import Option, certain, trying
from workbench.inference.decision.perfect_information import perfect_information
from workbench.inference.decision.sample_information import sample_information
from workbench.inference.decision.simulated_information import (
    JointPayoffs,
    simulated_perfect_information,
    simulated_sample_information,
)
from workbench.inference.decision.trial_costs import TrialCosts
from workbench.inference.decision.uncertain_share import BetaShare, WeightedShare

UNIFORM = BetaShare(a=1, b=1)
LEAVE = certain("leave", 0.0)


def bet(at: float = 0.5, share: str = "p") -> Option:
    """Pay the share less `at`."""
    return Option(
        name=f"bet on {share}",
        share=share,
        payoff=lambda known: known - at,
        expected=lambda belief: belief.mean - at,
    )


def sample_value_of_a_bet(at: Fraction, trials: int) -> Fraction:
    """Derive the value of a sample for a bet on a uniform share, in fractions.

    Every count from 0 to n is equally likely, and after x the mean is (x + 1) / (n + 2).
    """
    means = [Fraction(x + 1, trials + 2) for x in range(trials + 1)]
    gains = sum(max(mean - at, Fraction(0)) for mean in means) / (trials + 1)
    return gains - max(Fraction(1, 2) - at, Fraction(0))


@pytest.mark.parametrize("trials", [1, 2, 5, 40])
@pytest.mark.parametrize("at", [Fraction(1, 2), Fraction(2, 3), Fraction(1, 10)])
def test_a_bet_on_a_uniform_share(at, trials) -> None:
    found = sample_information([LEAVE, bet(float(at))], {"p": UNIFORM}, {"p": trials})
    assert found.value == pytest.approx(float(sample_value_of_a_bet(at, trials)), abs=1e-12)


def test_one_and_two_looks_are_worth_a_twelfth() -> None:
    """By hand: (2/3 - 1/2) / 2 after one trial, (3/4 - 1/2) / 3 after two."""
    for trials in (1, 2):
        found = sample_information([LEAVE, bet()], {"p": UNIFORM}, {"p": trials})
        assert found.value == pytest.approx(1 / 12)


@pytest.mark.parametrize(("a", "b"), [(1.0, 1.0), (0.5, 3.5), (8.0, 3.0)])
def test_perfect_information_of_a_bet(a, b) -> None:
    """Partial expectation of a beta: E (p - c)+ = m P(p' > c) - c P(p > c), p' of weight a + 1."""
    at = 0.4
    mean = a / (a + b)
    above = mean * stats.beta(a + 1, b).sf(at) - at * stats.beta(a, b).sf(at)
    found = perfect_information([LEAVE, bet(at)], {"p": BetaShare(a=a, b=b)})
    assert found.value == pytest.approx(above - max(mean - at, 0), abs=1e-10)


def test_two_shares_against_nested_quadrature() -> None:
    one, other = BetaShare(a=2.5, b=1.5), BetaShare(a=3.5, b=2.0)

    def better(x: float) -> float:
        """Give E max(p, q) for p known at its quantile x, by the distribution of q above it."""
        p = float(one.quantile(x))
        return p + float(integrate.quad(lambda q: 1 - float(other.below(q)), p, 1)[0])

    both = integrate.quad(better, 0, 1)[0]
    found = perfect_information([bet(0, "p"), bet(0, "q")], {"p": one, "q": other})
    assert found.value == pytest.approx(both - max(one.mean, other.mean), abs=1e-7)


def blocks(value: float, limit: int | None) -> list[Option]:
    """A dear and a cheap family, and with a value the choice to walk away."""
    dear = TrialCosts(outlay=1500.0, salvage=700.0)
    cheap = TrialCosts(outlay=1000.0, salvage=300.0, rework=200.0, rescued=0.1)
    options = [
        trying("dear", "dear", dear, value=value, limit=limit),
        trying("cheap", "cheap", cheap, value=value, limit=limit),
    ]
    return [*options, certain("walk away", 0.0)] if value else options


BELIEFS = {"dear": BetaShare(a=4.5, b=1.5), "cheap": BetaShare(a=3.5, b=3.5)}


@pytest.mark.parametrize(("value", "limit"), [(0.0, None), (1800.0, None), (1800.0, 3)])
def test_exact_and_simulated_agree(value, limit) -> None:
    options = blocks(value, limit)
    generator = np.random.default_rng(11)
    draws = {name: belief.draw(generator, 100_000) for name, belief in BELIEFS.items()}
    known = JointPayoffs.of(options, draws)
    exact, simulated = (
        perfect_information(options, BELIEFS),
        simulated_perfect_information(known),
    )
    assert simulated.best_now == exact.best_now
    assert simulated.value == pytest.approx(exact.value, abs=4 * simulated.error)
    for sample in ({"dear": 4}, {"cheap": 6}, {"dear": 2, "cheap": 3}):
        exact = sample_information(options, BELIEFS, sample)
        simulated = simulated_sample_information(known, sample)
        assert exact.value > 0
        assert simulated.value == pytest.approx(exact.value, abs=4 * simulated.error)
        assert simulated.chance_of_change == pytest.approx(exact.chance_of_change, abs=0.01)


def test_weighted_values_agree_with_the_beta() -> None:
    options = blocks(1800.0, 3)
    fine = {
        name: WeightedShare(values=belief.quantile((np.arange(4000) + 0.5) / 4000))
        for name, belief in BELIEFS.items()
    }
    assert perfect_information(options, fine).value == pytest.approx(
        perfect_information(options, BELIEFS).value, rel=1e-3
    )
    assert sample_information(options, fine, {"cheap": 3}).value == pytest.approx(
        sample_information(options, BELIEFS, {"cheap": 3}).value, rel=1e-2
    )


def test_perfect_information_where_payoffs_fall_without_bound() -> None:
    """Two families whose costs have heavy tails: the greater of two by its quantiles.

    With payoffs -1 / p the mean of the better is -E min(1 / p, 1 / q) = -E 1 / max(p, q); the
    distribution of max(p, q) is the product, and the integral runs over q = 1 / x.
    """
    one, other = BetaShare(a=0.5, b=6.5), BetaShare(a=1.5, b=5.5)
    options = [trying(name, name, TrialCosts(outlay=1.0)) for name in ("p", "q")]
    product = integrate.quad(
        lambda x: float(one.below(np.exp(-x)) * other.below(np.exp(-x))) * math.exp(x), 0, 200
    )[0]
    found = perfect_information(options, {"p": one, "q": other})
    assert found.value_now == pytest.approx(-other.expected_trials())
    assert found.value == pytest.approx(other.expected_trials() - (1 + product), rel=1e-6)


WEIGHT = st.sampled_from([0.5, 1.5, 2.5, 4.5, 9.5])


@given(WEIGHT, WEIGHT, WEIGHT, WEIGHT, st.sampled_from([None, 1, 3]), st.floats(1200, 4000))
@settings(max_examples=40)
def test_more_is_worth_more_and_never_more_than_all(a, b, c, d, limit, value) -> None:
    options = blocks(value if limit or c <= 1 else 0.0, limit)
    beliefs = {"dear": BetaShare(a=a, b=b), "cheap": BetaShare(a=c, b=d)}
    perfect = perfect_information(options, beliefs).value
    for name in beliefs:
        values = [sample_information(options, beliefs, {name: k}).value for k in (0, 1, 2, 4, 8)]
        assert values[0] == 0
        assert all(x <= y + 1e-8 for x, y in pairwise(values))
        assert values[-1] <= perfect + 1e-6


@given(WEIGHT, WEIGHT, st.floats(0.1, 30))
@settings(max_examples=20)
def test_another_currency(a, b, rate) -> None:
    def options(unit: float) -> list[Option]:
        costs = TrialCosts(outlay=1000.0 * unit, salvage=300.0 * unit)
        return [trying("buy", "p", costs, value=1800.0 * unit, limit=3), LEAVE]

    beliefs = {"p": BetaShare(a=a, b=b)}
    for ask in (
        lambda unit: perfect_information(options(unit), beliefs).value,
        lambda unit: sample_information(options(unit), beliefs, {"p": 3}).value,
    ):
        assert ask(rate) == pytest.approx(rate * ask(1.0), abs=1e-7 * rate)


def test_swapping_names_swaps_nothing() -> None:
    first = sample_information(blocks(1800.0, None), BELIEFS, {"dear": 2, "cheap": 1})
    second = sample_information(blocks(1800.0, None)[::-1], BELIEFS, {"cheap": 1, "dear": 2})
    assert first.value == pytest.approx(second.value)
    assert first.best_now == second.best_now


def test_dependent_draws_teach_of_one_another() -> None:
    """Two shares that are equal: a look at the one is as good as a look at the other."""
    same = np.random.default_rng(5).beta(1, 1, 50_000)
    options = [LEAVE, bet(share="q")]
    known = JointPayoffs.of(options, {"p": same, "q": same})
    by_itself, by_the_other = (simulated_sample_information(known, {name: 2}) for name in "qp")
    assert by_the_other.value == by_itself.value
    assert by_itself.value == pytest.approx(1 / 12, abs=4 * by_itself.error)


def test_an_option_without_finite_mean_is_not_chosen() -> None:
    none_passed = {"dear": BetaShare(a=0.5, b=3.5), "cheap": BetaShare(a=3.5, b=3.5)}
    found = sample_information(blocks(0.0, None), none_passed, {"dear": 2})
    assert found.best_now == "cheap"
    assert math.isfinite(found.value)


def test_draws_whose_mean_hangs_on_a_few_are_not_chosen() -> None:
    heavy = np.random.default_rng(2).beta(0.6, 2.0, 20_000)
    light = np.random.default_rng(3).beta(8, 20, 20_000)
    options = [trying(name, name, TrialCosts(outlay=1.0)) for name in ("heavy", "light")]
    draws = {"heavy": heavy, "light": light}
    found = simulated_sample_information(JointPayoffs.of(options, draws), {"heavy": 2})
    assert found.best_now == "light"
    assert found.value >= 0
    with pytest.raises(Refusal, match="lose without bound"):
        JointPayoffs.of(options[:1], draws)


@pytest.mark.parametrize(
    ("ask", "message"),
    [
        (lambda: sample_information([], {"p": UNIFORM}, {}), "nothing to choose from"),
        (lambda: sample_information([bet()], {"q": UNIFORM}, {}), "share “p”"),
        (lambda: sample_information([bet()], {"p": UNIFORM}, {"q": 1}), "share “q”"),
        (lambda: sample_information([bet()], {"p": UNIFORM}, {"p": -1}), "`p` must be 1 or more"),
        (
            lambda: perfect_information(
                [bet(), bet(share="q")],
                {"p": UNIFORM, "q": WeightedShare(values=np.array([0.5]))},
            ),
            "as weighted values, or none",
        ),
        (
            lambda: perfect_information(
                [
                    Option(
                        name="hill",
                        share="p",
                        payoff=lambda known: known * (1 - known),
                        expected=lambda belief: 0.0,
                    )
                ],
                {"p": UNIFORM},
            ),
            "rises and falls",
        ),
        (
            lambda: sample_information(
                [trying("buy", "p", TrialCosts(outlay=1.0))], {"p": BetaShare(a=0.5, b=1)}, {}
            ),
            "lose without bound",
        ),
        (
            lambda: JointPayoffs.of([bet()], {"p": np.linspace(0, 1, 50)}),
            "at least 1000",
        ),
        (
            lambda: JointPayoffs.of([bet()], {"p": np.linspace(0, 2, 1000)}),
            "draws of “p” must lie from 0 to 1",
        ),
        (
            lambda: JointPayoffs.of(
                [bet()], {"p": np.linspace(0, 1, 1000), "q": np.linspace(0, 1, 1001)}
            ),
            "equal numbers",
        ),
    ],
)
def test_refusals(ask, message) -> None:
    with pytest.raises(Refusal, match=message):
        ask()
