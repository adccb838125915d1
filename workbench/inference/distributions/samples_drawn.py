"""Many samples of one design at once: their likelihoods, and their distances from a family."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Protocol, Self

import numpy as np
from numpy.typing import NDArray

from workbench.inference.distributions.edf import (
    anderson_darling,
    anderson_darling_cells,
    chi_square,
    cramer_von_mises,
    cramer_von_mises_cells,
    kolmogorov_smirnov,
    kolmogorov_smirnov_cells,
)
from workbench.inference.distributions.family import Family, Frame, difference_of_tails

Values = NDArray[np.float64]
Codes = NDArray[np.int64]

TESTS = ("anderson-darling", "cramer-von-mises", "kolmogorov-smirnov", "chi-square")


class Samples(Protocol):
    """Samples of one size, one row each; `bins` are where the chi-square counts."""

    @property
    def count(self) -> int:
        """How many samples there are."""
        ...

    @property
    def size(self) -> float:
        """How many readings a sample holds."""
        ...

    def log_likelihoods(self, family: Family, rows: Values, frame: Frame) -> Values:
        """Give the mean log-likelihood of each sample under its own row of coordinates."""
        ...

    def scores(self, family: Family, rows: Values, frame: Frame, step: float) -> Values:
        """Give slopes of one reading's log-likelihood at one row: unit by coordinate, weighted."""
        ...

    def some(self, which: NDArray[np.bool_]) -> Self:
        """Give some of the samples."""
        ...

    def distances(self, family: Family, rows: Values, frame: Frame) -> dict[str, Values]:
        """Give each test's statistic of each sample from its own row of coordinates."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CellSamples:
    """Counts in common cells.

    `edges` rise from the window's lower to its upper end, on the scale of the family; `starts` are
    the first cells of the bins.
    """

    edges: Values
    counts: Values
    starts: Codes

    @property
    def count(self) -> int:
        """How many samples there are."""
        return len(self.counts)

    @property
    def size(self) -> float:
        """How many readings a sample holds."""
        return float(self.counts[0].sum())

    def shares(self, family: Family, rows: Values, frame: Frame) -> Values:
        """Give the share of every cell under each row, adding up to 1."""
        found = np.exp(family.log_mass(self.edges[:-1], self.edges[1:], rows, frame))
        share: Values = found / found.sum(axis=1, keepdims=True)
        return share

    def log_likelihoods(self, family: Family, rows: Values, frame: Frame) -> Values:
        """Give the mean log-likelihood of each sample."""
        logs = self._logs(family, rows, frame)
        with np.errstate(invalid="ignore"):
            products = np.where(self.counts > 0, self.counts * logs, 0.0)
        found: Values = products.sum(axis=1) / self.size
        return found

    def scores(self, family: Family, rows: Values, frame: Frame, step: float) -> Values:
        """Give slopes at one row, each cell weighted by the root of its share."""
        around = np.vstack([rows + step * unit for unit in np.eye(rows.shape[1])])
        back = np.vstack([rows - step * unit for unit in np.eye(rows.shape[1])])
        with np.errstate(invalid="ignore"):
            slopes = self._logs(family, around, frame) - self._logs(family, back, frame)
        root = np.sqrt(self.shares(family, rows, frame))
        weighted: Values = np.nan_to_num(slopes / (2 * step) * root, posinf=0.0, neginf=0.0).T
        return weighted

    def some(self, which: NDArray[np.bool_]) -> CellSamples:
        """Give some of the samples."""
        return replace(self, counts=self.counts[which])

    def distances(self, family: Family, rows: Values, frame: Frame) -> dict[str, Values]:
        """Give the four statistics."""
        shares = self.shares(family, rows, frame)
        bins = (np.add.reduceat(part, self.starts, axis=1) for part in (self.counts, shares))
        found = (
            anderson_darling_cells(self.counts, shares),
            cramer_von_mises_cells(self.counts, shares),
            kolmogorov_smirnov_cells(self.counts, shares),
            chi_square(*bins),
        )
        return dict(zip(TESTS, found, strict=True))

    def _logs(self, family: Family, rows: Values, frame: Frame) -> Values:
        logs = family.log_mass(self.edges[:-1], self.edges[1:], rows, frame)
        if np.isfinite(self.edges[[0, -1]]).any():
            logs = logs - _seen(family, self.edges[[0, -1]], rows, frame)
        return logs


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PointSamples:
    """Values without a step, each sample in rising order; `bins` are edges, on the same scale."""

    x: Values
    bins: Values
    window: Values

    @property
    def count(self) -> int:
        """How many samples there are."""
        return len(self.x)

    @property
    def size(self) -> float:
        """How many readings a sample holds."""
        return float(self.x.shape[1])

    def log_likelihoods(self, family: Family, rows: Values, frame: Frame) -> Values:
        """Give the mean log-likelihood of each sample."""
        found = family.log_density(self.x, rows, frame)
        if np.isfinite(self.window).any():
            found = found - _seen(family, self.window, rows, frame)
        mean: Values = found.mean(axis=1)
        return mean

    def scores(self, family: Family, rows: Values, frame: Frame, step: float) -> Values:
        """Give slopes at one row, at every value of every sample."""
        x = self.x.reshape(1, -1)
        all_of_them = replace(self, x=x)
        slopes = []
        for unit in np.eye(rows.shape[1]):
            ends = [all_of_them._logs(family, rows + side * step * unit, frame) for side in (1, -1)]
            with np.errstate(invalid="ignore"):
                slopes.append((ends[0] - ends[1])[0] / (2 * step))
        found = np.nan_to_num(np.array(slopes).T, posinf=0.0, neginf=0.0)
        weighted: Values = found / np.sqrt(x.size)
        return weighted

    def some(self, which: NDArray[np.bool_]) -> PointSamples:
        """Give some of the samples."""
        return replace(self, x=self.x[which])

    def distances(self, family: Family, rows: Values, frame: Frame) -> dict[str, Values]:
        """Give the four statistics."""
        below, above = self._tails(self.x, family, rows, frame)
        at_bins = self._tails(self.bins[None], family, rows, frame)[0]
        ends = np.ones((len(at_bins), 1))
        shares = np.diff(np.hstack([0 * ends, at_bins, ends]), axis=1)
        place = np.searchsorted(self.bins, self.x, side="left")
        place += (self.bins.size + 1) * np.arange(self.count)[:, None]
        cells = self.count * (self.bins.size + 1)
        counts = np.bincount(place.ravel(), minlength=cells).reshape(self.count, -1).astype(float)
        found = (
            anderson_darling(below, above),
            cramer_von_mises(below),
            kolmogorov_smirnov(below),
            chi_square(counts, shares),
        )
        return dict(zip(TESTS, found, strict=True))

    def _logs(self, family: Family, rows: Values, frame: Frame) -> Values:
        logs = family.log_density(self.x, rows, frame)
        if np.isfinite(self.window).any():
            logs = logs - _seen(family, self.window, rows, frame)
        return logs

    def _tails(
        self, x: Values, family: Family, rows: Values, frame: Frame
    ) -> tuple[Values, Values]:
        below, above = family.tails(x, rows, frame)
        if not np.isfinite(self.window).any():
            return below, above
        low, high = (family.tails(end[None, None], rows, frame) for end in self.window)
        seen = high[0] - low[0]
        return (below - low[0]) / seen, (above - high[1]) / seen


def _seen(family: Family, ends: Values, rows: Values, frame: Frame) -> Values:
    low, high = (family.tails(end[None, None], rows, frame) for end in ends)
    return difference_of_tails(low, high)
