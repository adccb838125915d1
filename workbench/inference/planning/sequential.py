"""Looking as one goes: bounds that keep the false-alarm rate over several looks at growing data.

A spending function says how much of the permitted false alarms may be used up when a given share
of the information is in; the bounds follow look by look, whatever the later looks will be. Shops
measure one block at a time: looking after each without such bounds multiplies the false alarms.

The scores at the looks are Brownian motion watched at the shares of information; the density on
the way that was not yet stopped is carried from look to look by numerical integration. With few
degrees of freedom a look's bound is applied to t as a nominal p (`nominal`): looking after each of
3 to 12 blocks a side, a nominal 5 % of false alarms is then 5.4 % (O'Brien-Fleming type) and 5.7 %
(Pocock type), simulated.

References
----------
Lan, K. K. G. and DeMets, D. L. (1983). Discrete sequential boundaries for clinical trials.
Biometrika 70, 659-663; Armitage, P., McPherson, C. K. and Rowe, B. C. (1969). Repeated significance
tests on accumulating data. Journal of the Royal Statistical Society A 132, 235-244; Jennison, C.
and Turnbull, B. W. (2000). Group Sequential Methods with Applications to Clinical Trials, chapters
3, 7, 9 and 19. All from memory.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
from scipy.special import ndtr, ndtri

from workbench.errors import Refusal
from workbench.inference.noncentral import Values, legendre
from workbench.inference.planning.aims import check_power
from workbench.inference.results import Difference, Interval, check_confidence
from workbench.inference.roots import root_between

Spending = Literal["obrien-fleming", "pocock"]
SPENDING: tuple[Spending, ...] = ("obrien-fleming", "pocock")
FURTHEST = 9.0  # standard deviations, beyond which nothing is left
LEAST_SPENT = 1e-14  # of one tail, below which a look has no bound
NODES_A_STEP = 5  # nodes on the length of a look's standard deviation
FEWEST_NODES, MOST_NODES = 48, 800


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossing:
    """The chance of stopping first at each look, above the upper or below the lower bound.

    `information` is the share of the full information used on average.
    """

    above: tuple[float, ...]
    below: tuple[float, ...]
    information: float

    @property
    def either(self) -> float:
        """The chance of crossing a bound at any look."""
        return sum(self.above) + sum(self.below)


@dataclass(frozen=True, slots=True, kw_only=True)
class SequentialPlan:
    """Looks at shares of the information, with bounds alike on both sides.

    `bounds` are for z (infinite where next to nothing may be spent yet); `nominal` are the
    two-sided p-values they stand for, to be used with t; `spent` is the false-alarm rate used up,
    both sides together.
    """

    fractions: tuple[float, ...]
    bounds: tuple[float, ...]
    nominal: tuple[float, ...]
    spent: tuple[float, ...]
    spending: Spending
    confidence: float

    def interval(self, difference: Difference, look: int) -> Interval:
        """Give the interval that may be read at this look (from 1) together with all others."""
        if not 1 <= look <= len(self.nominal):
            raise Refusal("no_look", f"The looks are 1 to {len(self.nominal)}, not {look}.")
        nominal = self.nominal[look - 1]
        if nominal < LEAST_SPENT:
            return Interval(low=-math.inf, high=math.inf, confidence=self.confidence)
        ends = difference.interval(1 - nominal)
        return Interval(low=ends.low, high=ends.high, confidence=self.confidence)

    def crossing(self, drift: float) -> Crossing:
        """Give the chances of stopping if z has the expectation `drift` at full information."""
        path = _Path(drift)
        above, below, information, going = [], [], 0.0, 1.0
        for fraction, bound in zip(self.fractions, self.bounds, strict=True):
            path.look(fraction)
            over, under = path.beyond(bound)
            path.stop(bound)
            above.append(over)
            below.append(under)
            information += fraction * (over + under)
            going -= over + under
        return Crossing(
            above=tuple(above),
            below=tuple(below),
            information=information + going * self.fractions[-1],
        )

    def power(self, drift: float) -> float:
        """Give the chance that a bound on the side of `drift` is crossed."""
        found = self.crossing(abs(drift))
        return sum(found.above)

    def drift_for(self, power: float) -> float:
        """Give the expectation of z at full information with which `power` is reached."""
        check_power(power)
        level = (1 - self.confidence) / 2
        if power <= level:
            return 0.0
        start = float(ndtri(1 - level) + ndtri(power))
        return root_between(
            lambda drift: self.power(drift) - power, 0.0, start + 3.0, absolute=1e-10
        )

    def inflation(self, power: float = 0.8) -> float:
        """Give how many times the blocks of a plan of one look the last look needs for `power`."""
        fixed = float(ndtri((1 + self.confidence) / 2) + ndtri(power))
        return (self.drift_for(power) / fixed) ** 2 * self.fractions[-1]


def sequential_plan(
    fractions: Sequence[float], *, spending: Spending = "obrien-fleming", confidence: float = 0.95
) -> SequentialPlan:
    """Answer at which bounds one may stop, looking several times.

    Parameters
    ----------
    fractions : sequence of float
        The share of the full information at each look, rising, the last at most 1. With blocks
        alike: blocks measured over blocks planned (of both families in step). Looks need not be
        planned beforehand: bounds of earlier looks do not depend on later ones.
    spending : {"obrien-fleming", "pocock"}
        The first is strict at first and leaves the last look nearly its full level; the second
        spends about alike at every look.
    confidence : float
        Of the whole, two-sided.

    Returns
    -------
    SequentialPlan

    Raises
    ------
    Refusal
        `bad_looks` unless the shares rise from above 0 to at most 1; `bad_choice`,
        `bad_confidence`.

    Examples
    --------
    >>> plan = sequential_plan([0.2, 0.4, 0.6, 0.8, 1.0])
    >>> [round(bound, 3) for bound in plan.bounds]
    [4.877, 3.357, 2.68, 2.29, 2.031]
    """
    check_confidence(confidence)
    spending_named(spending)
    looks = [float(fraction) for fraction in fractions]
    if not looks or looks[0] <= 0 or looks[-1] > 1 or not _rising(looks):
        raise Refusal(
            "bad_looks",
            f"Looks come at rising shares of the information, above 0 and at most 1; not {looks}.",
        )
    level = (1 - confidence) / 2
    path, before = _Path(0.0), 0.0
    bounds, spent = [], []
    for fraction in looks:
        path.look(fraction)
        due = spent_by(fraction, level, spending)
        bound = path.bound(due - before)
        if math.isfinite(bound):
            before = due
        path.stop(bound)
        bounds.append(bound)
        spent.append(2 * before)
    return SequentialPlan(
        fractions=tuple(looks),
        bounds=tuple(bounds),
        nominal=tuple(float(2 * ndtr(-bound)) for bound in bounds),
        spent=tuple(spent),
        spending=spending,
        confidence=confidence,
    )


def spending_named(name: str) -> Spending:
    """Give the way of spending of that name, or refuse it (`bad_choice`)."""
    for known in SPENDING:
        if name == known:
            return known
    raise Refusal("bad_choice", f"spending is one of {', '.join(SPENDING)}, not {name!r}.")


def spent_by(fraction: float, level: float, spending: Spending) -> float:
    """Give what may be spent of the one-sided `level` when a share of the information is in."""
    if spending == "pocock":
        return level * math.log1p((math.e - 1) * fraction)
    return float(2 * ndtr(float(ndtri(level / 2)) / math.sqrt(fraction)))


class _Path:
    """The score on its way: its density at nodes between the bounds of the last look."""

    def __init__(self, drift: float) -> None:
        self.drift, self.fraction = drift, 0.0
        self.step = 0.0
        self.nodes, self.mass = np.zeros(1), np.ones(1)

    def look(self, fraction: float) -> None:
        """Move on to the next look."""
        self.step, self.fraction = fraction - self.fraction, fraction

    def beyond(self, bound: float) -> tuple[float, float]:
        """Give the chances that z lies above `bound`, and below minus it, at this look."""
        if not math.isfinite(bound):
            return 0.0, 0.0
        limit = bound * math.sqrt(self.fraction)
        ahead, spread = self.nodes + self.drift * self.step, math.sqrt(self.step)
        above = float(self.mass @ ndtr((ahead - limit) / spread))
        return above, float(self.mass @ ndtr((-limit - ahead) / spread))

    def bound(self, due: float) -> float:
        """Give the bound for z above which the chance is `due`; for a path without drift."""
        if due < LEAST_SPENT:
            return math.inf
        return root_between(
            lambda bound: self.beyond(bound)[0] - due, 0.0, FURTHEST + 3.0, absolute=1e-12
        )

    def stop(self, bound: float) -> None:
        """Keep what lies between the bounds, as mass at new nodes."""
        middle, spread = self.drift * self.fraction, math.sqrt(self.fraction)
        high = min(bound * spread, middle + FURTHEST * spread)
        low = max(-bound * spread, middle - FURTHEST * spread)
        if high <= low:
            self.nodes, self.mass = np.zeros(1), np.zeros(1)
            return
        step = math.sqrt(self.step)
        count = int(np.clip(NODES_A_STEP * (high - low) / step, FEWEST_NODES, MOST_NODES))
        x, weights = legendre(count)
        nodes: Values = low + (high - low) * (x + 1) / 2
        apart = (nodes[:, None] - self.nodes - self.drift * self.step) / step
        density = np.exp(-(apart**2) / 2) @ self.mass / (step * math.sqrt(2 * math.pi))
        self.nodes, self.mass = nodes, density * weights * (high - low) / 2


def _rising(looks: Sequence[float]) -> bool:
    return all(first < second for first, second in pairwise(looks))
