"""The value of information from joint draws of the shares, with the error of the simulation.

For shares that depend on one another, as those of two families judged by one fitted model do: what
is seen of one then tells something of the other. The draws are reweighted by the likelihood of
each count that could be seen, so that no simulation is nested in another (Menzies, N. A. (2016). An
efficient estimator for the expected value of sample information. Medical Decision Making 36,
308-320; the idea, from memory).
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from workbench.errors import Refusal
from workbench.inference.decision.options import (
    InformationValue,
    Option,
    best_of,
    check_options,
)
from workbench.inference.decision.sample_information import check_sample
from workbench.inference.decision.trial_costs import mean_that_holds
from workbench.inference.decision.uncertain_share import binomial_likelihood
from workbench.inference.samples import Values, clean_values

LEAST_DRAWS = 1000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class JointPayoffs:
    """What each option pays under joint draws of the shares.

    `payoffs` has an option a row, `means` what each pays on average, minus infinity where that
    hangs on a few draws; `best` is the place of the best of them.
    """

    names: tuple[str, ...]
    draws: Mapping[str, Values]
    payoffs: Values
    means: tuple[float, ...]
    best: int

    @classmethod
    def of(cls, options: Sequence[Option], draws: Mapping[str, Values]) -> JointPayoffs:
        """Work out what each option pays.

        Parameters
        ----------
        options : sequence of Option
            What can be chosen.
        draws : mapping
            Draws of each share, by name; draws at the same place belong together.

        Raises
        ------
        Refusal
            `no_option`, `unknown_share`, `bad_share`, `unequal_lengths`, `too_few` (1000 at
            least), `no_finite_value`.
        """
        check_options(options, draws)
        _check_draws(draws)
        any_share = next(iter(draws.values()))
        payoffs = np.array(
            [
                option.payoff(any_share if option.share is None else draws[option.share])
                for option in options
            ]
        )
        means = tuple(_mean_payoff(row) for row in payoffs)
        return cls(
            names=tuple(option.name for option in options),
            draws=draws,
            payoffs=payoffs,
            means=means,
            best=best_of(means),
        )

    def value(self, gain: Values, changed: float) -> InformationValue:
        """Give the value of what gains so much in each draw, and changes the choice so often."""
        return InformationValue(
            value=float(gain.mean()),
            error=float(gain.std(ddof=1) / math.sqrt(gain.size)),
            best_now=self.names[self.best],
            value_now=self.means[self.best],
            chance_of_change=changed,
            method=f"{gain.size} joint draws",
        )


def simulated_perfect_information(known: JointPayoffs) -> InformationValue:
    """Answer what knowing all shares before choosing would be worth, from joint draws."""
    payoffs, best = known.payoffs, known.best
    chosen = np.argmax(payoffs, axis=0)
    gain = payoffs.max(axis=0) - payoffs[best]
    return known.value(gain, float(np.mean((gain > 0) & (chosen != best))))


def simulated_sample_information(
    known: JointPayoffs, sample: Mapping[str, int]
) -> InformationValue:
    """Answer what seeing some further trials first is worth, from joint draws.

    Parameters
    ----------
    known
        What each option pays.
    sample : mapping
        How many further trials of which share are seen; 0 is the same as left out.

    Raises
    ------
    Refusal
        `bad_count`, `unknown_share`.
    """
    payoffs, best, draws = known.payoffs, known.best, known.draws
    looked_at = check_sample(sample, draws)
    gain = np.zeros(payoffs.shape[1])
    changed = 0.0
    for counts in itertools.product(*(range(n + 1) for n in looked_at.values())):
        likely = np.ones(payoffs.shape[1])
        for (name, n), passed in zip(looked_at.items(), counts, strict=True):
            likely = likely * binomial_likelihood(passed, n, draws[name])
        if not likely.any():
            continue
        weighted = np.where(likely > 0, likely * np.where(likely > 0, payoffs, 0.0), 0.0)
        chosen = best_of(list(weighted.mean(axis=1)), keep=best)
        if chosen != best:
            gain += weighted[chosen] - weighted[best]
            changed += float(likely.mean())
    return known.value(gain, changed)


def _check_draws(draws: Mapping[str, Values]) -> None:
    sizes = {
        name: clean_values(row, least=LEAST_DRAWS, name=name).size for name, row in draws.items()
    }
    if len(set(sizes.values())) != 1:
        raise Refusal("unequal_lengths", f"Joint draws come in equal numbers, not {sizes}.")
    for name, row in draws.items():
        if row.min() < 0 or row.max() > 1:
            raise Refusal("bad_share", f"The draws of “{name}” must lie from 0 to 1.")


def _mean_payoff(draws: Values) -> float:
    """Give a mean over draws, minus infinity where it hangs on a few of them: not to be chosen."""
    try:
        return mean_that_holds(draws)[0]
    except Refusal:
        return -math.inf
