"""The bootstrap of blocks and then of bores: both drawn anew, from one row a bore."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from workbench.errors import Refusal
from workbench.inference.resampling.blocks import (
    RESAMPLES,
    Bootstrap,
    Figure,
    Values,
    assembled,
    check_resamples,
    checked_families,
    chunk_sizes,
)

COMBINE = ("mean", "sum")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Bores:
    """Bores of one family laid out block by block, short blocks filled up with zeros."""

    table: Values
    counts: np.ndarray
    by_mean: bool

    def blocks(self) -> Values:
        """Give each block's mean or sum over its bores."""
        return self._finished(self.table.sum(axis=1), self.counts)

    def draw(self, generator: np.random.Generator, size: int) -> Values:
        """Draw blocks, and within each as many of its bores as it has."""
        k, widest = self.table.shape[:2]
        chosen = generator.integers(0, k, (size, k))
        counts = self.counts[chosen]
        bores = (generator.random((size, k, widest)) * counts[..., None]).astype(np.intp)
        drawn = self.table[chosen[..., None], bores]
        real = np.arange(widest) < counts[..., None]
        kept = np.where(real.reshape(real.shape + (1,) * (drawn.ndim - 3)), drawn, 0.0)
        return self._finished(kept.sum(axis=2), counts)

    def _finished(self, sums: Values, counts: np.ndarray) -> Values:
        if not self.by_mean:
            return sums
        means: Values = sums / counts.reshape(counts.shape + (1,) * (sums.ndim - counts.ndim))
        return means


def bootstrap_bores(
    families: Sequence[ArrayLike] | tuple[Sequence[ArrayLike], ...],
    figure: Figure,
    *,
    seed: int,
    resamples: int = RESAMPLES,
    combine: str = "mean",
    standard_error: Figure | None = None,
) -> Bootstrap:
    """Answer how sure a figure is when both the blocks and the bores in them were a sample.

    Blocks are drawn anew, then within each drawn block as many bores as it has; the figure sees one
    summary a block, as in `bootstrap_blocks`. The bores' spread, already inside the spread of the
    block summaries, is counted a second time, so intervals are a little long, the more so the fewer
    the bores; drawing blocks alone is the default choice.

    Parameters
    ----------
    families : list of array_like, or tuple of such lists
        One array a block: a number a bore, or a row of several a bore.
    figure : callable
        As for `bootstrap_blocks`; blocks lie along axis 1.
    seed, resamples, standard_error
        As for `bootstrap_blocks`.
    combine : {"mean", "sum"}
        How the bores of a block make its summary.

    Raises
    ------
    Refusal
        `too_few_bores` for a block without bores; else as `bootstrap_blocks`.

    References
    ----------
    Davison, A. C., Hinkley, D. V. (1997). Bootstrap Methods and their Application, section 3.8;
    Field, C. A., Welsh, A. H. (2007). Bootstrapping clustered data. Journal of the Royal
    Statistical Society B 69, 369-390. Both from memory.
    """
    check_resamples(resamples)
    if combine not in COMBINE:
        raise Refusal("unknown_method", f"Bores combine by one of {COMBINE}, not {combine!r}.")
    given = families if isinstance(families, tuple) else (families,)
    tables = [
        _laid_out(blocks, f"family {place}", combine == "mean")
        for place, blocks in enumerate(given, start=1)
    ]
    rows = checked_families(tuple(table.blocks() for table in tables))
    drawn = _draws(tables, resamples, np.random.default_rng(seed))
    return assembled(rows, drawn, figure, standard_error, seed)


def _draws(
    tables: Sequence[_Bores], resamples: int, generator: np.random.Generator
) -> Iterator[list[Values]]:
    for size in chunk_sizes(resamples, sum(table.table.size for table in tables)):
        yield [table.draw(generator, size) for table in tables]


def _laid_out(blocks: Sequence[ArrayLike], name: str, by_mean: bool) -> _Bores:
    bores = []
    for place, block in enumerate(blocks, start=1):
        try:
            rows = np.asarray(block, dtype=np.float64)
        except (TypeError, ValueError):
            raise Refusal(
                "not_numbers", f"Block {place} of {name} holds something that is not a number."
            ) from None
        if rows.ndim == 0 or len(rows) == 0:
            raise Refusal("too_few_bores", f"Block {place} of {name} has no bores.")
        bores.append(rows)
    if len({rows.shape[1:] for rows in bores}) > 1:
        raise Refusal("not_one_row", f"Every bore of {name} must have the same summaries.")
    counts = np.array([len(rows) for rows in bores], dtype=np.intp)
    widest = int(counts.max(initial=0))
    shape = bores[0].shape[1:] if bores else ()
    table = np.zeros((len(bores), widest, *shape))
    for place, rows in enumerate(bores):
        table[place, : len(rows)] = rows
    return _Bores(table=table, counts=counts, by_mean=by_mean)
