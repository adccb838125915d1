"""Samples drawn from a fit: independent readings, or readings alike within blocks and bores."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from workbench.inference.distributions.family import Family, Frame
from workbench.inference.distributions.samples_drawn import CellSamples, PointSamples

Values = NDArray[np.float64]
Codes = NDArray[np.int64]

AT_ONCE = 2_000_000  # numbers drawn at a time
SCORES = np.linspace(-8.5, 8.5, 3401)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Grouping:
    """Which groups readings belong to, outermost first, and how alike they are in each.

    `codes` holds one array a level, a number for every reading; `alike` the share of the variance
    of normal scores that each level has.
    """

    codes: tuple[Codes, ...]
    alike: tuple[float, ...]

    @property
    def size(self) -> int:
        """The number of readings."""
        return self.codes[0].size

    def normal_scores(self, count: int, generator: np.random.Generator) -> Values:
        """Draw standard normal numbers, alike within groups; one row a sample."""
        scores = generator.standard_normal((count, self.size))
        scores *= np.sqrt(1 - sum(self.alike))
        for codes, alike in zip(self.codes, self.alike, strict=True):
            if alike > 0:
                effects = generator.standard_normal((count, int(codes.max()) + 1))
                scores += (np.sqrt(alike) * effects)[:, codes]
        return scores


def drawn(
    like: PointSamples | CellSamples,
    family: Family,
    row: Values,
    frame: Frame,
    *,
    count: int,
    generator: np.random.Generator,
    grouping: Grouping | None = None,
) -> PointSamples | CellSamples:
    """Draw `count` samples of the same size and layout from a member of a family."""
    if isinstance(like, CellSamples):
        shares = like.shares(family, row[None], frame)[0]
        if grouping is None:
            counts = generator.multinomial(round(like.size), shares, size=count).astype(float)
        else:
            counts = _grouped_counts(shares, grouping, count, generator)
        return CellSamples(edges=like.edges, counts=counts, starts=like.starts)
    window = like.window
    low, high = (float(family.tails(end[None, None], row[None], frame)[0][0, 0]) for end in window)
    table = family.quantile(
        np.clip(low + ndtr(SCORES) * (high - low), 1e-300, 1 - 1e-16)[None], row[None], frame
    )[0]
    size = round(like.size)
    scores = (
        generator.standard_normal((count, size))
        if grouping is None
        else grouping.normal_scores(count, generator)
    )
    x = np.sort(np.interp(scores, SCORES, table), axis=1)
    return PointSamples(x=x, bins=like.bins, window=window)


def _grouped_counts(
    shares: Values, grouping: Grouping, count: int, generator: np.random.Generator
) -> Values:
    """Cut normal scores into cells of the given shares, a part of the samples at a time."""
    cuts = ndtri(np.minimum(np.cumsum(shares)[:-1], 1.0))
    cells, each = shares.size, max(1, AT_ONCE // grouping.size)
    parts = []
    for at in range(0, count, each):
        some = min(each, count - at)
        place = np.searchsorted(cuts, grouping.normal_scores(some, generator))
        place += cells * np.arange(some)[:, None]
        parts.append(np.bincount(place.ravel(), minlength=some * cells).reshape(some, cells))
    return np.concatenate(parts).astype(float)
