"""What is known of the share of a family's blocks that are fit for a duty: by count, by model."""

from __future__ import annotations

from collections.abc import Mapping
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

    `too_close` of the inspected ones lie so near a limit that they could be on its other side.
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
    too_close: int = 0
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


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedShares:
    """By duty, then by family: how many blocks were judged and how many were fit.

    `labels` are what duties are called, `notes` where their limits come from. `not_judged` says, by
    duty and family, why no block of it could be judged.
    """

    shares: Mapping[str, Mapping[str, FitShare]]
    labels: Mapping[str, str] = field(default_factory=dict)
    notes: Mapping[str, str] = field(default_factory=dict)
    not_judged: Mapping[tuple[str, str], str] = field(default_factory=dict)

    @property
    def duties(self) -> tuple[str, ...]:
        """The duties any block was judged for."""
        return tuple(name for name, of_duty in self.shares.items() if of_duty)

    def label(self, duty: str) -> str:
        """Give what a duty is called."""
        return self.labels.get(duty, duty)
