"""Two shares counted within blocks: how far they lie apart, blocks and not places the evidence.

Places of one block are alike, so they are worth fewer independent ones: by the design effect, how
much more the blocks' shares vary than those of independent places would. It is taken as common to
both families, so a family of one block borrows it. Each family's interval is Wilson's for what its
places are worth; the two make that of the difference by Newcombe's square-and-add. With one place
a block that is Newcombe's interval itself.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtri, stdtrit

from workbench.errors import Refusal
from workbench.inference.results import Interval, check_confidence
from workbench.inference.samples import clean_values

FEWEST_BLOCKS = 3
HALVINGS = 60
CERTAIN = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockShares:
    """One family: the mean of its blocks' shares, of so many blocks of so many places each."""

    share: float
    blocks: int
    places: float

    @property
    def counted(self) -> float:
        """All places of the family."""
        return self.blocks * self.places


@dataclass(frozen=True, slots=True, kw_only=True)
class SharesApart:
    """Candidate share less reference's, from -1 to 1.

    `design_effect` says how many places are worth one independent place, known with
    `degrees_of_freedom`; `shared` is a standard uncertainty of the difference that no further
    block averages out.
    """

    candidate: BlockShares
    reference: BlockShares
    design_effect: float
    degrees_of_freedom: float
    shared: float = 0.0
    method: str = "shares counted within blocks, Newcombe"

    @property
    def estimate(self) -> float:
        """The observed difference."""
        return self.candidate.share - self.reference.share

    @property
    def standard_error(self) -> float:
        """Of the difference, to first order; a share of none or all counts half a place."""
        return math.sqrt(
            sum(self.variance_of_block(family) / family.blocks for family in self._families)
            + self.shared**2
        )

    def variance_of_block(self, family: BlockShares) -> float:
        """Give the variance of one block's share."""
        worth = family.counted / self.design_effect
        share = (family.share * worth + 0.5) / (worth + 1)
        return share * (1 - share) * self.design_effect / family.places

    def widened(self, shared: float, degrees_of_freedom: float = math.inf) -> SharesApart:
        """Add an independent normal uncertainty; `degrees_of_freedom` of it are not used."""
        if not (shared >= 0 and math.isfinite(shared)):
            raise Refusal("bad_uncertainty", f"A standard uncertainty is 0 or more, not {shared}.")
        return replace(self, shared=math.hypot(self.shared, shared))

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give the interval of the difference."""
        check_confidence(confidence)
        low, high = self._limits(1 - confidence)
        return Interval(low=low, high=high, confidence=confidence)

    def p_value(self, margin: float = 0.0) -> float:
        """Give the two-sided p of the boundary `margin`: where an interval's end touches it."""
        if not -1 < margin < 1:
            raise Refusal("bad_margin", f"Shares differ by less than 1; the margin is {margin}.")
        if margin == self.estimate:
            return 1.0
        inside, outside = math.log(CERTAIN), 0.0  # logarithms of 1 - confidence
        for _ in range(HALVINGS):
            middle = (inside + outside) / 2
            low, high = self._limits(math.exp(middle))
            if low <= margin <= high:
                inside = middle
            else:
                outside = middle
        return math.exp(outside)

    def p_above(self, margin: float) -> float:
        """Give the one-sided p against 'the difference is `margin` or less'."""
        half = self.p_value(margin) / 2
        return half if self.estimate > margin else 1 - half

    def p_below(self, margin: float) -> float:
        """Give the one-sided p against 'the difference is `margin` or more'."""
        half = self.p_value(margin) / 2
        return half if self.estimate < margin else 1 - half

    @property
    def _families(self) -> tuple[BlockShares, BlockShares]:
        return self.candidate, self.reference

    def _limits(self, level: float) -> tuple[float, float]:
        own, other = self.candidate.share, self.reference.share
        own_low, own_high = self._wilson(self.candidate, level)
        low, high = self._wilson(self.reference, level)
        z = -float(ndtri(level / 2))
        added = z * self.shared
        return (
            max(-1.0, own - other - math.hypot(own - own_low, high - other, added)),
            min(1.0, own - other + math.hypot(own_high - own, other - low, added)),
        )

    def _wilson(self, family: BlockShares, level: float) -> tuple[float, float]:
        """Give Wilson's limits for what the family's places are worth."""
        z, n, p = -float(ndtri(level / 2)), family.counted / self.design_effect, family.share
        if self.degrees_of_freedom < math.inf:
            t = float(stdtrit(self.degrees_of_freedom, level / 2))
            n *= (z / t) ** 2
        middle, reach = p + z**2 / (2 * n), z * math.sqrt(p * (1 - p) / n + (z / (2 * n)) ** 2)
        low, high = ((middle + side * reach) / (1 + z**2 / n) for side in (-1, 1))
        return (0.0 if p == 0 else max(0.0, low)), (1.0 if p == 1 else min(1.0, high))


