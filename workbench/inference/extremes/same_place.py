"""Where the thinnest place lies: the same from block to block, or anywhere."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import gammaln

from workbench.errors import Refusal
from workbench.inference.estimates import Estimate
from workbench.inference.shares.count import Count, share_interval

Values = NDArray[np.float64]

MOST_EXACT = 60  # blocks; beyond, chance is drawn
DRAWS = 20_000
FEWEST_BLOCKS = 3
NOISE = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SamePlace:
    """How often blocks agree where they are thinnest.

    Attributes
    ----------
    counts : dict of str to int
        Blocks whose thinnest place bears the label; tied places count for each of them.
    chances : dict of str to float
        Each label's share of the grid: its chance if the thinnest place were anywhere.
    pairs, expected_pairs : float
        Pairs of blocks that agree, and how many would if it were anywhere.
    p_value : float
        The chance of as many agreeing pairs or more; `exact`, or from `draws` drawn studies.
    """

    counts: dict[str, int]
    chances: dict[str, float]
    blocks: int
    pairs: float
    expected_pairs: float
    p_value: float
    exact: bool
    draws: int

    def share(self, label: str, confidence: float = 0.95) -> Estimate:
        """Give the share of blocks that are thinnest at a label, with its exact interval."""
        if label not in self.counts:
            raise Refusal(
                "unknown_place", f"There is no {label!r}; there are {', '.join(self.counts)}."
            )
        return share_interval(
            Count(yes=self.counts[label], of=self.blocks), confidence, "clopper-pearson"
        )


def thinnest_places(
    data: pd.DataFrame, *, value: str = "value", block: str = "block", place: str = "place"
) -> dict[str, tuple[str, ...]]:
    """Give every block's thinnest place, or places where tied.

    `data` has one row a place of a block, all blocks on the same grid.

    Raises
    ------
    Refusal
        `no_column`, `unlike_grids` where a block lacks a place others have.
    """
    absent = [name for name in (value, block, place) if name not in data.columns]
    if absent:
        raise Refusal("no_column", f"The table has no column {', '.join(map(repr, absent))}.")
    table = data.assign(**{place: data[place].astype(str), block: data[block].astype(str)})
    wide = table.pivot_table(index=block, columns=place, values=value, aggfunc="mean")
    lacking = wide.index[wide.isna().any(axis=1)]
    if len(lacking):
        raise Refusal(
            "unlike_grids",
            f"{len(lacking)} of {len(wide)} blocks, the first {lacking[0]}, were not read at every "
            "place of the grid; keep the places all were read at.",
        )
    values, places = wide.to_numpy(dtype=float), np.array([str(name) for name in wide.columns])
    least = values == values.min(axis=1, keepdims=True)
    return {
        str(name): tuple(places[row].tolist()) for name, row in zip(wide.index, least, strict=True)
    }


def same_place(
    thinnest: Mapping[str, Collection[str]] | Sequence[Collection[str]],
    grid: Sequence[str],
    *,
    seed: int,
    labels: Mapping[str, str] | None = None,
) -> SamePlace:
    """Answer whether blocks are thinnest at the same place more often than chance would have it.

    If nothing but chance decided, every place of the grid would be as likely, in every block anew;
    a pattern of the core box makes blocks agree. The statistic is the number of pairs of blocks
    that agree.

    Parameters
    ----------
    thinnest : mapping or sequence
        For every block its thinnest place of the grid, or places where tied (`thinnest_places`).
    grid : sequence of str
        All places, the same in every block.
    seed : int
        Used where the exact chance cannot be had: with ties, and beyond 60 blocks.
    labels : mapping of str to str, optional
        What to look at of each place: its station, its depth; the place itself when left out.

    Raises
    ------
    Refusal
        `too_few_blocks`, `unknown_place`, `one_label`.

    References
    ----------
    A permutation test within blocks, of the kind of Friedman's; the null distribution of the sum of
    squares of multinomial counts by recursion. No page is followed.

    Examples
    --------
    Three blocks that agree on one of four places, by chance 1 in 16:

    >>> same_place([["rear"]] * 3, ["front", "thrust", "rear", "counter"], seed=1).p_value
    0.0625
    """
    tied = list(thinnest.values() if isinstance(thinnest, Mapping) else thinnest)
    named = {place: (labels or {}).get(place, place) for place in grid}
    _check(tied, grid, named)
    sizes = Counter(named.values())
    names = list(sizes)
    chances = np.array([sizes[name] / len(grid) for name in names])
    weights = np.array([_shared(places, named, names) for places in tied])
    pairs = float(_agreeing(weights[None])[0])
    exact = len(tied) <= MOST_EXACT and all(len(places) == 1 for places in tied)
    p_value = (
        _exact_chance(round(pairs), len(tied), chances)
        if exact
        else _drawn_chance(pairs, tied, grid, named, names, np.random.default_rng(seed))
    )
    return SamePlace(
        counts={name: int((weights[:, i] > 0).sum()) for i, name in enumerate(names)},
        chances=dict(zip(names, chances.tolist(), strict=True)),
        blocks=len(tied),
        pairs=pairs,
        expected_pairs=len(tied) * (len(tied) - 1) / 2 * float(chances @ chances),
        p_value=p_value,
        exact=exact,
        draws=0 if exact else DRAWS,
    )


def _shared(places: Collection[str], named: Mapping[str, str], names: list[str]) -> list[float]:
    """Share a block out among the labels of its thinnest places."""
    count = Counter(named[place] for place in places)
    return [count[name] / len(places) for name in names]


def _agreeing(weights: Values) -> Values:
    """Count the pairs of blocks that agree; the last axes are blocks and labels."""
    together = weights.sum(axis=-2) ** 2 - (weights**2).sum(axis=-2)
    pairs: Values = together.sum(axis=-1) / 2
    return pairs


def _exact_chance(pairs: int, blocks: int, chances: Values) -> float:
    """Give P(agreeing pairs >= pairs) of `blocks` blocks, each at a label by chance.

    Label by label: how likely it is that so many blocks are placed with so many agreeing pairs.
    """
    most = blocks * (blocks - 1) // 2
    likely = np.zeros((blocks + 1, most + 1))
    likely[0, 0] = 1.0
    for chance in chances:
        fresh = np.zeros_like(likely)
        for count in range(blocks + 1):
            added = count * (count - 1) // 2
            term = math.exp(count * math.log(chance) - float(gammaln(count + 1)))
            fresh[count:, added:] += term * likely[: blocks + 1 - count, : most + 1 - added]
        likely = fresh
    whole = likely[blocks]
    return min(1.0, float(whole[pairs:].sum() / whole.sum()))


def _drawn_chance(
    pairs: float,
    tied: list[Collection[str]],
    grid: Sequence[str],
    named: Mapping[str, str],
    names: list[str],
    generator: np.random.Generator,
) -> float:
    """Draw each block's thinnest places anew among all of the grid."""
    label = np.array([names.index(named[place]) for place in grid])
    each = max(1, 2_000_000 // (len(tied) * len(names)))
    alone_at_one = sum(len(places) == 1 for places in tied)
    as_many = 0
    for at in range(0, DRAWS, each):
        some = min(each, DRAWS - at)
        rows = np.arange(some)
        single: list[NDArray[np.int64]] = []  # of blocks with one thinnest place, cell by cell
        total, alone = np.zeros((some, len(names))), np.full(some, float(alone_at_one))
        for places in tied:
            if len(places) == 1:
                drawn = label[generator.integers(len(grid), size=some)]
                single.append(rows * len(names) + drawn)
                continue
            weights = np.zeros((some, len(names)))
            order = generator.random((some, len(grid)))
            least = order.argpartition(len(places) - 1, axis=1)[:, : len(places)]
            for column in least.T:
                weights[rows, label[column]] += 1 / len(places)
            total += weights
            alone += (weights**2).sum(axis=1)
        if single:
            counted = np.bincount(np.concatenate(single), minlength=total.size)
            total += counted.reshape(total.shape)
        agreeing = ((total**2).sum(axis=1) - alone) / 2
        as_many += int((agreeing >= pairs - NOISE).sum())
    return (1 + as_many) / (1 + DRAWS)


def _check(tied: list[Collection[str]], grid: Sequence[str], named: Mapping[str, str]) -> None:
    if len(tied) < FEWEST_BLOCKS:
        raise Refusal(
            "too_few_blocks",
            f"{len(tied)} blocks show no pattern; at least {FEWEST_BLOCKS} are needed.",
        )
    known = set(grid)
    for places in tied:
        if not places or not set(places) <= known:
            raise Refusal(
                "unknown_place",
                f"A block is thinnest at {', '.join(places) or 'no place'}, which is not on the "
                f"grid of {len(grid)} places.",
            )
    if len(set(named.values())) < 2:
        raise Refusal("one_label", "All places bear one label: every block agrees.")
