"""A kernel estimate of a density: a smooth histogram, to look at and never to decide by."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr

from workbench.inference.distributions.family import quartiles
from workbench.inference.distributions.readings import Readings
from workbench.inference.samples import clean_values

Values = NDArray[np.float64]

LEAST_STEPS = 0.75  # a narrower kernel would show the gauge's steps as peaks
REACH = 3.0  # bandwidths beyond the readings
CHUNK = 2_000_000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Kernel:
    """The estimated density at points `x`, and the standard deviation of the kernel."""

    x: Values
    density: Values
    bandwidth: float


def kernel_estimate(
    readings: Readings, x: ArrayLike | None = None, bandwidth: float | None = None
) -> Kernel:
    """Answer what the readings look like when no family is assumed.

    A normal kernel over the middles of the intervals; censored readings have none and are left out.
    Where nothing was kept outside a window, the estimate ends there, and is divided by the part of
    the kernel that lies within, so that it does not sink towards the end.

    Parameters
    ----------
    readings : Readings
    x : array_like, optional
        Where; 256 points from end to end when left out.
    bandwidth : float, optional
        By Silverman's rule, 0.9 min(sd, quartile range / 1.34) n^(-1/5), when left out, but not
        below three quarters of the gauge's step.

    References
    ----------
    Silverman, B. W. (1986). Density Estimation, equation 3.31 and section 2.10 (from memory).
    """
    known = readings.known
    middle, counts = readings.middle[known], readings.counts[known]
    width = _bandwidth(readings) if bandwidth is None else bandwidth
    if x is None:
        reach = REACH * width
        ends = np.clip([middle.min() - reach, middle.max() + reach], *readings.window)
        points = np.linspace(ends[0], ends[1], 256)
    else:
        points = clean_values(x, name="the points")
    density = sum(_of_part(part, points, width) for part in readings.by_window)
    return Kernel(x=points, density=np.asarray(density) / counts.sum(), bandwidth=width)


def _of_part(readings: Readings, points: Values, width: float) -> Values:
    """Give the counts of one window times their kernels, cut to it."""
    known = readings.known
    middle, counts = readings.middle[known], readings.counts[known]
    density = np.zeros(points.size)
    each = max(1, CHUNK // points.size)
    for at in range(0, middle.size, each):
        z = (points[:, None] - middle[at : at + each]) / width
        density += np.exp(-0.5 * z * z) @ counts[at : at + each]
    low, high = ((end - points) / width for end in readings.window)
    within = np.where((low <= 0) & (high >= 0), ndtr(high) - ndtr(low), np.inf)
    return np.asarray(density / (width * np.sqrt(2 * np.pi)) / within)


def _bandwidth(readings: Readings) -> float:
    known = readings.known
    middle, counts = readings.middle[known], readings.counts[known]
    n = float(counts.sum())
    mean = counts @ middle / n
    deviation = float(np.sqrt(counts @ (middle - mean) ** 2 / (n - 1)))
    at, shares = quartiles(readings, logged=False)
    quarters = float(at[1] - at[0]) / 1.34 if shares[1] - shares[0] <= 0.5 else deviation
    rule = 0.9 * min(deviation, quarters) * math.pow(n, -0.2)
    step = float((readings.high[known] - readings.low[known]).max())
    return max(rule, LEAST_STEPS * step)
