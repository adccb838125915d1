"""The share of places, bores or blocks with something below a limit, from the nested model."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtri

from workbench.errors import Refusal
from workbench.inference.estimates import Estimate
from workbench.inference.even import even_points
from workbench.inference.extremes.block_minimum import check_grid
from workbench.inference.extremes.nested_integral import Parameters, shares_below
from workbench.inference.nested.nested_study import NestedSquares
from workbench.inference.results import check_confidence
from workbench.inference.samples import clean_values

Values = NDArray[np.float64]

UNITS = ("place", "bore", "block")
FAR = 10.0  # standard deviations from the mean, beyond which a limit is refused
METHOD = "nested model"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ShareCurve:
    """Shares with something below each limit, and a band that holds at each limit by itself."""

    unit: str
    limits: Values
    share: Values
    low: Values
    high: Values
    confidence: float

    def at(self, place: int) -> Estimate:
        """Give the share at one of the limits."""
        return Estimate(
            estimate=float(self.share[place]),
            low=float(self.low[place]),
            high=float(self.high[place]),
            confidence=self.confidence,
            method=f"share of {self.unit}s, {METHOD}",
        )


def share_below(
    squares: NestedSquares,
    limits: ArrayLike,
    unit: str = "block",
    *,
    bores: int,
    seed: int,
    confidence: float = 0.95,
    error_variance: float = 0.0,
    shared: float = 0.0,
    draws: int = 1000,
) -> ShareCurve:
    """Answer which share of places, bores or blocks has something below a limit.

    Parameters
    ----------
    squares : NestedSquares
        From `squares.nested_squares`; its pattern names the places of a bore.
    limits : array_like
        One limit or many, in the unit of the study.
    unit : {"place", "bore", "block"}
        A single place, a bore whose thinnest place, or a block whose thinnest place, is below.
    bores : int
        Bores of a block.
    seed : int
        Of the draws behind the band.
    confidence : float
    error_variance : float
        The variance of repeated readings at one place, taken off that of places: the answer is
        then for the iron, not for a reading of it.
    shared : float
        Standard uncertainty that all readings share, as of a calibration: no reading averages it
        out, and it widens the band.
    draws : int

    Returns
    -------
    ShareCurve
        The share at the estimates, and the limits between which it lies given what the readings
        leave open about mean, pattern and spreads (generalised pivots). Simulated at 95 %, they
        held the true share in 92 to 97 of 100 studies of 5 to 22 blocks; least where 8 blocks were
        read unevenly, or places vary far more than blocks.

    Raises
    ------
    Refusal
        `unknown_unit`, `bad_count`, `bad_variance`, `bad_uncertainty`, `bad_confidence`;
        `limit_far_off` for a limit so far from all readings that the normal shape alone, not the
        readings, would answer.
    """
    curves = share_curves(
        squares,
        {unit: limits},
        bores=bores,
        seed=seed,
        confidence=confidence,
        error_variance=error_variance,
        shared=shared,
        draws=draws,
    )
    return curves[unit]


def share_curves(
    squares: NestedSquares,
    limits: Mapping[str, ArrayLike],
    *,
    bores: int,
    seed: int,
    confidence: float = 0.95,
    error_variance: float = 0.0,
    shared: float = 0.0,
    draws: int = 1000,
) -> dict[str, ShareCurve]:
    """Answer it for several units at once, on the same draws; `limits` has those of each unit."""
    for unit in limits:
        if unit not in UNITS:
            raise Refusal("unknown_unit", f"The share is of {', '.join(UNITS)}, not of {unit!r}.")
    wanted = {
        unit: clean_values(np.atleast_1d(np.asarray(own, dtype=float)), name="the limits")
        for unit, own in limits.items()
    }
    check_confidence(confidence)
    check_grid(bores, 100, error_variance)
    if not (shared >= 0 and math.isfinite(shared)):
        raise Refusal("bad_uncertainty", f"A standard uncertainty is 0 or more, not {shared}.")
    for own in wanted.values():
        check_near(squares, own)
    generator = np.random.default_rng(seed)
    even = even_points(draws, 5, generator)
    drawn = Parameters.drawn(squares.draws(draws, generator, even), error_variance)
    if shared > 0:
        drawn = replace(drawn, mean=drawn.mean + shared * ndtri(even[:, 4]))
    shares = shares_below(drawn, wanted, bores)
    estimates = shares_below(Parameters.estimated(squares, error_variance), wanted, bores)
    tail = (1 - confidence) / 2
    found = {}
    for unit, own in wanted.items():
        estimate = estimates[unit][0]
        low, high = np.quantile(shares[unit], [tail, 1 - tail], axis=0)
        found[unit] = ShareCurve(
            unit=unit,
            limits=own,
            share=estimate,
            low=np.minimum(low, estimate),
            high=np.maximum(high, estimate),
            confidence=confidence,
        )
    return found


def check_near(squares: NestedSquares, limits: Values) -> None:
    """Refuse limits many spreads from the readings, as one in another unit would be."""
    offsets = list(squares.pattern.values())
    total = float(np.sqrt(sum(squares.variances.values())))
    low, high = squares.mean + min(offsets), squares.mean + max(offsets)
    beyond = np.maximum(low - limits, limits - high) / total
    if beyond.max() > FAR:
        worst = limits[int(beyond.argmax())]
        raise Refusal(
            "limit_far_off",
            f"The limit {worst:g} lies {beyond.max():.0f} standard deviations from the mean of "
            f"{squares.mean:g}; is it in the unit of the readings?",
        )
