"""What a plan for a claim rests on: its difference, the spreads, the counts, the shared error."""

from __future__ import annotations

import math
from dataclasses import dataclass

from workbench.claims.claim import Scope
from workbench.claims.rules import Direction


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """What is measured of a family: blocks, and the mean over them of one over bores and so on."""

    blocks: int
    per_bore: float
    per_place: float
    per_reading: float
    readings: int

    @classmethod
    def evenly(cls, blocks: int, bores: int = 1, places: int = 1, repeats: int = 1) -> Measured:
        """Give a family measured alike in every block."""
        return cls(
            blocks=blocks,
            per_bore=1 / bores,
            per_place=1 / (bores * places),
            per_reading=1 / (bores * places * repeats),
            readings=blocks * bores * places * repeats,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Levels:
    """The variances of one family by level; `repeat` is 0 where it is not known."""

    block: float
    bore: float = 0.0
    place: float = 0.0
    repeat: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ClaimStudy:
    """What a claim rests on so far: its difference, the spreads, the counts, the shared error.

    `standard_error` and `degrees_of_freedom` are of the readings alone; `shared` is the standard
    uncertainty measuring adds to all of them, `shared_calibrated` what it would be after a
    calibration, None where that is not known. `repeat` is the variance of repeated readings, 0
    where it is not known; it is then part of `place`. The variances are those of both families, or
    of the candidate alone where `reference_levels` has the other's own. `whole_blocks` tells that
    nothing is known of bores and places: further blocks are read like those at hand. `ratio` is the
    candidate's standard deviation over the reference's where the claim is held to their F ratio,
    `tails` the share of its blocks less one that counts in each family, 1 without heavy tails.
    `own_now` tells that each family is judged by its own spread now, also where plans take them as
    common because a family has few blocks; `analysis_stays` tells that the claim names its
    analysis, which more blocks do not change.
    `unit` is that of the difference.
    """

    direction: Direction
    margin: float
    scope: Scope
    confidence: float
    estimate: float
    standard_error: float
    degrees_of_freedom: float
    block: float
    bore: float
    place: float
    repeat: float
    candidate: Measured
    reference: Measured
    shared: float = 0.0
    shared_degrees: float = math.inf
    shared_calibrated: float | None = None
    reference_levels: Levels | None = None
    whole_blocks: bool = False
    ratio: float | None = None
    tails: tuple[float, float] = (1.0, 1.0)
    own_now: bool = False
    analysis_stays: bool = False
    unit: str = ""

    @property
    def levels(self) -> tuple[Levels, Levels]:
        """The variances of the candidate and of the reference."""
        own = Levels(block=self.block, bore=self.bore, place=self.place, repeat=self.repeat)
        return own, self.reference_levels or own
