"""Readings laid out for tests of fit: points where they are not rounded, else counts in cells."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from workbench.errors import Refusal
from workbench.inference.distributions.fit import Fit
from workbench.inference.distributions.readings import Readings
from workbench.inference.distributions.samples_drawn import CellSamples, PointSamples

Values = NDArray[np.float64]

MOST_POINTS = 300
MOST_CELLS = 120
FEWEST_CELLS = 4
MOST_IN_ONE = 0.6  # share of the readings in one cell
EXPECTED = 5.0  # readings a bin of the chi-square should at least expect
TOLERANCE = 1e-6  # of a step


def laid_out(fit: Fit) -> PointSamples | CellSamples:
    """Lay the readings of a fit out as one sample.

    Up to `MOST_POINTS` values without a step stay points. All others are counted in at most about
    `MOST_CELLS` cells, made of whole steps of the gauge where there is one and narrow in the tails.

    Raises
    ------
    Refusal
        `too_few_cells`, also where the steps of two gauges share no edges; `several_windows`.
    """
    readings, likelihood = fit.readings, fit.likelihood
    if readings.windows is not None:
        raise Refusal(
            "several_windows",
            "Readings seen through several ranges are not tested together; those within the range "
            "all of them share can be.",
        )
    if readings.exact.all() and readings.size <= MOST_POINTS:
        x = np.repeat(likelihood.low, readings.counts.astype(int))
        return PointSamples(x=x[None], bins=_bin_edges(fit), window=likelihood.window)
    edges = _edges(fit)
    counts = _counted(readings, edges)
    if counts.max() > MOST_IN_ONE * readings.size:
        raise Refusal(
            "too_few_cells",
            f"{counts.max():.0f} of {readings.size} readings fall into one cell, for the gauge is "
            "coarse or the steps of two gauges share no edges; no test of fit can see its shape.",
        )
    scaled = _scaled(fit, edges)
    below = fit.share_of_seen_below(edges[1:-1])
    return CellSamples(edges=scaled, counts=counts[None], starts=_bin_starts(below, readings.size))


def _bin_edges(fit: Fit) -> Values:
    """Give edges between bins of equal fitted shares, on the scale of the family."""
    number = _bin_count(fit.readings.size, MOST_CELLS)
    shares = np.arange(1, number) / number
    inside = fit.quantile(_within_window(fit, shares))
    return _scaled(fit, inside)


def _bin_count(size: int, most: int) -> int:
    wanted = round(2 * math.pow(size, 0.4))
    return max(2, min(wanted, int(size // EXPECTED), most))


def _bin_starts(below: Values, size: int) -> NDArray[np.int64]:
    """Join cells into bins of about equal shares: the first cell of each."""
    number = _bin_count(size, below.size + 1)
    targets = np.arange(1, number) / number
    nearest = np.unique(np.abs(below[None] - targets[:, None]).argmin(axis=1))
    return np.concatenate([[0], nearest + 1]).astype(np.int64)


def _edges(fit: Fit) -> Values:
    """Give the edges of cells: the window's ends outermost, as many of the lattice's within."""
    readings = fit.readings
    wanted = _levels(readings.size)
    if readings.exact.all():
        lattice = fit.quantile(_within_window(fit, wanted))
    else:
        lattice = _lattice(fit)
        below = fit.share_below(lattice)
        levels = _within_window(fit, wanted)
        lattice = lattice[np.unique(np.abs(below[None] - levels[:, None]).argmin(axis=1))]
    low, high = readings.window
    slack = TOLERANCE * float(np.diff(lattice).min(initial=0.0)) if lattice.size > 1 else 0.0
    lattice = np.unique(lattice[(lattice > low + slack) & (lattice < high - slack)])
    if lattice.size + 1 < FEWEST_CELLS:
        raise Refusal(
            "too_few_cells",
            f"The readings fall into {lattice.size + 1} steps of the gauge that no reading "
            f"straddles; a test of fit needs at least {FEWEST_CELLS}.",
        )
    return np.concatenate([[low], lattice, [high]])


def _levels(size: int) -> Values:
    """Give the fitted shares at which cells should end: even, and finer towards both ends."""
    tail = np.geomspace(0.2 / size, 1 / MOST_CELLS, 12) if size > MOST_CELLS else np.zeros(0)
    even = np.linspace(0, 1, MOST_CELLS + 1)[1:-1]
    return np.unique(np.concatenate([tail, even, 1 - tail]))


def _lattice(fit: Fit) -> Values:
    """Give the edges of the gauge's steps, seen or not, that no interval straddles."""
    readings = fit.readings
    known = readings.known & ~readings.exact
    widths = (readings.high - readings.low)[known]
    ends = np.concatenate([readings.low, readings.high])
    ends = np.unique(ends[np.isfinite(ends)])
    step = float(widths.min()) if widths.size else 0.0
    if step > 0 and (np.abs(widths - step) < TOLERANCE * step).all():
        origin = readings.low[known][0]
        far = fit.quantile([1e-3 / readings.size, 1 - 1e-3 / readings.size])
        reach = [min(far[0], ends[0]), max(far[1], ends[-1])]
        first, last = (int(np.rint((end - origin) / step)) for end in reach)
        stride = max(1, (last - first) // 20_000)
        ends = np.union1d(origin + step * np.arange(first - 1, last + 2, stride), ends)
        ends = ends[np.append(True, np.diff(ends) > TOLERANCE * step)]
    return ends[~_straddled(readings, ends, TOLERANCE * step)]


def _straddled(readings: Readings, edges: Values, slack: float) -> NDArray[np.bool_]:
    """Tell which edges lie inside some interval."""
    first = np.searchsorted(edges, readings.low + slack, side="right")
    last = np.searchsorted(edges, readings.high - slack, side="left")
    marks = np.zeros(edges.size + 1)
    inside = last > first
    np.add.at(marks, first[inside], 1)
    np.add.at(marks, last[inside], -1)
    return np.cumsum(marks)[:-1] > 0


def _counted(readings: Readings, edges: Values) -> Values:
    """Count readings in cells; each interval lies in one of them."""
    low, high = readings.low, readings.high
    at = np.where(np.isfinite(low) & np.isfinite(high), (low + high) / 2, 0.0)
    at = np.where(np.isfinite(low), at, np.nextafter(high, -np.inf))
    at = np.where(np.isfinite(high), at, np.nextafter(low, np.inf))
    place = np.clip(np.searchsorted(edges, at, side="left") - 1, 0, edges.size - 2)
    return np.bincount(place, readings.counts, minlength=edges.size - 1).astype(float)


def _within_window(fit: Fit, shares: Values) -> Values:
    """Turn shares of what the window shows into shares of the whole distribution."""
    low, high = (float(fit.share_below(end)[0]) for end in fit.readings.window)
    return np.clip(low + shares * (high - low), 1e-15, 1 - 1e-15)


def _scaled(fit: Fit, edges: Values) -> Values:
    if not fit.likelihood.family.logged:
        return edges
    with np.errstate(divide="ignore"):
        return np.asarray(np.log(np.maximum(edges, 0.0)), dtype=float)
