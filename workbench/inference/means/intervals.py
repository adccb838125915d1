"""Intervals of one sample's figures under normality, from values or from printed summaries."""

from __future__ import annotations

import math

from numpy.typing import ArrayLike
from scipy.special import chdtri, stdtrit

from workbench.errors import Refusal
from workbench.inference.estimates import Estimate
from workbench.inference.means.welch import Summary
from workbench.inference.noncentral import noncentrality_interval
from workbench.inference.results import check_confidence
from workbench.inference.samples import summarised


def mean_interval(sample: ArrayLike | Summary, confidence: float = 0.95) -> Estimate:
    """Answer where the mean of all blocks lies, given independent, roughly normal ones.

    Parameters
    ----------
    sample : array_like or Summary
        One number a block, or count, mean and standard deviation as printed; two or more blocks.
    confidence : float
        From 0 to 1.

    Returns
    -------
    Estimate
        In the unit of the sample. Of no length when all blocks are equal.

    Raises
    ------
    Refusal
        `too_few`, `not_finite`, `bad_confidence`.

    References
    ----------
    Student (1908). The probable error of a mean. Biometrika 6, 1-25.

    Examples
    --------
    >>> found = mean_interval([50.3, 48.3, 49.6, 50.4, 51.9])
    >>> f"{found.estimate:.2f}, {found.low:.2f} to {found.high:.2f}"
    '50.10, 48.47 to 51.73'
    """
    check_confidence(confidence)
    known = summarised(sample)
    half = _t_quantile(known.n - 1, confidence) * known.sd / math.sqrt(known.n)
    return Estimate(
        estimate=known.mean,
        low=known.mean - half,
        high=known.mean + half,
        confidence=confidence,
        method="mean by Student's t",
    )


def sd_interval(sample: ArrayLike | Summary, confidence: float = 0.95) -> Estimate:
    """Answer how large the standard deviation of all blocks is; equal tails of chi-square.

    Sensitive to tails heavier than normal, however many blocks there are.

    Raises
    ------
    Refusal
        `zero_spread` when all blocks are equal; else as `mean_interval`.

    References
    ----------
    Hahn, G. J., Meeker, W. Q. (1991). Statistical Intervals, section 4.5 (from memory).

    Examples
    --------
    >>> found = sd_interval(Summary(n=5, mean=50.10, sd=1.31))
    >>> f"{found.low:.2f} to {found.high:.2f}"
    '0.78 to 3.76'
    """
    check_confidence(confidence)
    known = _with_spread(summarised(sample))
    df, tail = known.n - 1, (1 - confidence) / 2
    low, high = (known.sd * math.sqrt(df / float(chdtri(df, p))) for p in (tail, 1 - tail))
    return Estimate(
        estimate=known.sd,
        low=low,
        high=high,
        confidence=confidence,
        method="standard deviation by chi-square",
    )


def coefficient_of_variation_interval(
    sample: ArrayLike | Summary, confidence: float = 0.95
) -> Estimate:
    """Answer how large the spread is as a share of the mean (0.05 is 5 %).

    Exact for normal values: sqrt(n) mean / sd follows a noncentral t with noncentrality
    sqrt(n) / coefficient. The upper end is infinite where the mean cannot be told from 0.

    Raises
    ------
    Refusal
        `mean_not_positive`: the figure has a meaning only on a scale with a true zero.

    References
    ----------
    Johnson, N. L., Welch, B. L. (1940). Applications of the non-central t-distribution.
    Biometrika 31, 362-389 (from memory).
    """
    check_confidence(confidence)
    known = _with_spread(summarised(sample))
    if known.mean <= 0:
        raise Refusal(
            "mean_not_positive",
            f"A coefficient of variation needs a mean above 0; this one is {known.mean}.",
        )
    root = math.sqrt(known.n)
    ends = noncentrality_interval(root * known.mean / known.sd, known.n - 1, confidence)
    return Estimate(
        estimate=known.sd / known.mean,
        low=root / ends.high,
        high=root / ends.low if ends.low > 0 else math.inf,
        confidence=confidence,
        method="coefficient of variation by noncentral t",
    )


def next_value_interval(sample: ArrayLike | Summary, confidence: float = 0.95) -> Estimate:
    """Answer where the next block from the same normal family will fall.

    References
    ----------
    Hahn, G. J., Meeker, W. Q. (1991). Statistical Intervals, section 4.7 (from memory).

    Examples
    --------
    >>> found = next_value_interval(Summary(n=5, mean=50.10, sd=1.31))
    >>> f"{found.low:.1f} to {found.high:.1f}"
    '46.1 to 54.1'
    """
    return next_mean_interval(sample, 1, confidence)


def next_mean_interval(
    sample: ArrayLike | Summary, count: int, confidence: float = 0.95
) -> Estimate:
    """Answer where the mean of the next `count` blocks from the same normal family will fall."""
    check_confidence(confidence)
    known = summarised(sample)
    _check_count(count)
    reach = math.sqrt(1 / count + 1 / known.n)
    half = _t_quantile(known.n - 1, confidence) * known.sd * reach
    return Estimate(
        estimate=known.mean,
        low=known.mean - half,
        high=known.mean + half,
        confidence=confidence,
        method="prediction of the next value" if count == 1 else f"prediction of the next {count}",
    )


def next_values_interval(
    sample: ArrayLike | Summary, count: int, confidence: float = 0.95
) -> Estimate:
    """Answer within which limits all of the next `count` blocks will fall, every one of them.

    Exact for a normal family: the future blocks share what is not known about mean and spread, so
    the limits are tighter than `count` separate ones after Bonferroni.

    References
    ----------
    Hahn, G. J. (1970). Additional factors for calculating prediction intervals for samples from a
    normal distribution. Journal of the American Statistical Association 65, 1668-1676 (from
    memory).

    Examples
    --------
    The factor for all of 10 future values after 5, at 95 %, is 5.23:

    >>> found = next_values_interval(Summary(n=5, mean=0, sd=1), 10)
    >>> f"{found.high:.2f}"
    '5.23'
    """
    from workbench.inference.means.max_t import max_t_quantile

    check_confidence(confidence)
    known = summarised(sample)
    _check_count(count)
    shared = math.sqrt(1 / (known.n + 1))
    factor = max_t_quantile(confidence, [shared] * count, known.n - 1)
    half = factor * known.sd * math.sqrt(1 + 1 / known.n)
    return Estimate(
        estimate=known.mean,
        low=known.mean - half,
        high=known.mean + half,
        confidence=confidence,
        method=f"prediction of every one of the next {count}",
    )


def _t_quantile(degrees_of_freedom: float, confidence: float) -> float:
    return -float(stdtrit(degrees_of_freedom, (1 - confidence) / 2))


def _with_spread(known: Summary) -> Summary:
    if known.sd == 0:
        raise Refusal("zero_spread", f"All {known.n} values are equal: there is no spread.")
    return known


def _check_count(count: int) -> None:
    if count != int(count) or count < 1:
        raise Refusal("bad_count", f"The next blocks are 1 or more, a whole number, not {count}.")
