"""One population or two: two pours, or two core boxes, under one family name."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit

from workbench.inference.distributions.cells import laid_out
from workbench.inference.distributions.draws import Grouping, drawn
from workbench.inference.distributions.fit import Fit, fit_distribution
from workbench.inference.distributions.goodness import check_testable, share_as_far
from workbench.inference.distributions.mixture import CUTS, LEAST_SD, peaks
from workbench.inference.distributions.readings import Readings
from workbench.inference.distributions.refits import model_of
from workbench.inference.distributions.samples_drawn import CellSamples, PointSamples

Values = NDArray[np.float64]

LEAST_MASS = 1e-9
ROUNDS = 60  # of expectation and maximisation, for the sample as for those drawn


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TwoPeaks:
    """A mixture of two normals against one normal.

    `gain` is twice what the log-likelihood gains by a second population of the same spread,
    `p_value` how often readings of one normal gain as much. `two` is the mixture with spreads of
    their own, and `peaks` counts its peaks: two populations closer than about two standard
    deviations make one peak, broad or skewed.
    """

    one: Fit
    two: Fit
    gain: float
    p_value: float
    peaks: int
    replicates: int


def two_peaks(
    readings: Readings, *, seed: int, replicates: int = 1000, grouping: Grouping | None = None
) -> TwoPeaks:
    """Answer whether one normal population is enough, or two describe the readings better.

    Tested against two normal populations of the same spread, for with spreads of their own a
    second population chases single readings. The usual chi-square for a likelihood ratio does not
    hold here, so samples are drawn from the single normal, rounded as the readings are, and treated
    as the readings: the same rounds of expectation and maximisation from the same cuts.

    Parameters
    ----------
    readings : Readings
        Of independent units (block means), at least 20; or grouped ones with their `grouping`.
    seed : int
    replicates : int
    grouping : Grouping, optional
        Their groups, as `grouped_goodness.grouping_of` makes them.

    Returns
    -------
    TwoPeaks
        A small p says "not one normal": a skewed or heavy-tailed population does that as well. See
        what `peaks` and the fitted families say before speaking of two pours.

    Raises
    ------
    Refusal
        `too_few` below 20 readings; as the fits refuse.

    References
    ----------
    McLachlan, G. J. (1987). On bootstrapping the likelihood ratio test statistic for the number of
    components in a normal mixture. Applied Statistics 36, 318-324 (from memory).
    """
    two = fit_distribution(readings, "normal-mixture")
    one = fit_distribution(readings, "normal")
    check_testable(one, replicates)
    sample, model = laid_out(one), model_of(one)
    samples = drawn(
        sample,
        model.family,
        model.row,
        model.frame,
        count=replicates,
        generator=np.random.default_rng(seed),
        grouping=grouping,
    )
    observed = float(_gains(sample)[0])
    gains = _gains(samples)
    values = list(two.estimates.values())
    return TwoPeaks(
        one=one,
        two=two,
        gain=observed,
        p_value=share_as_far(observed, gains),
        peaks=peaks(values[0], (values[1], values[3]), (values[2], values[4])),
        replicates=replicates,
    )


def _gains(samples: PointSamples | CellSamples) -> Values:
    """Give twice the gain of two populations over one, for every sample."""
    x, weights = _weighed(samples)
    total = weights.sum(axis=1)
    mean = (weights * x).sum(axis=1) / total
    deviation = np.sqrt((weights * (x - mean[:, None]) ** 2).sum(axis=1) / total)
    z = (x - mean[:, None]) / deviation[:, None]
    best = np.full(len(x), -np.inf)
    for cut in CUTS:
        best = np.maximum(best, _climbed(z, weights, cut))
    # Against the normal on the same points, so that both see the sample alike.
    alone = -0.5 * (1 + np.log(2 * np.pi))
    gain: Values = 2 * total * np.maximum(best - alone, 0.0)
    return gain


def _weighed(samples: PointSamples | CellSamples) -> tuple[Values, Values]:
    """Give points and weights: cells stand at their middles, the outermost a width outside."""
    if isinstance(samples, PointSamples):
        return samples.x, np.ones_like(samples.x)
    edges = samples.edges.copy()
    edges[0] = max(edges[0], 2 * edges[1] - edges[2])
    edges[-1] = min(edges[-1], 2 * edges[-2] - edges[-3])
    middle = (edges[1:] + edges[:-1]) / 2
    return np.broadcast_to(middle, samples.counts.shape), samples.counts


def _climbed(z: Values, weights: Values, cut: float) -> Values:
    """Expect and maximise from a cut of each sample at a share; give mean log-likelihoods."""
    total, sums, squares = ((weights * z**k).sum(axis=1, keepdims=True) for k in range(3))
    below = (np.cumsum(weights, axis=1) - weights / 2) / total
    first = np.where(below < cut, 0.95, 0.05)
    for _ in range(ROUNDS):
        own = weights * first
        mass, part = own.sum(axis=1, keepdims=True), (own * z).sum(axis=1, keepdims=True)
        size, other = np.maximum(mass, LEAST_MASS), np.maximum(total - mass, LEAST_MASS)
        middle, middle_other = part / size, (sums - part) / other
        within = squares - size * middle**2 - other * middle_other**2
        variance = np.maximum(within / total, LEAST_SD**2)
        # of one spread, so the odds of a point change with it along a straight line
        slope = (middle - middle_other) / variance
        odds = np.log(size / other) + slope * (z - (middle + middle_other) / 2)
        first = expit(odds)
    apart = (z - middle_other) ** 2 / variance
    of_other = np.log(other / total) - 0.5 * (np.log(2 * np.pi * variance) + apart)
    value: Values = (weights * (of_other + np.logaddexp(0, odds))).sum(axis=1) / total[:, 0]
    return value
