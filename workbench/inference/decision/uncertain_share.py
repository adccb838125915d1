"""What is known of a share, from few trials or from a model: a distribution over 0 to 1.

Inspecting blocks one after another, each fit with the same unknown chance, moves a beta
distribution to another (conjugate), and reweights draws that came from a model. Both answer the
same questions, so that what is built on them need not know which it has.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import betainc, betaincinv, betaln, gammaln, hyp2f1, xlog1py, xlogy

from workbench.errors import Refusal
from workbench.inference.samples import Values, clean_values
from workbench.inference.shares.count import Count

JEFFREYS = 0.5


class UncertainShare(Protocol):
    """A share of which only a distribution is known."""

    @property
    def mean(self) -> float:
        """The expected share: the chance that the next trial passes."""
        ...

    def quantile(self, share: ArrayLike) -> Values:
        """Give the shares below which so much of the distribution lies."""
        ...

    def below(self, limit: ArrayLike) -> Values:
        """Give the chance that the share is `limit` or less."""
        ...

    def draw(self, generator: np.random.Generator, size: int) -> Values:
        """Give `size` independent draws."""
        ...

    def outcome_chances(self, trials: int, most: int | None = None) -> Values:
        """Give the chance of 0, 1, ... `most` passes (all counts when left out) in `trials`."""
        ...

    def after(self, count: Count) -> UncertainShare:
        """Give what is known once `count.yes` of `count.of` further trials have passed."""
        ...

    def all_fail(self, trials: ArrayLike) -> Values:
        """Give the chance that none of the next `trials` trials passes: E (1 - share)^trials."""
        ...

    def expected_trials(self, rescued: float = 0.0) -> float:
        """Give E 1 / (share + (1 - share) rescued), infinite where there is no such mean."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class BetaShare:
    """A beta distribution: as if `a` trials had passed and `b` had failed.

    Examples
    --------
    Seventeen of twenty passed; one over the share is expected to be

    >>> round(BetaShare.of(Count(yes=17, of=20)).expected_trials(), 4)
    1.2121
    """

    a: float
    b: float

    def __post_init__(self) -> None:
        """Refuse weights that are not above 0."""
        if not (self.a > 0 and self.b > 0 and math.isfinite(self.a + self.b)):
            raise Refusal("bad_prior", f"A beta needs weights above 0, not {self.a} and {self.b}.")

    @classmethod
    def of(cls, count: Count, prior: tuple[float, float] = (JEFFREYS, JEFFREYS)) -> BetaShare:
        """Give what a count tells, from Jeffreys' prior or one of your own."""
        return cls(a=prior[0] + count.yes, b=prior[1] + count.of - count.yes)

    @property
    def mean(self) -> float:
        """The expected share."""
        return self.a / (self.a + self.b)

    def quantile(self, share: ArrayLike) -> Values:
        """Give the shares below which so much of the distribution lies."""
        return np.asarray(betaincinv(self.a, self.b, share), dtype=float)

    def below(self, limit: ArrayLike) -> Values:
        """Give the chance that the share is `limit` or less."""
        return np.asarray(betainc(self.a, self.b, limit), dtype=float)

    def draw(self, generator: np.random.Generator, size: int) -> Values:
        """Give `size` independent draws."""
        return generator.beta(self.a, self.b, size)

    def outcome_chances(self, trials: int, most: int | None = None) -> Values:
        """Give the beta-binomial chances of 0 to `most` passes in `trials`."""
        x = np.arange((trials if most is None else most) + 1)
        ways = gammaln(trials + 1) - gammaln(x + 1) - gammaln(trials - x + 1)
        chances = ways + betaln(self.a + x, self.b + trials - x) - betaln(self.a, self.b)
        return np.asarray(np.exp(chances))

    def after(self, count: Count) -> BetaShare:
        """Give the conjugate posterior."""
        return BetaShare(a=self.a + count.yes, b=self.b + count.of - count.yes)

    def all_fail(self, trials: ArrayLike) -> Values:
        """Give B(a, b + n) / B(a, b)."""
        n = np.asarray(trials, dtype=float)
        return np.asarray(np.exp(betaln(self.a, self.b + n) - betaln(self.a, self.b)))

    def expected_trials(self, rescued: float = 0.0) -> float:
        """Give (a + b - 1) / (a - 1), or with rescued trials 2F1(1, b; a + b; 1 - rescued).

        The series is the sum over n of (1 - rescued)^n E (1 - share)^n. Without rescue it has no
        finite sum unless a is above 1.
        """
        if rescued == 0:
            return (self.a + self.b - 1) / (self.a - 1) if self.a > 1 else math.inf
        return float(hyp2f1(1, self.b, self.a + self.b, 1 - rescued))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WeightedShare:
    """Shares with weights: draws from a model, or the few values a share can have.

    `values` lie from 0 to 1; `weights` are scaled to sum to 1, and are equal when left out.

    Raises
    ------
    Refusal
        `too_few`, `not_finite`, `bad_share`, `bad_weights`.
    """

    values: Values = field(repr=False)
    weights: Values = field(default_factory=lambda: np.empty(0), repr=False)

    def __post_init__(self) -> None:
        """Check, sort by value, and scale the weights."""
        values = clean_values(self.values, name="the shares")
        if values.min() < 0 or values.max() > 1:
            raise Refusal(
                "bad_share", f"Shares lie from 0 to 1, not {values.min():g} to {values.max():g}."
            )
        weights = np.asarray(self.weights, dtype=float)
        if weights.size == 0:
            weights = np.ones_like(values)
        if weights.shape != values.shape or not bool(np.all(weights >= 0) and weights.sum() > 0):
            raise Refusal("bad_weights", "Each share needs a weight of 0 or more, not all 0.")
        order = np.argsort(values, kind="stable")
        object.__setattr__(self, "values", values[order])
        object.__setattr__(self, "weights", weights[order] / weights.sum())

    @property
    def mean(self) -> float:
        """The expected share."""
        return float(self.weights @ self.values)

    def quantile(self, share: ArrayLike) -> Values:
        """Give the least shares at or below which so much of the weight lies."""
        reached = np.searchsorted(np.cumsum(self.weights), np.asarray(share) - 1e-12)
        return self.values[np.minimum(reached, self.values.size - 1)]

    def below(self, limit: ArrayLike) -> Values:
        """Give the weight of the shares that are `limit` or less."""
        sums = np.concatenate([[0.0], np.cumsum(self.weights)])
        return sums[np.searchsorted(self.values, limit, side="right")]

    def draw(self, generator: np.random.Generator, size: int) -> Values:
        """Give `size` independent draws, with replacement."""
        return generator.choice(self.values, size, p=self.weights)

    def outcome_chances(self, trials: int, most: int | None = None) -> Values:
        """Give the weighted binomial chances of 0 to `most` passes in `trials`."""
        counts = range((trials if most is None else most) + 1)
        return np.array(
            [self.weights @ binomial_likelihood(x, trials, self.values) for x in counts]
        )

    def after(self, count: Count) -> WeightedShare:
        """Reweight by the likelihood of the count."""
        likely = binomial_likelihood(count.yes, count.of, self.values)
        if not bool((self.weights * likely).sum() > 0):
            raise Refusal(
                "impossible_count",
                f"No share held possible could give {count.yes} passes of {count.of}.",
            )
        return WeightedShare(values=self.values, weights=self.weights * likely)

    def all_fail(self, trials: ArrayLike) -> Values:
        """Give the weighted mean of (1 - share)^trials."""
        n = np.asarray(trials, dtype=float)
        return np.asarray((1 - self.values) ** n[..., None] @ self.weights)

    def expected_trials(self, rescued: float = 0.0) -> float:
        """Give the weighted mean of 1 / (share + (1 - share) rescued)."""
        usable = self.values + (1 - self.values) * rescued
        held = self.weights > 0
        if bool(np.any(usable[held] == 0)):
            return math.inf
        return float(self.weights[held] @ (1 / usable[held]))


def binomial_likelihood(passed: int, trials: int, shares: Values) -> Values:
    """Give the binomial chance of `passed` in `trials` under each share."""
    ways = gammaln(trials + 1) - gammaln(passed + 1) - gammaln(trials - passed + 1)
    rate = xlogy(passed, shares) + xlog1py(trials - passed, -shares)
    return np.asarray(np.exp(ways + rate))
