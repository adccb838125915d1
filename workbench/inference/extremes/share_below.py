"""The share of places, bores or blocks with something below a limit, from the nested model.

For given parameters the share is an integral over the block and, inside it, over each bore: a
place lies above with a normal probability, a bore when all its places do, a block when all its
bores do. On a grid of heights above the limit both integrals are convolutions with a normal, so
one pass answers for every limit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import ArrayLike, NDArray
from scipy.special import log_ndtr, ndtr, ndtri

from workbench.errors import Refusal
from workbench.inference.estimates import Estimate
from workbench.inference.extremes.block_minimum import check_grid
from workbench.inference.nested_squares import NestedSquares
from workbench.inference.results import check_confidence
from workbench.inference.samples import clean_values

Values = NDArray[np.float64]

UNITS = ("place", "bore", "block")
REACH, STEP = 12.0, 0.04  # the grid of heights, in total standard deviations
WIDE = 6.0  # deviations a normal is followed out
FAR = 10.0
LEAST = 1e-6  # of the total: a smaller deviation of places is a step
AT_ONCE = 40
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
    draws: int = 1000,
) -> ShareCurve:
    """Answer which share of places, bores or blocks has something below a limit.

    Parameters
    ----------
    squares : NestedSquares
        From `nested_squares.nested_squares`; its pattern names the places of a bore.
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
    draws : int

    Returns
    -------
    ShareCurve
        The share at the estimates, and the limits between which it lies given what the readings
        leave open about mean, pattern and spreads (generalised pivots).

    Raises
    ------
    Refusal
        `unknown_unit`, `bad_count`, `bad_variance`, `bad_confidence`; `limit_far_off` for a limit
        so far from all readings that the normal shape alone, not the readings, would answer.
    """
    wanted = clean_values(np.atleast_1d(np.asarray(limits, dtype=float)), name="the limits")
    check_confidence(confidence)
    check_grid(bores, 100, error_variance)
    if unit not in UNITS:
        raise Refusal("unknown_unit", f"The share is of {', '.join(UNITS)}, not of {unit!r}.")
    _check_near(squares, wanted)
    drawn = squares.draws(draws, np.random.default_rng(seed))
    parts = [
        np.sqrt(drawn.variance(level, error_variance if level == "place" else 0.0))
        for level in ("block", "bore", "place")
    ]
    shares = _shares(wanted, drawn.mean, drawn.pattern, parts, bores, unit)
    at = squares.variances
    at["place"] = max(at["place"] - error_variance, 0.0)
    estimate = _shares(
        wanted,
        np.array([squares.mean]),
        np.array([list(squares.pattern.values())]),
        [np.sqrt([at[level]]) for level in ("block", "bore", "place")],
        bores,
        unit,
    )[0]
    tail = (1 - confidence) / 2
    low, high = np.quantile(shares, [tail, 1 - tail], axis=0)
    return ShareCurve(
        unit=unit,
        limits=wanted,
        share=estimate,
        low=np.minimum(low, estimate),
        high=np.maximum(high, estimate),
        confidence=confidence,
    )


def _shares(
    limits: Values,
    mean: Values,
    pattern: Values,
    deviations: Sequence[Values],
    bores: int,
    unit: str,
) -> Values:
    """Give the share below each limit (columns) under each row of parameters."""
    block, bore, place = deviations
    if unit == "place":
        total = np.sqrt(block**2 + bore**2 + place**2)[:, None, None]
        away = limits[None, :, None] - (mean[:, None] + pattern)[:, None, :]
        return np.asarray(ndtr(away / np.maximum(total, 1e-300)).mean(axis=2), dtype=float)
    rows = []
    for at in range(0, mean.size, AT_ONCE):
        some = slice(at, at + AT_ONCE)
        rows.append(
            _nested_shares(
                limits, mean[some], pattern[some], block[some], bore[some], place[some], bores, unit
            )
        )
    return np.concatenate(rows)


def _nested_shares(
    limits: Values,
    mean: Values,
    pattern: Values,
    block: Values,
    bore: Values,
    place: Values,
    bores: int,
    unit: str,
) -> Values:
    total = np.sqrt(block**2 + bore**2 + place**2 + pattern.var(axis=1))
    grid = np.arange(-REACH, REACH + STEP / 2, STEP)
    height = total[:, None] * grid  # of a bore's middle above the limit
    narrow = np.maximum(place, LEAST * total)
    above = np.zeros_like(height)
    for column in pattern.T:  # the logarithm of the chance that every place is above
        above += log_ndtr((height + column[:, None]) / narrow[:, None])
    below = _spread(-np.expm1(above), bore / total)  # a bore of a block at this height
    if unit == "block":
        with np.errstate(divide="ignore"):
            below = -np.expm1(bores * np.log1p(-np.minimum(below, 1.0)))
    below = _spread(below, block / total)
    # Close to a straight line on the normal scale, and so safe to read between the grid's points.
    scores = ndtri(np.clip(below, 1e-300, 1 - 1e-16))
    wanted = (mean[:, None] - limits) / total[:, None]
    read = np.array([np.interp(w, grid, s) for w, s in zip(wanted, scores, strict=True)])
    return np.asarray(ndtr(read), dtype=float)


def _spread(values: Values, deviation: Values) -> Values:
    """Average each row over a normal about every point; deviations in units of the grid's scale."""
    reach = int(np.ceil(WIDE * float(deviation.max()) / STEP))
    if reach == 0:
        return values
    steps = STEP * np.arange(-reach, reach + 1)
    with np.errstate(divide="ignore", over="ignore"):
        z = steps / np.maximum(deviation, 1e-12)[:, None]
        weights = np.exp(-0.5 * z * z)
    weights /= weights.sum(axis=1, keepdims=True)
    padded = np.pad(values, ((0, 0), (reach, reach)), mode="edge")
    windows = sliding_window_view(padded, 2 * reach + 1, axis=1)
    found: Values = np.einsum("dgw,dw->dg", windows, weights, optimize=True)
    return found


def _check_near(squares: NestedSquares, limits: Values) -> None:
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
