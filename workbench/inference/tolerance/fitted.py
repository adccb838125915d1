"""Tolerance limits of lognormal and Weibull families."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from workbench.errors import Refusal
from workbench.inference.samples import Values, clean_values, require_spread
from workbench.inference.tolerance.limits import ToleranceInterval, check_asked, opened
from workbench.inference.tolerance.normal import normal_tolerance

FEWEST = 5
ROUNDS = 40
AT_ONCE = 2_000_000


def lognormal_tolerance(
    values: ArrayLike, coverage: float = 0.95, confidence: float = 0.95, side: str = "both"
) -> ToleranceInterval:
    """Answer between which limits a share of all blocks lies, of a lognormal family.

    Exact: the limits of the logarithms, turned back.

    Raises
    ------
    Refusal
        `not_positive`; else as `normal_tolerance`.
    """
    found = normal_tolerance(_logarithms(values), coverage, confidence, side)
    return ToleranceInterval(
        low=math.exp(found.low),
        high=math.exp(found.high),
        coverage=coverage,
        confidence=confidence,
        attained=confidence,
        method="lognormal, exact factor on logarithms",
    )


def weibull_tolerance(
    values: ArrayLike,
    coverage: float = 0.95,
    confidence: float = 0.95,
    side: str = "both",
    *,
    seed: int,
    draws: int = 20_000,
) -> ToleranceInterval:
    """Answer between which limits a share of all blocks lies, of a two-parameter Weibull family.

    How far maximum likelihood fits of samples of this size fall from the truth does not depend on
    the truth, so limits are exact but for the number of drawn samples.

    Parameters
    ----------
    values : array_like
        One number a block, above 0; at least five.
    coverage, confidence : float
        From 0 to 1.
    side : {"both", "lower", "upper"}
        "both" joins two one-sided limits, each with half of what may be missed: a little wide.
    seed : int
        Of the drawn samples.
    draws : int

    Raises
    ------
    Refusal
        `not_positive`, `too_few`, `zero_spread`, `bad_coverage`, `unknown_side`.

    References
    ----------
    Thoman, D. R., Bain, L. J., Antle, C. E. (1970). Maximum likelihood estimation, exact confidence
    intervals for reliability, and tolerance limits in the Weibull distribution. Technometrics 12,
    363-371 (from memory).
    """
    check_asked(coverage, confidence, side)
    logs = _logarithms(values)
    require_spread(logs)
    location, scale = (float(part[0]) for part in gumbel_fits(logs[None]))
    generator = np.random.default_rng(seed)
    pivots = _standard_fits(logs.size, draws, generator)
    share = coverage if side != "both" else (1 + coverage) / 2
    level = confidence if side != "both" else (1 + confidence) / 2
    below = np.quantile((math.log(-math.log(share)) - pivots[0]) / pivots[1], 1 - level)
    above = np.quantile((math.log(-math.log1p(-share)) - pivots[0]) / pivots[1], level)
    low, high = opened(
        math.exp(location + scale * float(below)), math.exp(location + scale * float(above)), side
    )
    return ToleranceInterval(
        low=max(low, 0.0),
        high=high,
        coverage=coverage,
        confidence=confidence,
        attained=confidence,
        method=f"Weibull, {draws} drawn samples",
    )


def gumbel_fits(y: Values) -> tuple[Values, Values]:
    """Fit a Gumbel for minima to every row by maximum likelihood; give locations and scales."""
    mean, spread = y.mean(axis=1), y.std(axis=1)
    shape = 1.28 / spread  # one over the scale
    top = y.max(axis=1, keepdims=True)
    for _ in range(ROUNDS):
        weights = np.exp(shape[:, None] * (y - top))
        total = weights.sum(axis=1)
        first = (weights * y).sum(axis=1) / total
        second = (weights * (y - first[:, None]) ** 2).sum(axis=1) / total
        step = (first - mean - 1 / shape) / (second + 1 / shape**2)
        shape = np.maximum(shape - step, shape / 3)
        if (np.abs(step) < 1e-10 * shape).all():
            break
    location = top[:, 0] + np.log(np.exp(shape[:, None] * (y - top)).mean(axis=1)) / shape
    return location, 1 / shape


def _standard_fits(n: int, draws: int, generator: np.random.Generator) -> tuple[Values, Values]:
    """Fit samples of a standard Gumbel for minima."""
    parts = []
    each = max(1, AT_ONCE // n)
    for at in range(0, draws, each):
        sample = np.log(generator.standard_exponential((min(each, draws - at), n)))
        parts.append(gumbel_fits(sample))
    locations, scales = (np.concatenate(part) for part in zip(*parts, strict=True))
    return locations, scales


def _logarithms(values: ArrayLike) -> Values:
    row = clean_values(values, least=FEWEST)
    if (row <= 0).any():
        raise Refusal(
            "not_positive", f"This family needs values above 0; the least is {row.min():g}."
        )
    return np.asarray(np.log(row), dtype=float)
