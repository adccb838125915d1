"""How often a random candidate exceeds a random reference, whatever the shapes: Brunner-Munzel.

`relative_effect` gives the chance itself, `shift_by_effect` the shift that would make it one half.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import stdtr, stdtrit
from scipy.stats import rankdata

from workbench.errors import Refusal
from workbench.inference.results import Interval, check_confidence
from workbench.inference.samples import Values, clean_values, settled

LEAST_BLOCKS = 10
MOST_PAIRS = 10_000
ROUNDING = 1e-10


@dataclass(frozen=True, slots=True, kw_only=True)
class RelativeEffect:
    """P(candidate > reference) + P(equal) / 2: one half when neither tends to be larger."""

    estimate: float
    standard_error: float
    degrees_of_freedom: float

    def statistic(self, probability: float = 0.5) -> float:
        """Give t for the boundary `probability`."""
        return (self.estimate - probability) / self.standard_error

    def p_value(self, probability: float = 0.5) -> float:
        """Give the two-sided p of the boundary `probability`."""
        return float(2 * stdtr(self.degrees_of_freedom, -abs(self.statistic(probability))))

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give the interval by Student's t, kept within 0 and 1."""
        check_confidence(confidence)
        t = float(stdtrit(self.degrees_of_freedom, (1 + confidence) / 2))
        half = t * self.standard_error
        return Interval(
            low=max(0.0, self.estimate - half),
            high=min(1.0, self.estimate + half),
            confidence=confidence,
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EffectShift:
    """The shift of the candidate at which neither family tends to be larger.

    `steps` are the differences of all pairs, the only shifts at which the test changes. `above`
    and `below` are its one-sided p before the first of them, at it, between it and the next, and
    so on; made monotone, so that p and interval agree. Shifts as `near` as that are the same.
    """

    estimate: float
    steps: Values
    above: Values
    below: Values
    near: float

    def p_value(self, margin: float = 0.0) -> float:
        """Give the two-sided p of the shift `margin`: twice the smaller tail."""
        return min(1.0, 2 * min(self.p_above(margin), self.p_below(margin)))

    def p_above(self, margin: float) -> float:
        """Give the one-sided p against 'the shift is `margin` or less'."""
        return float(self.above[self._place(margin)])

    def p_below(self, margin: float) -> float:
        """Give the one-sided p against 'the shift is `margin` or more'."""
        return float(self.below[self._place(margin)])

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give the shifts the test does not refuse, from one difference of a pair to another."""
        check_confidence(confidence)
        tail = (1 - confidence) / 2
        first = int(np.argmax(self.above >= tail))
        last = self.below.size - 1 - int(np.argmax(self.below[::-1] >= tail))
        return Interval(low=self._end(first, -1), high=self._end(last, 1), confidence=confidence)

    def _end(self, place: int, side: int) -> float:
        """Give the end at a place: a step that is not refused, with what is as near as rounding.

        Where a step is refused and what follows is not, the end lies just beyond it.
        """
        if place in (0, self.above.size - 1):
            return side * math.inf
        if place % 2:
            return float(self.steps[place // 2]) + side * self.near
        return float(self.steps[place // 2 - (side < 0)]) - side * self.near

    def _place(self, margin: float) -> int:
        at = int(np.searchsorted(self.steps, margin - self.near, side="left"))
        exact = at < self.steps.size and abs(float(self.steps[at]) - margin) <= self.near
        return 2 * at + (1 if exact else 0)


def shift_by_effect(candidate: ArrayLike, reference: ArrayLike) -> EffectShift:
    """Answer by how much the candidate is shifted, whatever the two shapes and spreads.

    A shift is refused where, the candidate less the shift, a random candidate block would exceed a
    random reference block more, or less, often than not by Brunner and Munzel's test.

    Parameters
    ----------
    candidate, reference : array_like
        One number a block, ten blocks or more each, blocks independent; up to 10 000 pairs.

    Raises
    ------
    Refusal
        `too_few` below ten blocks, where the test is not to be trusted; `too_many`; `not_finite`.

    References
    ----------
    As `relative_effect`; the interval by inverting the test.
    """
    own = np.sort(clean_values(candidate, least=LEAST_BLOCKS, name="the candidate"))
    other = np.sort(clean_values(reference, least=LEAST_BLOCKS, name="the reference"))
    if own.size * other.size > MOST_PAIRS:
        raise Refusal(
            "too_many",
            f"{own.size} and {other.size} blocks make more than {MOST_PAIRS} pairs; the other "
            "analyses by ranks do as well with so many.",
        )
    apart = np.sort(np.subtract.outer(own, other), axis=None)
    near = _near(own, other)
    steps = apart[np.diff(apart, prepend=-math.inf) > near]
    middles = (steps[1:] + steps[:-1]) / 2
    reach = max(float(steps[-1] - steps[0]), 10 * near)
    shifts = np.empty(2 * steps.size + 1)
    shifts[1::2] = steps
    shifts[2:-1:2] = middles
    shifts[[0, -1]] = steps[0] - reach, steps[-1] + reach
    above = _p_above(own, other, shifts, near)
    return EffectShift(
        estimate=float(np.median(apart)),
        steps=steps,
        above=np.maximum.accumulate(above),
        below=np.maximum.accumulate((1 - above)[::-1])[::-1],
        near=near,
    )


def _near(own: Values, other: Values) -> float:
    """Give how near two numbers are that differ by rounding alone."""
    largest = max(float(np.abs(own).max()), float(np.abs(other).max()))
    return ROUNDING * largest or math.ulp(0.0)


def _p_above(own: Values, other: Values, shifts: Values, near: float) -> Values:
    """Give the one-sided p against each shift 'or less', by the placements at that shift."""
    own_places = _placed(own[None, :] - shifts[:, None], other, near)
    other_places = _placed(other[None, :] + shifts[:, None], own, near)
    own_part = own_places.var(axis=1, ddof=1) / own.size
    other_part = other_places.var(axis=1, ddof=1) / other.size
    variance = own_part + other_part
    apart = own_places.mean(axis=1) - 0.5
    told = variance > 0
    freedom = np.ones_like(variance)
    freedom[told] = variance[told] ** 2 / (
        own_part[told] ** 2 / (own.size - 1) + other_part[told] ** 2 / (other.size - 1)
    )
    t = np.where(apart > 0, math.inf, np.where(apart < 0, -math.inf, 0.0))
    t[told] = apart[told] / np.sqrt(variance[told])
    p_values: Values = stdtr(freedom, -t)
    return p_values


def _placed(values: Values, among: Values, near: float) -> Values:
    """Give the share of the other family each value exceeds, ties counting half."""
    lower = np.searchsorted(among, values - near, side="left")
    upper = np.searchsorted(among, values + near, side="right")
    placed: Values = (lower + upper) / 2 / among.size
    return placed


def relative_effect(candidate: ArrayLike, reference: ArrayLike) -> RelativeEffect:
    """Answer how often a random candidate block exceeds a random reference block.

    Spreads and shapes may differ, and ties may be many; about ten blocks a family are needed for
    the t approximation to hold.

    Parameters
    ----------
    candidate, reference : array_like
        One number a block, two blocks or more each, blocks independent.

    Raises
    ------
    Refusal
        `fully_apart` when every candidate lies on one side of every reference: the standard error
        is then 0 and says nothing (`mann_whitney` still answers); `too_few`, `not_finite`.

    References
    ----------
    Brunner, E., Munzel, U. (2000). The nonparametric Behrens-Fisher problem: asymptotic theory and
    a small-sample approximation. Biometrical Journal 42, 17-25 (from memory).

    Examples
    --------
    >>> usual = [1, 2, 1, 1, 1, 1, 1, 1, 1, 1, 2, 4, 1, 1]
    >>> newer = [3, 3, 4, 3, 1, 2, 3, 1, 1, 5, 4]
    >>> found = relative_effect(newer, usual)
    >>> f"{found.estimate:.3f}, {found.degrees_of_freedom:.2f} df, p = {found.p_value():.6f}"
    '0.789, 17.68 df, p = 0.005786'
    """
    own = clean_values(candidate, least=2, name="the candidate")
    other = clean_values(reference, least=2, name="the reference")
    m, n = own.size, other.size
    together = settled(np.concatenate([own, other]))
    ranks = rankdata(together)
    # Placements: the share of the other family each block exceeds.
    own_places = (ranks[:m] - rankdata(together[:m])) / n
    other_places = (ranks[m:] - rankdata(together[m:])) / m
    own_part, other_part = own_places.var(ddof=1) / m, other_places.var(ddof=1) / n
    variance = float(own_part + other_part)
    if variance == 0:
        raise Refusal(
            "fully_apart",
            "The placements do not vary (every candidate stands alike to every reference), "
            "so the standard error is 0.",
        )
    return RelativeEffect(
        estimate=float(own_places.mean()),
        standard_error=math.sqrt(variance),
        degrees_of_freedom=float(variance**2 / (own_part**2 / (m - 1) + other_part**2 / (n - 1))),
    )
