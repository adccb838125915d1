"""Tolerance and prediction limits for the next block, when readings lie in bores of blocks."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from workbench.errors import Refusal
from workbench.inference.distributions.inverse import inverse
from workbench.inference.estimates import Estimate
from workbench.inference.nested.nested_study import NestedSquares, ParameterDraws
from workbench.inference.results import check_confidence
from workbench.inference.tolerance.limits import ToleranceInterval, check_asked

Values = NDArray[np.float64]

LEVELS = {
    "block": ("block",),
    "bore": ("block", "bore"),
    "place": ("block", "bore", "place"),
}
WORDS = {
    "block": "the mean of a block",
    "bore": "the mean of a bore",
    "place": "a single place",
}
LEAST_DEVIATION = 1e-12  # of the spread of block means


def nested_tolerance(
    squares: NestedSquares,
    what: str,
    *,
    coverage: float = 0.95,
    confidence: float = 0.95,
    side: str = "lower",
    seed: int,
    place: str | None = None,
    error_variance: float = 0.0,
    draws: int = 20_000,
) -> ToleranceInterval:
    """Answer between which limits a share of all blocks, bores or places of the family lies.

    Parameters
    ----------
    squares : NestedSquares
        From `squares.nested_squares`, or as printed.
    what : {"block", "bore", "place"}
        The mean of the next block, the mean of a bore of the next block, or a single place of it.
    coverage, confidence : float
        From 0 to 1.
    side : {"lower", "upper", "both"}
    seed : int
        Of the draws.
    place : str, optional
        For "place": one place of the pattern; any place of it, all alike likely, when left out.
    error_variance : float
        The variance of repeated readings at one place, taken off that of places: limits are then
        for the iron, not for a reading of it.
    draws : int

    Raises
    ------
    Refusal
        `unknown_level`, `unknown_place`, `bad_coverage`, `unknown_side`, `bad_variance`.

    References
    ----------
    Krishnamoorthy, K., Mathew, T. (2009). Statistical Tolerance Regions, sections 5.3 and 6.2;
    Liao, C. T., Lin, T. Y., Iyer, H. K. (2005). One- and two-sided tolerance intervals for general
    balanced mixed models and unbalanced one-way random models. Technometrics 47, 323-335 (both from
    memory). Coverage is held by simulation.
    """
    check_asked(coverage, confidence, side)
    drawn = squares.draws(draws, np.random.default_rng(seed))
    spread = _spread(squares, drawn, what, place, error_variance)
    centre = squares.mean + _centre(squares, what, place)
    if side == "both":
        reach = float(np.quantile(spread.half_widths(centre, coverage), confidence))
        low, high = centre - reach, centre + reach
    else:
        low, high = -math.inf, math.inf
        if side == "lower":
            low = float(np.quantile(spread.quantiles(1 - coverage), 1 - confidence))
        else:
            high = float(np.quantile(spread.quantiles(coverage), confidence))
    return ToleranceInterval(
        low=low,
        high=high,
        coverage=coverage,
        confidence=confidence,
        attained=confidence,
        method=f"{WORDS[what]}, generalised pivots",
    )


def nested_prediction(
    squares: NestedSquares,
    what: str,
    *,
    confidence: float = 0.95,
    seed: int,
    place: str | None = None,
    error_variance: float = 0.0,
    draws: int = 200_000,
) -> Estimate:
    """Answer where the next block's mean, a bore's mean or a single place of it will fall.

    Parameters and refusals are those of `nested_tolerance`.
    """
    found = nested_predictions(
        squares,
        {what: error_variance},
        confidence=confidence,
        seed=seed,
        place=place,
        draws=draws,
    )
    return found[what]


def nested_predictions(
    squares: NestedSquares,
    error_variances: Mapping[str, float],
    *,
    confidence: float = 0.95,
    seed: int,
    place: str | None = None,
    draws: int = 200_000,
) -> dict[str, Estimate]:
    """Answer it for several of "block", "bore" and "place" at once, each with its error variance.

    All are answered on the same draws of what the study leaves open, each as by itself.
    """
    check_confidence(confidence)
    generator = np.random.default_rng(seed)
    drawn = squares.draws(draws, generator)
    state = generator.bit_generator.state
    found = {}
    for what, error_variance in error_variances.items():
        generator.bit_generator.state = state
        spread = _spread(squares, drawn, what, place, error_variance)
        which = generator.integers(spread.means.shape[1], size=draws)
        values = spread.means[np.arange(draws), which]
        values = values + spread.deviations * generator.standard_normal(draws)
        tail = (1 - confidence) / 2
        low, high = np.quantile(values, [tail, 1 - tail])
        found[what] = Estimate(
            estimate=squares.mean + _centre(squares, what, place),
            low=float(low),
            high=float(high),
            confidence=confidence,
            method=f"prediction of {WORDS[what]}, generalised pivots",
        )
    return found


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Spread:
    """Draws of the distribution of what is asked for: normals about one mean or several."""

    means: Values
    deviations: Values

    def quantiles(self, share: float) -> Values:
        """Give the value below which a share lies, in each draw."""
        if self.means.shape[1] == 1:
            return np.asarray(self.means[:, 0] + float(ndtri(share)) * self.deviations, dtype=float)
        middle = self.means.mean(axis=1)

        def below(z: Values) -> Values:
            at = z[:, None] * self.deviations[:, None] + (middle[:, None] - self.means)
            return np.asarray(ndtr(at / self.deviations[:, None]).mean(axis=1), dtype=float)

        found: Values = middle + self.deviations * inverse(
            below, np.asarray(share), self.deviations
        )
        return found

    def half_widths(self, centre: float, coverage: float) -> Values:
        """Give how far either side of the centre one must go to hold a share, in each draw."""
        away = (self.means - centre) / self.deviations[:, None]

        def within(r: Values) -> Values:
            held = ndtr(r[:, None] - away) - ndtr(-r[:, None] - away)
            return np.asarray(held.mean(axis=1), dtype=float)

        found: Values = self.deviations * inverse(within, np.asarray(coverage), self.deviations)
        return found


def _spread(
    squares: NestedSquares,
    drawn: ParameterDraws,
    what: str,
    place: str | None,
    error_variance: float,
) -> _Spread:
    if what not in LEVELS:
        raise Refusal("unknown_level", f"One of {', '.join(LEVELS)} is asked for, not {what!r}.")
    if not (error_variance >= 0 and math.isfinite(error_variance)):
        raise Refusal("bad_variance", f"A variance is 0 or more, not {error_variance}.")
    means = drawn.mean[:, None]
    if what == "place":
        means = means + (
            drawn.pattern if place is None else drawn.pattern[:, [_column(squares, place)]]
        )
    variance = drawn.total(LEVELS[what], less=error_variance if what == "place" else 0.0)
    least = LEAST_DEVIATION * math.sqrt(squares.block.value)
    return _Spread(means=means, deviations=np.maximum(np.sqrt(variance), least))


def _centre(squares: NestedSquares, what: str, place: str | None) -> float:
    return squares.pattern[place] if what == "place" and place is not None else 0.0


def _column(squares: NestedSquares, place: str) -> int:
    names = list(squares.pattern)
    if place not in names:
        raise Refusal(
            "unknown_place", f"There is no place {place!r}; there are {', '.join(names)}."
        )
    return names.index(place)
