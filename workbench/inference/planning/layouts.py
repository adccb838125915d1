"""What a plan of blocks, bores and readings makes of the spreads: standard error and freedom.

A family of b blocks, c bores in each and r readings in each bore varies in its mean by
v = block^2 / b + bore^2 / (b c) + reading^2 / (b c r). How well v will be known follows from the
expected information of the strata a nested analysis has, so that the degrees of freedom are those
of Kenward and Roger (of Satterthwaite too; the design is balanced within families).

References
----------
Cochran, W. G. (1977). Sampling Techniques, 3rd ed., chapter 10; Searle, S. R., Casella, G. and
McCulloch, C. E. (1992). Variance Components, chapters 3 and 4. Both from memory.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workbench.errors import Refusal

Values = NDArray[np.float64]
LEAST_GROUPS = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Spreads:
    """Standard deviations between blocks, between bores of a block, between readings of a bore."""

    block: float
    bore: float = 0.0
    reading: float = 0.0

    def __post_init__(self) -> None:
        """Refuse spreads below 0, or none at all."""
        for name in ("block", "bore", "reading"):
            value = getattr(self, name)
            if not (value >= 0 and math.isfinite(value)):
                raise Refusal("bad_spread", f"The spread of a {name} is 0 or more, not {value}.")
        if self.block == self.bore == self.reading == 0:
            raise Refusal("bad_spread", "One of the spreads must be above 0.")

    def of_block_mean(self, bores: float, readings: float) -> float:
        """Give the variance of one block's mean of so many bores and readings a bore."""
        inside = self.bore**2 + self.reading**2 / readings
        return self.block**2 + inside / bores


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """How many blocks of a family, bores in each block, readings in each bore."""

    blocks: int
    bores: int = 1
    readings: int = 1

    def __post_init__(self) -> None:
        """Refuse counts below 1 and parts of blocks."""
        for name in ("blocks", "bores", "readings"):
            value = getattr(self, name)
            if value < 1 or value != int(value):
                raise Refusal("bad_layout", f"{name} are whole numbers from 1 up, not {value}.")

    @property
    def total(self) -> int:
        """All readings of the family."""
        return self.blocks * self.bores * self.readings


@dataclass(frozen=True, slots=True, kw_only=True)
class Precision:
    """The standard error a plan gives, and the degrees of freedom it is known with."""

    standard_error: float
    degrees_of_freedom: float

    def widened(self, shared: float) -> Precision:
        """Add a standard uncertainty that no further reading averages out (JCGM 100, G.4)."""
        if not (shared >= 0 and math.isfinite(shared)):
            raise Refusal("bad_uncertainty", f"A standard uncertainty is 0 or more, not {shared}.")
        own = self.standard_error**2
        total = own + shared**2
        return Precision(
            standard_error=math.sqrt(total),
            degrees_of_freedom=self.degrees_of_freedom * (total / own) ** 2,
        )


def mean_precision(spreads: Spreads, layout: Layout) -> Precision:
    """Answer how well a plan tells the mean of one family.

    Raises
    ------
    Refusal
        `one_block`: a single block has no spread between blocks.

    Examples
    --------
    Oxide layers on 8 lots of 3 wafers of 3 sites (Pinheiro and Bates 2000):

    >>> spreads = Spreads(block=11.398, bore=5.989, reading=3.545)
    >>> found = mean_precision(spreads, Layout(blocks=8, bores=3, readings=3))
    >>> round(found.standard_error, 3), found.degrees_of_freedom
    (4.232, 7)
    """
    if layout.blocks < LEAST_GROUPS:
        raise Refusal("one_block", "One block shows no spread between blocks; plan 2 or more.")
    variance = spreads.of_block_mean(layout.bores, layout.readings) / layout.blocks
    return Precision(standard_error=math.sqrt(variance), degrees_of_freedom=layout.blocks - 1)


def contrast_precision(
    spreads: Spreads,
    candidate: Layout,
    reference: Layout,
    *,
    reference_spreads: Spreads | None = None,
) -> Precision:
    """Answer how well a plan tells the difference of two families.

    Parameters
    ----------
    spreads : Spreads
        Of both families, or of the candidate where `reference_spreads` is given.
    candidate, reference : Layout
        Either may hold a single block while spreads are common.
    reference_spreads : Spreads, optional
        The reference's own, estimated apart: Welch's degrees of freedom on block means.

    Returns
    -------
    Precision
        With common spreads and alike bores and readings, blocks in all less 2 degrees of freedom.

    Raises
    ------
    Refusal
        `one_block` where no block is repeated, or one family with spreads of its own has one.
    """
    layouts = (candidate, reference)
    own = spreads if reference_spreads is None else reference_spreads
    means = [
        each.of_block_mean(layout.bores, layout.readings) / layout.blocks
        for each, layout in zip((spreads, own), layouts, strict=True)
    ]
    variance = sum(means)
    if reference_spreads is None:
        if candidate.blocks + reference.blocks <= LEAST_GROUPS:
            raise Refusal(
                "one_block", "One block of each family shows no spread between blocks at all."
            )
        freedom = _common_freedom(spreads, layouts, variance)
    else:
        if min(candidate.blocks, reference.blocks) < LEAST_GROUPS:
            raise Refusal(
                "one_block",
                "A family of one block shows no spread of its own; plan 2 or more of each.",
            )
        freedom = variance**2 / sum(
            mean**2 / (layout.blocks - 1) for mean, layout in zip(means, layouts, strict=True)
        )
    return Precision(standard_error=math.sqrt(variance), degrees_of_freedom=freedom)


def _common_freedom(spreads: Spreads, layouts: tuple[Layout, Layout], variance: float) -> float:
    """Give 2 v^2 over the variance of its estimate, from the expected information of the strata."""
    if (layouts[0].bores, layouts[0].readings) == (layouts[1].bores, layouts[1].readings):
        return float(layouts[0].blocks + layouts[1].blocks - 2)
    squares = np.array([spreads.reading**2, spreads.bore**2, spreads.block**2])
    slopes, information = np.zeros(3), np.zeros((3, 3))
    for layout in layouts:
        b, c, r = layout.blocks, layout.bores, layout.readings
        strata = (
            (b * c * (r - 1), np.array([1.0, 0.0, 0.0])),
            (b * (c - 1), np.array([1.0, r, 0.0])),
            (b - 1, np.array([1.0, r, c * r])),
        )
        for freedom, expected in strata:
            square = float(expected @ squares)
            if freedom and square > 0:
                information += freedom / 2 * np.outer(expected, expected) / square**2
        slopes += strata[2][1] / layout.total
    scale = np.diag(1 / np.maximum(np.sqrt(np.diag(information)), 1e-300))
    spread = slopes @ scale @ np.linalg.pinv(scale @ information @ scale) @ scale @ slopes
    return 2 * variance**2 / float(spread)