def shares_in_blocks(
    candidate: ArrayLike, reference: ArrayLike, *, places: tuple[float, float]
) -> SharesApart:
    """Answer how far two families' shares lie apart, several places counted in each block.

    Parameters
    ----------
    candidate, reference : array_like
        One number a block: the share of its places (or bores) that show the feature, 0 to 1.
    places : tuple of float
        Places a block, of candidate and of reference; the mean where blocks differ a little.

    Returns
    -------
    SharesApart
        Positive when the candidate's share is larger. Where no place, or every place, shows the
        feature, blocks count once each.

    Raises
    ------
    Refusal
        `too_few_blocks` below three in all; `bad_share`, `bad_count`, `too_few`, `not_finite`.

    References
    ----------
    Newcombe, R. G. (1998). Interval estimation for the difference between independent proportions:
    comparison of eleven methods. Statistics in Medicine 17, 873-890, method 10. Korn, E. L.,
    Graubard, B. I. (1998). Confidence intervals for proportions with small expected number of
    positive counts estimated from survey data. Survey Methodology 24, 193-201 (what places are
    worth). Donner, A., Klar, N. (2000). Design and Analysis of Cluster Randomization Trials,
    chapter 6 (the common design effect). All from memory.

    Examples
    --------
    Newcombe's own table, one place a block: 56 of 70 against 48 of 80.

    >>> found = shares_in_blocks([1] * 56 + [0] * 14, [1] * 48 + [0] * 32, places=(1, 1))
    >>> f"{found.estimate:.2f}, {found.interval().low:.4f} to {found.interval().high:.4f}"
    '0.20, 0.0524 to 0.3339'
    """
    rows = [
        _shares(row, name)
        for row, name in ((candidate, "the candidate"), (reference, "the reference"))
    ]
    blocks = sum(row.size for row in rows)
    if blocks < FEWEST_BLOCKS:
        raise Refusal(
            "too_few_blocks",
            f"{blocks} blocks do not tell how shares vary; at least {FEWEST_BLOCKS} are needed.",
        )
    for many in places:
        if not (many >= 1 and math.isfinite(many)):
            raise Refusal("bad_count", f"A block has a place or more, not {many}.")
    families = [
        BlockShares(share=float(row.mean()), blocks=row.size, places=float(many))
        for row, many in zip(rows, places, strict=True)
    ]
    alone = max(places) == 1
    effect = 1.0 if alone else _design_effect(rows, families)
    return SharesApart(
        candidate=families[0],
        reference=families[1],
        design_effect=effect,
        degrees_of_freedom=math.inf if alone else float(blocks - 2),
    )


def _shares(values: ArrayLike, name: str) -> np.ndarray:
    row = clean_values(values, name=name)
    if row.min() < 0 or row.max() > 1:
        raise Refusal("bad_share", f"A share of {name} lies between 0 and 1.")
    return row


def _design_effect(rows: list[np.ndarray], families: list[BlockShares]) -> float:
    """Give the variance of block shares over that of independent places, from 1 to the places."""
    places = max(family.places for family in families)
    blocks = sum(row.size for row in rows)
    seen = sum(float(((row - row.mean()) ** 2).sum()) for row in rows) / (blocks - 2)
    independent = sum(
        family.blocks * family.share * (1 - family.share) / family.places for family in families
    )
    if independent <= 0:
        return places
    return min(max(seen * blocks / independent, 1.0), places)
