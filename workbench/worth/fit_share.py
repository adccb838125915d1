"""What is known of the share of a family's blocks that are fit for a duty: by count, by model."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from workbench.errors import Refusal
from workbench.inference.decision.uncertain_share import (
    BetaShare,
    UncertainShare,
    WeightedShare,
)
from workbench.inference.samples import Values
from workbench.inference.shares.count import Count

COUNTED, MODELLED = "counted", "modelled"
BASES = (COUNTED, MODELLED)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FitShare:
    """Blocks of a family inspected for a duty, and how many passed.

    `draws`, where a model of the measurements gives them, are draws of the share of all blocks
    that would pass; at the same place in two families' draws stands the same draw of the model.

    Raises
    ------
    Refusal
        `no_block_judged` where no block was inspected, `bad_count`, and those of `WeightedShare`.
    """

    family: str
    duty: str
    passed: int
    inspected: int
    draws: Values | None = field(default=None, repr=False)

    def __post_init__(self) -> None:
        """Refuse what no inspection gives."""
        if self.inspected == 0:
            raise Refusal(
                "no_block_judged",
                f"No block of the family “{self.family}” was judged for the duty “{self.duty}”.",
            )
        Count(yes=self.passed, of=self.inspected)
        if self.draws is not None:
            WeightedShare(values=self.draws)

    @property
    def bases(self) -> tuple[str, ...]:
        """The ways the share is known: by count always, by model where there are draws."""
        return (COUNTED,) if self.draws is None else BASES

    def belief(self, basis: str) -> UncertainShare:
        """Give what is known: from the count a beta by Jeffreys' prior, or the model's draws.

        Raises
        ------
        Refusal
            `unknown_basis`, `not_modelled`.
        """
        if basis == COUNTED:
            return BetaShare.of(Count(yes=self.passed, of=self.inspected))
        if basis != MODELLED:
            raise Refusal("unknown_basis", f"A share is known by one of {BASES}, not {basis!r}.")
        if self.draws is None:
            raise Refusal(
                "not_modelled", f"There is no model of the share of “{self.family}” blocks fit."
            )
        return WeightedShare(values=np.asarray(self.draws, dtype=float))
