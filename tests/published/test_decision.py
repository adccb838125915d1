"""Purchases until enough are good, and the value of a sample, against printed examples."""

import math

import numpy as np
import pytest

from workbench.inference.decision.options import Option, certain
from workbench.inference.decision.perfect_information import perfect_information
from workbench.inference.decision.sample_information import sample_information
from workbench.inference.decision.trial_costs import TrialCosts
from workbench.inference.decision.trials import TrialsNeeded
from workbench.inference.decision.uncertain_share import BetaShare, WeightedShare
from workbench.inference.shares.count import Count


def known(share: float) -> WeightedShare:
    return WeightedShare(values=np.array([share]))


def test_trials_of_a_known_share() -> None:
    """Feller (1968), volume 1, VI.8 (identities, from memory): mean r / p, variance r q / p^2."""
    ten = TrialsNeeded(share=known(0.8), wanted=10)
    assert TrialsNeeded(share=known(0.8)).mean == pytest.approx(1.25)
    assert ten.mean == pytest.approx(12.5)
    chances = ten.chances(60)
    numbers = np.arange(1, 61)
    variance = float(chances @ (numbers - 12.5) ** 2)
    assert math.sqrt(variance) == pytest.approx(1.768, abs=5e-4)
    assert ten.quantile(0.95) == 16
    assert TrialsNeeded(share=known(0.5)).quantile(0.95) == 5
    assert TrialsNeeded(share=known(0.9), wanted=20).quantile(0.95) == 25


def test_twelve_or_thirteen_for_ten() -> None:
    """Cumulative binomial tables: 10 or more of 12, and of 13, at 0.8."""
    ten = TrialsNeeded(share=known(0.8), wanted=10)
    assert 1 - ten.chance_of_more_than(12) == pytest.approx(0.558, abs=5e-4)
    assert 1 - ten.chance_of_more_than(13) == pytest.approx(0.747, abs=5e-4)


def test_boxes_until_two_prizes() -> None:
    """Devore, Probability and Statistics for Engineering and the Sciences, exercise 3.75.

    One box in five holds a prize and boxes are bought until two do; the chances of 0, 1 and 2 boxes
    without are printed as 0.04, 0.064 and 0.0768 (read in a published solution).
    """
    printed = [0.04, 0.064, 0.0768]
    assert TrialsNeeded(share=known(0.2), wanted=2).chances(4)[1:] == pytest.approx(printed)


def test_five_good_pumps() -> None:
    """A course exercise: 1 pump in 20 is defective; 5 bought are 5 good with chance 0.774."""
    pumps = TrialsNeeded(share=known(0.95), wanted=5)
    assert 1 - pumps.chance_of_more_than(5) == pytest.approx(0.774, abs=5e-4)


def test_price_per_usable_block() -> None:
    """Identity E(1 / p) = (a + b - 1) / (a - 1) under a beta: 17 of 20 usable at 100 each."""
    costs = TrialCosts(outlay=100.0)
    assert float(costs.per_success(np.array([0.85]))[0]) == pytest.approx(117.65, abs=5e-3)
    assert costs.expected(BetaShare.of(Count(yes=17, of=20))) == pytest.approx(121.21, abs=5e-3)


@pytest.mark.parametrize(("yes", "of"), [(0, 3), (0, 1), (0, 40)])
def test_no_mean_where_none_was_usable(yes, of) -> None:
    """With a below 1 the integral of 1 / p diverges."""
    costs = TrialCosts(outlay=100.0)
    assert costs.expected(BetaShare.of(Count(yes=yes, of=of))) == math.inf


# Hillier and Lieberman, Introduction to Operations Research, the case of the Hit-and-Miss company
# (both wordings read; answers worked by hand from the payoff table, as the exercise asks): lots of
# 150 with 5 % or 25 % defective; screening costs 10 an item, a defective let through 100.
# Prior 0.8: use at 0.8 x 750 + 0.2 x 3750 = 1350; known, 0.8 x 750 + 0.2 x 1500 = 900.
# One item: defective with 0.09, then screen (use would cost 2416.67); else use (1244.51).
# Prior 0.9: use at 1050; known 825; one item: defective 0.07, then use would cost 1821.43.
HIT_AND_MISS = {
    0.8: (450.0, 1350 - (0.09 * 1500 + (0.8 * 0.95 * 750 + 0.2 * 0.75 * 3750)), 0.09),
    0.9: (225.0, 1050 - (0.07 * 1500 + (0.9 * 0.95 * 750 + 0.1 * 0.75 * 3750)), 0.07),
}


@pytest.mark.parametrize(("prior", "answers"), HIT_AND_MISS.items())
def test_screening_a_lot(prior, answers) -> None:
    lot = WeightedShare(values=np.array([0.95, 0.75]), weights=np.array([prior, 1 - prior]))
    options = [
        certain("screen", -1500.0),
        Option(
            name="use",
            share="sound",
            payoff=lambda sound: -15_000 * (1 - sound),
            expected=lambda sound: -15_000 * (1 - sound.mean),
        ),
    ]
    perfect, one, chance = answers
    known_first = perfect_information(options, {"sound": lot})
    looked_at = sample_information(options, {"sound": lot}, {"sound": 1})
    assert known_first.value == pytest.approx(perfect)
    assert looked_at.value == pytest.approx(one)
    assert looked_at.chance_of_change == pytest.approx(chance)
    assert looked_at.best_now == "use"
    if prior == 0.8:
        assert looked_at.value == pytest.approx(82.5)
