"""Intervals of sums and differences of mean squares, where variance components come from.

A mean square S with n degrees of freedom estimates an expected mean square; n S over it is
chi-square. Variance components of a balanced study are differences of expected mean squares, for
which no exact interval exists. The modified large-sample interval is exact when only one mean
square has weight, and holds its confidence closely otherwise.

References
----------
Graybill & Wang (1980), Journal of the American Statistical Association 75:869-873 (sums); Ting,
Burdick, Graybill, Jeyaratnam & Lu (1990), Journal of Statistical Computation and Simulation
35:135-143 (differences); Weerahandi (1993), Journal of the American Statistical Association
88:899-905 (generalized intervals). Formulas from memory; held to exact cases and by simulation.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from scipy.special import chdtri, fdtri

from workbench.errors import Refusal
from workbench.inference.results import Interval, check_confidence
from workbench.inference.samples import Values


@dataclass(frozen=True, slots=True, kw_only=True)
class MeanSquare:
    """A line of an analysis of variance."""

    value: float
    degrees_of_freedom: int

    def __post_init__(self) -> None:
        """Refuse a line without freedom."""
        if not (self.value >= 0 and math.isfinite(self.value)):
            raise Refusal("bad_mean_square", f"A mean square is 0 or more, not {self.value}.")
        if self.degrees_of_freedom < 1:
            raise Refusal(
                "no_degrees_of_freedom",
                f"A mean square needs a degree of freedom, not {self.degrees_of_freedom}.",
            )


Terms = Sequence[tuple[float, MeanSquare]]


def combined(terms: Terms) -> float:
    """Give the sum of coefficient times mean square; below 0 where a difference came out so."""
    return sum(coefficient * square.value for coefficient, square in terms)


def combination_interval(terms: Terms, confidence: float = 0.95) -> Interval:
    """Give the modified large-sample interval of a sum of expected mean squares.

    `terms` are (coefficient, mean square); coefficients may be negative. The ends may lie below 0:
    a variance ends at 0.
    """
    check_confidence(confidence)
    tail = (1 - confidence) / 2
    plus = [(c, s) for c, s in terms if c > 0]
    minus = [(-c, s) for c, s in terms if c < 0]
    if not plus:
        raise Refusal("bad_combination", "A combination of mean squares needs a positive term.")
    estimate = combined(terms)
    below = _spread(plus, minus, _shrink, _stretch, tail)
    # Upwards the two sides change places, for an interval is that of minus the combination.
    above = _spread(plus, minus, _stretch, _shrink, tail)
    return Interval(
        low=estimate - math.sqrt(max(0.0, below)),
        high=estimate + math.sqrt(max(0.0, above)),
        confidence=confidence,
    )


def generalized_interval(
    squares: Mapping[str, MeanSquare],
    figure: Callable[[Mapping[str, Values]], Values],
    *,
    generator: np.random.Generator,
    confidence: float = 0.95,
    draws: int = 20_000,
) -> Interval:
    """Give the generalized interval of any figure of expected mean squares, by simulation.

    Each expected mean square is drawn as n S / chi-square(n); `figure` turns the draws into draws
    of the figure, of which equal tails are cut off.
    """
    check_confidence(confidence)
    drawn = {
        name: square.degrees_of_freedom
        * square.value
        / generator.chisquare(square.degrees_of_freedom, draws)
        for name, square in squares.items()
    }
    tail = (1 - confidence) / 2
    low, high = np.quantile(figure(drawn), [tail, 1 - tail])
    return Interval(low=float(low), high=float(high), confidence=confidence)


def _shrink(n: float, tail: float) -> float:
    """Give how far below its mean square an expected one may lie, as a share: G."""
    return 1 - n / float(chdtri(n, tail))


def _stretch(n: float, tail: float) -> float:
    """Give how far above: H."""
    return n / float(chdtri(n, 1 - tail)) - 1


def _spread(
    plus: Terms,
    minus: Terms,
    of_plus: Callable[[float, float], float],
    of_minus: Callable[[float, float], float],
    tail: float,
) -> float:
    down = of_plus is _shrink
    total = 0.0
    for side, bound in ((plus, of_plus), (minus, of_minus)):
        total += sum((bound(s.degrees_of_freedom, tail) * c * s.value) ** 2 for c, s in side)
    for c, s in plus:
        for d, t in minus:
            n, m = s.degrees_of_freedom, t.degrees_of_freedom
            f = float(fdtri(n, m, 1 - tail if down else tail))
            cross = ((f - 1) ** 2 - (of_plus(n, tail) * f) ** 2 - of_minus(m, tail) ** 2) / f
            total += cross * c * d * s.value * t.value
    # Terms between mean squares of the side that shrinks, only where the two sides meet.
    shrinking = plus if down else minus
    if minus and len(shrinking) > 1:
        for (c, s), (d, t) in combinations(shrinking, 2):
            n, m = s.degrees_of_freedom, t.degrees_of_freedom
            both = (_shrink(n + m, tail) * (n + m)) ** 2 / (n * m)
            own = _shrink(n, tail) ** 2 * n / m + _shrink(m, tail) ** 2 * m / n
            total += (both - own) / (len(shrinking) - 1) * c * d * s.value * t.value
    return total
