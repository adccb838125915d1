"""Ordered values against normal quantiles, with a band that holds for all of them at once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtri

from workbench.inference.results import check_confidence
from workbench.inference.samples import clean_values, require_spread

Values = NDArray[np.float64]

LEAST = 5
MOST_RANKS = 200
CHUNK = 1_000_000  # numbers simulated at a time


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NormalPlot:
    """The points of a normal quantile plot, from the least to the greatest, and their band.

    `theoretical` are standard normal quantiles, the other three are in the unit of the sample. A
    normal sample stays inside the band as a whole with `confidence`. Of many values at most
    `MOST_RANKS` ranks are given, evenly spread, both ends included.
    """

    theoretical: Values
    ordered: Values
    low: Values
    high: Values
    mean: float
    sd: float
    n: int
    confidence: float

    @property
    def outside(self) -> int:
        """Count the points outside the band."""
        return int(((self.ordered < self.low) | (self.ordered > self.high)).sum())


def normal_plot(
    values: ArrayLike, confidence: float = 0.95, *, seed: int, draws: int = 2000
) -> NormalPlot:
    """Answer whether independent values could come from a normal distribution.

    Normal samples of the same size are drawn, each brought to its own mean and standard deviation
    as the values are, and the band is laid so that a share `confidence` of them lies inside at
    every rank: the same share is cut off at each rank. Estimating the mean and the standard
    deviation is thereby allowed for.

    Parameters
    ----------
    values : array_like
        One number an independent unit (block means, not readings); at least five.
    confidence : float
        From 0 to 1, of the whole band.
    seed : int
        Of the drawn samples.
    draws : int
        How many samples are drawn.

    Returns
    -------
    NormalPlot
        Plotting positions are (i - 3/8) / (n + 1/4).

    Raises
    ------
    Refusal
        `too_few`, `not_finite`, `zero_spread`, `bad_confidence`.

    References
    ----------
    Davison, A. C., Hinkley, D. V. (1997). Bootstrap Methods and their Application, section 4.2.4,
    simulation envelopes; Blom, G. (1958). Statistical Estimates and Transformed Beta-variables,
    plotting positions (both from memory).
    """
    check_confidence(confidence)
    sample = np.sort(clean_values(values, least=LEAST))
    require_spread(sample)
    n = sample.size
    ranks = ranks_shown(n)
    low, high = envelope(_standard_samples(n, ranks, seed, draws), confidence)
    mean, sd = float(sample.mean()), float(sample.std(ddof=1))
    return NormalPlot(
        theoretical=plotting_positions(ranks, n),
        ordered=sample[ranks],
        low=mean + sd * low,
        high=mean + sd * high,
        mean=mean,
        sd=sd,
        n=n,
        confidence=confidence,
    )


def ranks_shown(n: int) -> NDArray[np.intp]:
    """Give the ranks (from 0) that are drawn of `n` values: evenly spread, both ends included."""
    return np.unique(np.linspace(0, n - 1, min(n, MOST_RANKS)).round().astype(np.intp))


def plotting_positions(ranks: NDArray[np.intp], n: int) -> Values:
    """Give Blom's positions of ranks as standard normal quantiles."""
    return np.asarray(ndtri((ranks + 1 - 0.375) / (n + 0.25)), dtype=float)


def _standard_samples(n: int, ranks: NDArray[np.intp], seed: int, draws: int) -> Values:
    """Draw normal samples, standardised by their own mean and sd: one row a draw, sorted."""
    generator = np.random.default_rng(seed)
    rows = []
    step = max(1, CHUNK // n)
    for start in range(0, draws, step):
        drawn = np.sort(generator.standard_normal((min(step, draws - start), n)), axis=1)
        centred = drawn - drawn.mean(axis=1, keepdims=True)
        rows.append(centred[:, ranks] / drawn.std(axis=1, ddof=1, keepdims=True))
    return np.concatenate(rows)


def even_band(samples: Values, confidence: float) -> tuple[Values, Values]:
    """Give a band as many standard deviations wide at every rank, from some hundred samples.

    It holds a share `confidence` of the samples whole, one row a sample in rising order. Steadier
    than `envelope`, whose ends are single samples, where some thousands cannot be drawn.
    """
    middle, spread = samples.mean(axis=0), samples.std(axis=0, ddof=1)
    furthest = (np.abs(samples - middle) / spread).max(axis=1)
    reach = float(np.quantile(furthest, confidence)) * spread
    return middle - reach, middle + reach


def envelope(samples: Values, confidence: float) -> tuple[Values, Values]:
    """Give a band, one row of `samples` a sample in rising order, that holds a share of them whole.

    Cuts the same number of samples off at both ends of every rank, a share in all.

    A sample lies in the band that cuts off k when its place at every rank, counted from the nearer
    end, is above k; k is the largest that leaves the share `confidence` inside.
    """
    draws = samples.shape[0]
    ordered = np.sort(samples, axis=0)
    places = samples.argsort(axis=0).argsort(axis=0)
    nearest = np.minimum(places, draws - 1 - places).min(axis=1)
    cut = int(np.sort(nearest)[int((1 - confidence) * draws)])
    return ordered[cut], ordered[draws - 1 - cut]
