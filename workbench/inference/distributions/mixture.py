"""Two normal populations in one sample: two pours, or two core boxes."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit

from workbench.inference.distributions.family import (
    Frame,
    LocationScale,
)
from workbench.inference.distributions.inverse import inverse
from workbench.inference.distributions.readings import Readings
from workbench.inference.distributions.standard import Normal

Values = NDArray[np.float64]

LEAST_SD = 0.1  # of the whole sample's: below, a part would chase single readings
CUTS = (0.15, 0.35, 0.5, 0.65, 0.85)
BELOW = "A part shrank to its bound, a tenth of the whole spread: it describes a few readings only."
EMPTY = "One part is empty: a single normal says the same."
ONE = LocationScale(name="normal", label="normal", parameters=("mean", "sd"), standard=Normal())


@dataclass(frozen=True, slots=True, kw_only=True)
class NormalMixture:
    """Two normals with a share; coordinates: logit of the first share, then mean and log sd each.

    The first part is the one of lower mean.
    """

    name: str = "normal-mixture"
    label: str = "mixture of two normals"
    parameters: tuple[str, ...] = (
        "share_first",
        "mean_first",
        "sd_first",
        "mean_second",
        "sd_second",
    )
    logged: bool = False

    @property
    def bounds(self) -> tuple[tuple[float, float], ...]:
        """The least and greatest value of each coordinate."""
        deviation = (math.log(LEAST_SD), 7.0)
        return ((-9.0, 9.0), (-1e3, 1e3), deviation, (-1e3, 1e3), deviation)

    @property
    def at_bound(self) -> dict[tuple[int, int], str]:
        """What it means when a coordinate lies at its bound."""
        return {(0, 0): EMPTY, (0, 1): EMPTY, (2, 0): BELOW, (4, 0): BELOW}

    def natural(self, rows: Values, frame: Frame) -> Values:
        """Give the share, then mean and sd of each part."""
        turned = np.column_stack([-rows[:, 0], rows[:, 3:5], rows[:, 1:3]])
        ordered = np.where(rows[:, 1:2] <= rows[:, 3:4], rows, turned)
        means = frame.centre + frame.unit * ordered[:, [1, 3]]
        deviations = frame.unit * np.exp(ordered[:, [2, 4]])
        natural: Values = np.column_stack(
            [expit(ordered[:, 0]), means[:, 0], deviations[:, 0], means[:, 1], deviations[:, 1]]
        )
        return natural

    def starts(self, readings: Readings, frame: Frame) -> Values:
        """Cut the sample in two at several places, and lay a wide part over a narrow one."""
        x = (readings.middle - frame.centre) / frame.unit
        order = np.argsort(x)
        x, w = x[order], readings.counts[order] / readings.size
        below = np.cumsum(w) - w / 2
        rows = [[0.0, -0.2, math.log(0.5), 0.2, math.log(1.3)]]
        for cut in CUTS:
            parts = [_moments(x[side], w[side]) for side in (below < cut, below >= cut)]
            rows.append([math.log(cut / (1 - cut)), *parts[0], *parts[1]])
        limits = np.array(self.bounds)
        within: Values = np.clip(np.array(rows), limits[:, 0] + 1e-3, limits[:, 1])
        return within

    def log_density(self, x: Values, rows: Values, frame: Frame) -> Values:
        """Give the density."""
        first, second = (ONE.log_density(x, part, frame) for part in _parts(rows))
        return _blended(first, second, rows)

    def tails(self, x: Values, rows: Values, frame: Frame) -> tuple[Values, Values]:
        """Give both tails."""
        share = expit(rows[:, :1])
        first, second = (ONE.tails(x, part, frame) for part in _parts(rows))
        below, above = (share * a + (1 - share) * b for a, b in zip(first, second, strict=True))
        return below, above

    def log_mass(self, low: Values, high: Values, rows: Values, frame: Frame) -> Values:
        """Give the logarithm of the probability of intervals."""
        first, second = (ONE.log_mass(low, high, part, frame) for part in _parts(rows))
        return _blended(first, second, rows)

    def quantile(self, share: Values, rows: Values, frame: Frame) -> Values:
        """Invert by closing in."""
        z = inverse(
            lambda z: self.tails(frame.centre + frame.unit * z, rows, frame)[0], share, rows[:, :1]
        )
        return frame.centre + frame.unit * z


def _parts(rows: Values) -> tuple[Values, Values]:
    return rows[:, 1:3], rows[:, 3:5]


def _blended(first: Values, second: Values, rows: Values) -> Values:
    """Give log(share exp(first) + (1 - share) exp(second))."""
    share = expit(rows[:, :1])
    with np.errstate(divide="ignore"):
        both: Values = np.logaddexp(np.log(share) + first, np.log1p(-share) + second)
    return both


def _moments(x: Values, w: Values) -> tuple[float, float]:
    if not w.sum() > 0:
        return 0.0, 0.0
    mean = float(w @ x / w.sum())
    deviation = math.sqrt(float(w @ (x - mean) ** 2 / w.sum()))
    return mean, math.log(max(deviation, 2 * LEAST_SD))


def peaks(share: float, means: tuple[float, float], deviations: tuple[float, float]) -> int:
    """Count the peaks of a mixture of two normals, 1 or 2."""
    reach = np.linspace(min(means), max(means), 2001)
    z = [(reach - m) / s for m, s in zip(means, deviations, strict=True)]
    weights = (share / deviations[0], (1 - share) / deviations[1])
    height = sum(w * np.exp(-0.5 * u * u) for w, u in zip(weights, z, strict=True))
    inside = np.asarray(height)
    # A trough between the two means makes two peaks; peaks never lie outside of them.
    falls = np.flatnonzero(np.diff(inside) < 0)
    rises = np.flatnonzero(np.diff(inside) > 0)
    return 2 if falls.size and rises.size and falls[0] < rises[-1] else 1
