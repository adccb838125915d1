"""What it would be worth to know every share before choosing."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.integrate import tanhsinh

from workbench.errors import Refusal
from workbench.inference.decision.options import (
    InformationValue,
    Option,
    best_of,
    check_options,
    expectations,
)
from workbench.inference.decision.uncertain_share import UncertainShare, WeightedShare
from workbench.inference.samples import Values

HALVINGS = 64
LEAST_EXPONENT = -1022.0


def perfect_information(
    options: Sequence[Option], beliefs: Mapping[str, UncertainShare]
) -> InformationValue:
    """Answer what knowing all shares before choosing would be worth.

    The most any inspection can be worth. The best payoff is below y where every option is, and the
    shares are independent, so its mean is an integral of the product of their distributions:
    a sum for shares that are weighted values, a quadrature for continuous ones.

    Parameters
    ----------
    options : sequence of Option
        What can be chosen; the payoff of each rises, or falls, with its share throughout.
    beliefs : mapping
        What is known of each share, by name: all of them weighted values, or none.

    Raises
    ------
    Refusal
        `no_option`, `unknown_share`, `no_finite_value`, `mixed_beliefs`, and `not_monotone` where
        a payoff turns with its share.

    Examples
    --------
    A coin of any bias whatever: take a bet that pays its bias less one half, or leave it.

    >>> from workbench.inference.decision.options import certain
    >>> from workbench.inference.decision.uncertain_share import BetaShare
    >>> bet = Option(name="bet", share="heads", payoff=lambda heads: heads - 0.5,
    ...              expected=lambda heads: heads.mean - 0.5)
    >>> found = perfect_information([certain("leave", 0), bet], {"heads": BetaShare(a=1, b=1)})
    >>> round(found.value, 10)
    0.125
    """
    check_options(options, beliefs)
    now = expectations(options, beliefs)
    best = best_of(now)
    known = max(
        (option.payoff(np.zeros(1))[0] for option in options if option.share is None),
        default=-math.inf,
    )
    payoffs = [
        _Payoff(options=tuple(option for option in options if option.share == name), belief=belief)
        for name, belief in beliefs.items()
        if any(option.share == name for option in options)
    ]
    weighted = [isinstance(payoff.belief, WeightedShare) for payoff in payoffs]
    if any(weighted) and not all(weighted):
        raise Refusal("mixed_beliefs", "Give every share as weighted values, or none.")
    mean = _mean_of_weighted if any(weighted) else _mean_of_continuous
    return InformationValue(
        value=max(0.0, mean(payoffs, known) - now[best]),
        error=0.0,
        best_now=options[best].name,
        value_now=now[best],
        chance_of_change=None,
        method="exact sum over the values" if any(weighted) else "quadrature",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Payoff:
    """The best that the options on one share pay, and what is known of that share."""

    options: tuple[Option, ...]
    belief: UncertainShare

    def at(self, share: Values) -> Values:
        """Give the best payoff for each known share."""
        payoffs = [option.payoff(share) for option in self.options]
        return np.asarray(np.max(payoffs, axis=0))

    def rises(self) -> bool:
        """Tell whether the payoff rises with the share, or refuse one that turns."""
        values = self.at(np.linspace(0.0, 1.0, 201))
        with np.errstate(invalid="ignore"):
            steps = np.nan_to_num(np.diff(values), nan=0.0)
        room = 1e-9 * max(1.0, float(np.ptp(values[np.isfinite(values)])))
        if bool(np.all(steps >= -room)):
            return True
        if bool(np.all(steps <= room)):
            return False
        raise Refusal("not_monotone", "A payoff both rises and falls with its share.")

    def chance_below(self, levels: Values, rises: bool) -> Values:
        """Give the chance that the payoff is a level or less, the share there by bisection.

        The exponent of the share is halved, so that a share next to nothing, where the payoff may
        fall without bound, is found as exactly as any.
        """
        low, high = np.full_like(levels, LEAST_EXPONENT), np.zeros_like(levels)
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            further = (self.at(np.exp2(middle)) <= levels) == rises
            low, high = np.where(further, middle, low), np.where(further, high, middle)
        below = self.belief.below(np.exp2((low + high) / 2))
        return below if rises else 1 - below


def _mean_of_weighted(payoffs: Sequence[_Payoff], known: float) -> float:
    """Sum over every value the best payoff can take."""
    levels, sums = [], []
    for payoff in payoffs:
        assert isinstance(payoff.belief, WeightedShare)
        values = payoff.at(payoff.belief.values)
        order = np.argsort(values)
        levels.append(values[order])
        sums.append(np.concatenate([[0.0], np.cumsum(payoff.belief.weights[order])]))
    at = np.unique(np.concatenate([*levels, [known]]))
    below = (at >= known).astype(float)
    for values, summed in zip(levels, sums, strict=True):
        below = below * summed[np.searchsorted(values, at, side="right")]
    weights = np.diff(np.concatenate([[0.0], below]))
    return float(at[weights > 0] @ weights[weights > 0])


def _mean_of_continuous(payoffs: Sequence[_Payoff], known: float) -> float:
    """Integrate: the mean is the upper end less the integral of the distribution below it."""
    if not payoffs:
        return known
    rising = [payoff.rises() for payoff in payoffs]
    ends = [np.sort(payoff.at(np.array([0.0, 1.0]))) for payoff in payoffs]
    bottom = max(known, *(float(end[0]) for end in ends))
    kinks = sorted({known, *(float(end[1]) for end in ends)} - {-math.inf})
    edges = [bottom, *(kink for kink in kinks if kink > bottom)]

    def below(levels: Values) -> Values:
        product = np.ones_like(levels)
        for payoff, rises in zip(payoffs, rising, strict=True):
            product = product * payoff.chance_below(levels, rises)
        return product

    area = sum(float(tanhsinh(below, low, high).integral) for low, high in pairwise(edges))
    return edges[-1] - area
