"""Where one block stands in its family: a percentile with its interval for each figure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from workbench.castings.block_figures import KINDS, FigureKind, block_and_others
from workbench.castings.inspection import Inspection
from workbench.errors import Refusal
from workbench.inference.adjustment import holm
from workbench.inference.means.single_case import SingleCase, single_case
from workbench.inference.results import Interval, check_confidence
from workbench.records.truncation_table import truncations_of

PERCENT = 100.0
EQUAL = "All other blocks of the family are equal in their"
FROM_VALUES = ("mean", "least")  # taken from walls as read; a shift is fitted to them


@dataclass(frozen=True, slots=True, kw_only=True)
class FigurePlace:
    """One figure of the block among the other blocks of its family.

    Attributes
    ----------
    name, label, unit
        Of the figure.
    case
        The block against the others: value, their count, mean and standard deviation.
    adjusted_p
        Its two-sided p after Holm over all figures placed.
    """

    name: str
    label: str
    unit: str
    case: SingleCase
    adjusted_p: float

    @property
    def value(self) -> float:
        """The block's own figure."""
        return self.case.case

    @property
    def percentile(self) -> float:
        """The estimated share of the family below the block, in per cent."""
        return PERCENT * self.case.share_below

    def percentile_interval(self, confidence: float = 0.95) -> Interval:
        """Give the interval of the percentile."""
        share = self.case.share_below_interval(confidence)
        return Interval(low=PERCENT * share.low, high=PERCENT * share.high, confidence=confidence)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedBlock:
    """One block placed in its family.

    `not_answered` says of each figure left out why; `too_high` which figures leave out places read
    only as not above a value, and so lie too high.
    """

    block: str
    family: str
    figures: tuple[FigurePlace, ...]
    not_answered: dict[str, str]
    too_high: tuple[str, ...] = ()

    def unusual(self, confidence: float = 0.95) -> tuple[FigurePlace, ...]:
        """Give the figures that are unusual for the family, many figures allowed for."""
        check_confidence(confidence)
        return tuple(one for one in self.figures if one.adjusted_p < 1 - confidence)


def place_block(inspection: Inspection, block: str) -> PlacedBlock:
    """Answer where a block stands in its family, and what is unusual about it.

    The other blocks of the family are the sample; the block is not among them. Each figure is taken
    as roughly normal over blocks.

    Raises
    ------
    Refusal
        `no_such_block` where nothing was read of it.

    References
    ----------
    Crawford, J. R., Howell, D. C. (1998); see `inference.single_case`.
    """
    family = inspection.family(block)
    found: list[tuple[FigureKind, str, SingleCase]] = []
    refused: dict[str, str] = {}
    for kind in KINDS:
        try:
            both = block_and_others(inspection, block, kind)
            found.append((kind, both.unit, single_case(both.value, both.others)))
        except Refusal as refusal:
            equal = refusal.code == "zero_spread"
            refused[kind.name] = f"{EQUAL} {kind.label}." if equal else str(refusal)
    ps = [case.p_value for _, _, case in found]
    adjusted = holm(ps).tolist() if ps else []
    return PlacedBlock(
        block=block,
        family=family,
        figures=tuple(
            FigurePlace(name=kind.name, label=kind.label, unit=unit, case=case, adjusted_p=float(p))
            for (kind, unit, case), p in zip(found, adjusted, strict=True)
        ),
        not_answered=refused,
        too_high=tuple(_too_high(inspection, block, [kind for kind, _, _ in found])),
    )


def _too_high(inspection: Inspection, block: str, kinds: Sequence[FigureKind]) -> Iterator[str]:
    """Say which figures leave out places read only as not above a value, or never kept."""
    by_quantity: dict[str, list[str]] = {}
    for kind in kinds:
        if kind.taken in FROM_VALUES:
            by_quantity.setdefault(kind.quantity, []).append(kind.label)
    for quantity, labels in by_quantity.items():
        family_name = inspection.family(block)
        family = inspection.of(quantity).of_family(family_name)
        named = " and ".join(labels)
        if own := family.of_block(block).only_below:
            shift = (
                "; the core shift is fitted without it, and may be wrong either way"
                if any(kind.taken == "shift" and kind.quantity == quantity for kind in kinds)
                else ""
            )
            yield (
                f"{own} Left out of {named}, which so lie too high, and their percentiles too"
                f"{shift}."
            )
        blocks = set(family.searched.loc[family.searched["below"], "block"]) - {block}
        if blocks:
            yield (
                f"{len(blocks)} of the other blocks {'has' if len(blocks) == 1 else 'have'} places "
                f"read only as not above a value, left out of {named}: against them this block "
                "may stand too low."
            )
        for one in truncations_of(inspection.settings.truncations, quantity, family_name):
            yield (
                f"{one.words[:1].upper()}{one.words[1:]}: {named} and their percentiles are of "
                "what was kept."
            )
