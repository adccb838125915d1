"""What the analysis of a figure other than the mean found: spread, thinnest place, share below."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Protocol

from workbench.castings.measuring import SharedError
from workbench.claims.claim import Claim, Scope
from workbench.claims.grid import Grid
from workbench.claims.rules import Answer, decide
from workbench.claims.verdict import Check
from workbench.inference.results import Interval


class FigureAnswer(Answer, Protocol):
    """A difference of two figures, ready to be held against a margin and to be printed."""

    @property
    def standard_error(self) -> float:
        """About how well the difference is known: it sets the digits."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FamilyFigure:
    """The figure of one family; `interval` is None where the family alone gives none."""

    family: str
    value: float
    interval: Interval | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rival:
    """Another analysis of the same figure; `answer` is None where `note` says why not."""

    name: str
    answer: Answer | None = None
    note: str = ""
    binding: bool = True


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FigureAnalysis:
    """What was found of a figure of two families.

    Attributes
    ----------
    difference : FigureAnswer
        Candidate minus reference, the shared error of measuring counted in.
    families : tuple of FamilyFigure
        Candidate and reference.
    variances : tuple of float
        What one block of each family adds: over the numbers of blocks, their sum is about the
        variance of the difference without the shared error of measuring.
    unit : str
        Of the estimate: that of the claim, or `share`.
    grid : Grid or None
        The grid that was compared; None where the figure is of block means.
    own_spreads : bool
        Each family was judged by its own spreads; else the two lent each other theirs.
    components : tuple of (str, float)
        Standard deviations by level.
    """

    scope: Scope
    difference: FigureAnswer
    method: str
    shared: SharedError
    families: tuple[FamilyFigure, FamilyFigure]
    variances: tuple[float, float]
    unit: str
    finest: float
    grid: Grid | None = None
    own_spreads: bool = True
    rivals: tuple[Rival, ...] = ()
    degrees_of_freedom: float = math.nan
    components: tuple[tuple[str, float], ...] = ()

    @property
    def words(self) -> str:
        """The grid that was compared, for the sentence; "" where the figure is of block means."""
        return self.grid.words if self.grid else ""

    def checks(self, claim: Claim, confidence: float) -> tuple[Check, ...]:
        """Hold every rival against the margin of the claim."""
        return tuple(check_of(rival, claim, confidence) for rival in self.rivals)


def in_unit(claim: Claim, unit: str) -> Claim:
    """Give the claim with its margin in the unit of the figure."""
    return replace(claim, unit=unit)


def check_of(rival: Rival, claim: Claim, confidence: float) -> Check:
    """Hold a rival analysis against the margin of the claim."""
    if rival.answer is None:
        return Check(name=rival.name, note=rival.note, binding=False)
    found = decide(
        rival.answer, direction=claim.direction, margin=claim.margin, confidence=confidence
    )
    return Check(
        name=rival.name,
        estimate=rival.answer.estimate,
        low=found.interval.low,
        high=found.interval.high,
        p_value=found.told_p,
        outcome=found.outcome,
        note=rival.note,
        binding=rival.binding,
    )
