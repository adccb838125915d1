"""A claim as the ledger states it, and one with faults, which keeps its place in the ledger."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

from workbench.claims.rules import Direction
from workbench.records.faults import Fault

Figure = Literal["mean", "spread", "thinnest", "share_below"]
Scope = Literal["family", "block"]
Of = Literal["places", "bores", "blocks"]
Analyses = Literal[
    "common_spreads",
    "own_spreads",
    "welch",
    "pooled",
    "single_case",
    "permutation",
    "ranks",
    "relative_effect",
    "bootstrap",
    "bores_bootstrap",
    "crossed",
    "measured_blocks",
    "paired_places",
    "signed_ranks",
    "signs",
    "exact_shares",
    "score_test",
    "fisher",
]

NO_CLAIMS = "no_claims"
FIGURES: tuple[Figure, ...] = ("mean", "spread", "thinnest", "share_below")
SCOPES: tuple[Scope, ...] = ("family", "block")
SHARES_OF: tuple[Of, ...] = ("places", "bores", "blocks")
ANALYSES: tuple[Analyses, ...] = get_args(Analyses)


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """One thing said of two families; `margin` and `threshold` are in `unit`.

    For `share_below` the margin is a difference of shares, and `of` says of what: single places of
    the grid, bores by their least place, or blocks by theirs.
    `scope` is `family` (would it hold for the next blocks) or `block` (only for those measured).
    `analysis` is the one asked for by name, None where the workbench is to choose.
    `statement` and `heard_from` are a stranger's words: plain text, to be escaped where shown.
    """

    id: str
    statement: str
    quantity: str
    candidate: str
    reference: str
    direction: Direction
    unit: str
    heard_from: str = ""
    figure: Figure = "mean"
    margin: float = 0.0
    scope: Scope = "family"
    threshold: float | None = None
    of: Of = "places"
    analysis: Analyses | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultyClaim:
    """A claim with faults: it gets no numbers, but it keeps its place in the ledger."""

    id: str
    statement: str
    faults: tuple[Fault, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ledger:
    """All entries of a claims file in its order, and every fault of the file."""

    entries: tuple[Claim | FaultyClaim, ...]
    faults: tuple[Fault, ...] = ()

    @property
    def claims(self) -> tuple[Claim, ...]:
        """The claims without faults."""
        return tuple(entry for entry in self.entries if isinstance(entry, Claim))

    @property
    def ids(self) -> tuple[str, ...]:
        """The id of every entry, in order."""
        return tuple(entry.id for entry in self.entries)

    @property
    def silent(self) -> bool:
        """Whether nothing is claimed: there is no claims file, or one in good order without any."""
        return not self.entries and all(fault.code == NO_CLAIMS for fault in self.faults)
