"""Two gauges (or two operators) on the same places: bias, and how far single readings may differ.

Everything is first minus second: a positive bias means that the first reads higher. Correlation is
not agreement and is not offered.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtri, stdtr, stdtrit

from workbench.errors import Refusal
from workbench.inference.admissible import paired, positive
from workbench.inference.estimates import Estimate
from workbench.inference.nested.mean_squares import MeanSquare
from workbench.inference.noncentral import noncentral_t_cdf
from workbench.inference.results import Difference, check_confidence
from workbench.inference.roots import root_between
from workbench.inference.samples import Values, clean_values, require_spread

LEAST = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class AgreementLimits:
    """Limits of agreement: nearly all single differences lie between them.

    Each is an estimate with its own interval: the limits of few pairs are themselves uncertain.
    """

    low: Estimate
    high: Estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class Agreement:
    """Differences of two methods on the same places.

    Attributes
    ----------
    bias
        Mean of first minus second, with its interval and p.
    sd
        Standard deviation of a single difference; with groups, within and between them together.
    within_sd, between_sd
        The two parts where the pairs come in groups (several places of a block); else `between_sd`
        is NaN and `within_sd` is `sd`.
    sd_degrees_of_freedom
        Of `sd` (with groups by Welch-Satterthwaite).
    exact
        Whether the limits of pairs without groups have exact intervals: the pairs are of single
        readings.
    """

    bias: Difference
    sd: float
    within_sd: float
    between_sd: float
    sd_degrees_of_freedom: float
    pairs: int
    groups: int | None
    exact: bool = True

    def of_single_readings(self, *left_out: MeanSquare) -> Agreement:
        """Give the same with limits for single readings, where each pair was of means of repeats.

        Parameters
        ----------
        left_out
            Of each method (1 - 1/m) times the variance of a reading repeated, m being how often it
            was: what the mean of m readings lacks of the scatter of one. With unequal m, 1/m is
            averaged over the places.

        References
        ----------
        Bland & Altman (1999), Statistical Methods in Medical Research 8:135-160, section 5.1.
        """
        parts = [(self.sd**2, self.sd_degrees_of_freedom)]
        parts += [(part.value, part.degrees_of_freedom) for part in left_out if part.value > 0]
        if len(parts) == 1:
            return self
        total = sum(value for value, _ in parts)
        return replace(
            self,
            sd=math.sqrt(total),
            sd_degrees_of_freedom=total**2 / sum(value**2 / nu for value, nu in parts),
            exact=False,
        )

    def limits(
        self, confidence: float = 0.95, *, coverage: float = 0.95, factor: float | None = None
    ) -> AgreementLimits:
        """Give the limits that `coverage` of single differences lie between.

        They are bias -/+ `factor` sd; left out, the factor is the normal one (1.96 for 95 %; Bland
        & Altman's first paper took 2). The interval of each limit is exact for independent pairs
        (noncentral t), and approximate for pairs in groups (the spread of the limit by JCGM 100,
        t at the lesser degrees of freedom).
        """
        check_confidence(confidence)
        if factor is None:
            check_confidence(coverage)
            factor = float(ndtri((1 + coverage) / 2))
        positive("The factor", factor)
        ends = [self._limit(side * factor, confidence) for side in (-1.0, 1.0)]
        return AgreementLimits(low=ends[0], high=ends[1])

    def _limit(self, factor: float, confidence: float) -> Estimate:
        estimate = self.bias.estimate + factor * self.sd
        tail = (1 - confidence) / 2
        if self.groups is None and self.exact:
            root = math.sqrt(self.pairs)
            low, high = (
                self.bias.estimate
                + self.sd * _noncentral_point(q, self.pairs - 1, factor * root) / root
                for q in (tail, 1 - tail)
            )
            method = "exact (noncentral t)"
        else:
            error = math.hypot(
                self.bias.standard_error,
                factor * self.sd / math.sqrt(2 * self.sd_degrees_of_freedom),
            )
            freedom = min(self.bias.degrees_of_freedom, self.sd_degrees_of_freedom)
            half = -float(stdtrit(freedom, tail)) * error
            low, high, method = estimate - half, estimate + half, "approximate"
        return Estimate(low=low, high=high, confidence=confidence, estimate=estimate, method=method)


@dataclass(frozen=True, slots=True, kw_only=True)
class ProportionalBias:
    """Whether the bias grows with what is read: slope of differences on means of the pairs.

    `p_value` is two-sided for a slope of 0. Two methods of unequal repeatability show a slope even
    without a growing bias: the noisier one seems to stretch.
    """

    slope: float
    standard_error: float
    degrees_of_freedom: int
    p_value: float


def agreement(first: ArrayLike, second: ArrayLike, groups: ArrayLike | None = None) -> Agreement:
    """Compare two methods read on the same places, one pair a place.

    Parameters
    ----------
    first, second
        Readings in one unit, three pairs or more.
    groups
        What the places belong to, where that is not all one and the same (blocks): differences
        within a group are alike, so the bias is judged between groups, and the limits hold for a
        place of a new group. Two groups or more, one of them with two pairs.

    Raises
    ------
    Refusal
        `too_few`, `unequal_lengths`, `zero_spread` (all differences equal), `few_groups`, or those
        of `samples.clean_values`.

    References
    ----------
    Bland & Altman (1986), Lancet i:307-310; (2007), Journal of Biopharmaceutical Statistics
    17:571-582 (groups); Carkeet (2015), Optometry and Vision Science 92:e71-e80 (exact interval of
    a limit; from memory).
    """
    a = clean_values(first, least=LEAST, name="the first method")
    b = clean_values(second, name="the second method")
    paired("Readings of the first method", a, "readings of the second", b)
    differences = a - b
    require_spread(differences, name="the differences")
    if groups is not None:
        return _grouped(differences, groups)
    sd = float(differences.std(ddof=1))
    return Agreement(
        bias=_bias(differences, sd / math.sqrt(differences.size), differences.size - 1),
        sd=sd,
        within_sd=sd,
        between_sd=math.nan,
        sd_degrees_of_freedom=differences.size - 1,
        pairs=differences.size,
        groups=None,
    )


def proportional_bias(first: ArrayLike, second: ArrayLike) -> ProportionalBias:
    """Regress the differences on the means of the pairs (pairs independent of each other).

    Raises
    ------
    Refusal
        `too_few`, `unequal_lengths`, `zero_spread`, or those of `samples.clean_values`.
    """
    a = clean_values(first, least=LEAST, name="the first method")
    b = clean_values(second, name="the second method")
    paired("Readings of the first method", a, "readings of the second", b)
    d, m = a - b, (a + b) / 2
    require_spread(m, name="the means of the pairs")
    centred = m - m.mean()
    slope = float(centred @ d / (centred @ centred))
    rest = d - d.mean() - slope * centred
    freedom = d.size - 2
    error = math.sqrt(float(rest @ rest) / freedom / float(centred @ centred))
    if not error > 1e-12 * max(1.0, abs(slope)):
        raise Refusal("zero_spread", "The differences lie on a line without any scatter.")
    return ProportionalBias(
        slope=slope,
        standard_error=error,
        degrees_of_freedom=freedom,
        p_value=float(2 * stdtr(freedom, -abs(slope) / error)),
    )


def _grouped(differences: Values, groups: ArrayLike) -> Agreement:
    labels = np.asarray(groups)
    paired("Groups", labels, "pairs", differences)
    _, code = np.unique(labels, return_inverse=True)
    sizes = np.bincount(code)
    n, k = differences.size, sizes.size
    if k < 2 or n == k:
        raise Refusal(
            "few_groups",
            f"{n} pairs in {k} groups do not tell the spread within groups from that between them.",
        )
    means = np.bincount(code, differences) / sizes
    bias = float(differences.mean())
    within = MeanSquare(
        value=float(np.sum((differences - means[code]) ** 2)) / (n - k), degrees_of_freedom=n - k
    )
    between = MeanSquare(
        value=float(sizes @ (means - bias) ** 2) / (k - 1), degrees_of_freedom=k - 1
    )
    usual = (n - float(sizes @ sizes) / n) / (k - 1)  # pairs a group, allowing for unequal ones
    extra = max(0.0, (between.value - within.value) / usual)
    total = within.value + extra
    parts = (
        (between.value / usual, k - 1),
        (within.value * (1 - 1 / usual), n - k),
    )
    freedom = n - 1 if extra == 0 else total**2 / sum(v**2 / nu for v, nu in parts)
    shift = sizes * (means - bias)
    return Agreement(
        bias=_bias(differences, math.sqrt(float(shift @ shift) * k / (k - 1)) / n, k - 1),
        sd=math.sqrt(total),
        within_sd=math.sqrt(within.value),
        between_sd=math.sqrt(extra),
        sd_degrees_of_freedom=freedom,
        pairs=n,
        groups=k,
    )


def _bias(differences: Values, error: float, freedom: int) -> Difference:
    return Difference(
        estimate=float(differences.mean()),
        standard_error=error,
        degrees_of_freedom=freedom,
        method="mean of paired differences",
    )


def _noncentral_point(q: float, freedom: int, shift: float) -> float:
    """Give the point below which noncentral t lies with probability `q`."""
    spread = 2 * math.hypot(1.0, shift / math.sqrt(2 * freedom))
    low, high = shift - spread, shift + spread
    while noncentral_t_cdf(low, freedom, shift) > q:
        spread *= 2
        low -= spread
    while noncentral_t_cdf(high, freedom, shift) < q:
        spread *= 2
        high += spread
    return root_between(
        lambda t: float(noncentral_t_cdf(t, freedom, shift)) - q, low, high, absolute=1e-10
    )
