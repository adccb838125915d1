"""Several families by ranks: Kruskal-Wallis over all of them, Dunn's comparisons two by two."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import chdtrc, ndtr
from scipy.stats import rankdata

from workbench.inference.adjustment import holm
from workbench.inference.samples import Values, clean_families, require_spread, settled


@dataclass(frozen=True, slots=True, kw_only=True)
class KruskalWallis:
    """H, corrected for ties, its degrees of freedom, and the chi-square p of 'all are alike'."""

    statistic: float
    degrees_of_freedom: int

    @property
    def p_value(self) -> float:
        """The p against 'no family tends to larger values than another'."""
        return float(chdtrc(self.degrees_of_freedom, self.statistic))


@dataclass(frozen=True, slots=True, kw_only=True)
class RankPair:
    """One of Dunn's comparisons: mean rank of the candidate less that of the reference, over z.

    `p_value` stands alone; `adjusted` is held against the level for the whole set.
    """

    candidate: str
    reference: str
    mean_rank_difference: float
    statistic: float
    p_value: float
    adjusted: float


def kruskal_wallis(families: Mapping[str, ArrayLike]) -> KruskalWallis:
    """Answer whether any of several families tends to larger values, without a shape assumed.

    Parameters
    ----------
    families : mapping of str to array_like
        One number a block; two or more families. The chi-square p is rough below five blocks a
        family.

    Raises
    ------
    Refusal
        `too_few_families`, `too_few`, `not_finite`, `zero_spread` when all values are equal.

    References
    ----------
    Kruskal, W. H., Wallis, W. A. (1952). Use of ranks in one-criterion variance analysis. Journal
    of the American Statistical Association 47, 583-621 (from memory).
    """
    counts, means, variance = _ranked(families)
    total = counts.sum()
    between = float((counts * (means - (total + 1) / 2) ** 2).sum())
    return KruskalWallis(statistic=between / variance, degrees_of_freedom=counts.size - 1)


def dunn(
    families: Mapping[str, ArrayLike], adjust: Callable[[Values], Values] = holm
) -> tuple[RankPair, ...]:
    """Answer which of several families tend to larger values, each pair, by joint ranks.

    Parameters
    ----------
    families : mapping of str to array_like
        One number a block.
    adjust : callable
        How the p-values of the set are adjusted: any function of `adjustment`.

    Returns
    -------
    tuple of RankPair
        Later family less earlier one, in the order given.

    References
    ----------
    Dunn, O. J. (1964). Multiple comparisons using rank sums. Technometrics 6, 241-252 (from
    memory).
    """
    names = list(families)
    counts, means, variance = _ranked(families)
    pairs = list(combinations(range(counts.size), 2))
    apart = np.array([means[later] - means[earlier] for earlier, later in pairs])
    error = np.sqrt([variance * (1 / counts[i] + 1 / counts[j]) for i, j in pairs])
    z = apart / error
    p = 2 * ndtr(-np.abs(z))
    return tuple(
        RankPair(
            candidate=names[later],
            reference=names[earlier],
            mean_rank_difference=float(apart[place]),
            statistic=float(z[place]),
            p_value=float(p[place]),
            adjusted=float(adjusted),
        )
        for place, ((earlier, later), adjusted) in enumerate(zip(pairs, adjust(p), strict=True))
    )


def _ranked(families: Mapping[str, ArrayLike]) -> tuple[Values, Values, float]:
    """Give counts, mean ranks and the variance of one rank (ties taken into account)."""
    rows = list(clean_families(families, least=1).values())
    together = np.concatenate(rows)
    require_spread(together, name="all families together")
    ranks = rankdata(settled(together))
    ends = np.cumsum([row.size for row in rows])
    parts = np.split(ranks, ends[:-1])
    counts = np.array([part.size for part in parts], dtype=float)
    means = np.array([math.fsum(part) / part.size for part in parts])
    return counts, means, float(ranks.var(ddof=1))
