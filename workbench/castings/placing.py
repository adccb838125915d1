"""Where one block stands in its family: a percentile with its interval for each figure."""

from __future__ import annotations

from dataclasses import dataclass

from workbench.castings.block_figures import KINDS, FigureKind, block_and_others
from workbench.castings.inspection import Inspection
from workbench.errors import Refusal
from workbench.inference.adjustment import holm
from workbench.inference.means.single_case import SingleCase, single_case
from workbench.inference.results import Interval, check_confidence

PERCENT = 100.0


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
    """One block placed in its family; `not_answered` says of each figure left out why."""

    block: str
    family: str
    figures: tuple[FigurePlace, ...]
    not_answered: dict[str, str]

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
            refused[kind.name] = str(refusal)
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
    )
