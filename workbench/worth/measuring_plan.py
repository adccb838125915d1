"""What more measuring would do for a claim: the error of the enlarged study, its power, assurance.

The variance of a family's mean is that of its blocks, each measured in some bores, at some places
of a bore, some times at a place: block / b + bore / (b c) + place / (b c p) + repeat / (b c p r).
Power is the chance that the enlarged study decides the claim if the truth is as estimated and the
spreads are as fitted. Assurance averages that over what is not known: the true difference about
the estimate, and the spreads, by what their degrees of freedom allow. It can stay below a target
however much is measured, where the truth may lie too near the margin.

References
----------
Cochran, W. G. (1977). Sampling Techniques, chapter 10. O'Hagan, A., Stevens, J. W., Campbell, M. J.
(2005). Assurance in clinical trial design. Pharmaceutical Statistics 4, 187-201 (both from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields

import numpy as np
from scipy.special import chdtri, ndtri

from workbench.claims.claim import Scope
from workbench.claims.planning import chance_decided
from workbench.claims.rules import Direction
from workbench.inference.samples import Values

SPREAD_NODES = 12
DIFFERENCE_NODES = 32


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuringPlan:
    """Further measuring: new blocks of each family, how each is read, and what is done again.

    Each new block is read in `bores` bores, at `places` places of each, `repeats` times at a place.
    `again` is how many more times the blocks at hand are read where they were read. `calibrated`
    tells that a calibration piece is had.
    """

    candidate: int = 0
    reference: int = 0
    bores: int = 1
    places: int = 1
    repeats: int = 1
    again: int = 0
    calibrated: bool = False


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Plans:
    """Many plans, a row each; the columns are those of `MeasuringPlan`."""

    candidate: Values
    reference: Values
    bores: Values
    places: Values
    repeats: Values
    again: Values
    calibrated: Values

    @classmethod
    def of(cls, *plans: MeasuringPlan) -> Plans:
        """Lay plans out as columns."""
        names = [field.name for field in fields(cls)]
        return cls(
            **{n: np.array([float(getattr(plan, n)) for plan in plans], dtype=float) for n in names}
        )

    def at(self, row: int) -> MeasuringPlan:
        """Give one plan."""
        return MeasuringPlan(
            candidate=int(self.candidate[row]),
            reference=int(self.reference[row]),
            bores=int(self.bores[row]),
            places=int(self.places[row]),
            repeats=int(self.repeats[row]),
            again=int(self.again[row]),
            calibrated=bool(self.calibrated[row]),
        )

    def rows(self, chosen: np.ndarray) -> Plans:
        """Give some of the plans."""
        return Plans(**{field.name: getattr(self, field.name)[chosen] for field in fields(self)})

    @property
    def size(self) -> int:
        """How many plans there are."""
        return int(self.candidate.size)


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
    nothing is known of bores and places: further blocks are read like those at hand.
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

    @property
    def levels(self) -> tuple[Levels, Levels]:
        """The variances of the candidate and of the reference."""
        own = Levels(block=self.block, bore=self.bore, place=self.place, repeat=self.repeat)
        return own, self.reference_levels or own


def block_variance(levels: Levels, bores: Values, places: Values, repeats: Values) -> Values:
    """Give the variance of one new block's mean, measured so."""
    return (
        levels.block
        + levels.bore / bores
        + levels.place / (bores * places)
        + levels.repeat / (bores * places * repeats)
    )


def enlarged(study: ClaimStudy, plans: Plans) -> tuple[Values, Values]:
    """Give the variance of the difference in the enlarged study, and its degrees of freedom.

    Of the readings alone. The model's own standard error sets the scale; the degrees of freedom
    grow with the blocks, for a block claim with the rounds of reading.
    """
    now, degrees = study.standard_error**2, study.degrees_of_freedom
    if study.scope == "block":
        return now / (1 + plans.again), degrees * (1 + plans.again)
    measured, none = 0.0, np.zeros(1)
    variance = np.zeros(plans.size)
    families = (study.candidate, study.reference)
    for levels, family, more in zip(
        study.levels, families, (plans.candidate, plans.reference), strict=True
    ):
        new = block_variance(levels, plans.bores, plans.places, plans.repeats)
        variance = variance + _mean_variance(levels, family, more, new, plans.again)
        measured += float(_mean_variance(levels, family, none, none, none)[0])
    blocks = sum(family.blocks for family in families)
    growth = (blocks + plans.candidate + plans.reference - 2) / (blocks - 2)
    return now * variance / measured, degrees * growth


def power(study: ClaimStudy, plans: Plans) -> Values:
    """Give the chance that each plan decides the claim, if all is as it seems now."""
    return _decided(study, plans, study.estimate, 1.0)


def assurance(study: ClaimStudy, plans: Plans) -> Values:
    """Give that chance averaged over the true difference and the true spreads."""
    total = np.zeros(plans.size)
    steps = (np.arange(SPREAD_NODES) + 0.5) / SPREAD_NODES
    degrees = study.degrees_of_freedom
    factors = degrees / chdtri(degrees, steps) if math.isfinite(degrees) else np.ones(1)
    offsets = ndtri((np.arange(DIFFERENCE_NODES) + 0.5) / DIFFERENCE_NODES)
    for factor in factors:
        error = math.sqrt(factor * study.standard_error**2 + study.shared**2)
        for offset in offsets:
            total += _decided(study, plans, study.estimate + error * offset, float(factor))
    return np.asarray(total / (factors.size * offsets.size))


def _decided(study: ClaimStudy, plans: Plans, difference: float, factor: float) -> Values:
    """Give the chance to decide at a true difference, all variances `factor` times as large."""
    variance, degrees = enlarged(study, plans)
    variance = factor * variance
    after = study.shared if study.shared_calibrated is None else study.shared_calibrated
    shared = np.where(plans.calibrated > 0, min(after, study.shared), study.shared) ** 2
    total = variance + shared
    spread = variance**2 / degrees + shared**2 / study.shared_degrees
    return chance_decided(
        difference,
        np.sqrt(total),
        total**2 / spread,
        direction=study.direction,
        margin=study.margin,
        confidence=study.confidence,
    )


def _mean_variance(
    levels: Levels, family: Measured, new: Values, variance: Values, again: Values
) -> Values:
    """Give the variance of a family's mean: the measured blocks and the new ones weigh alike."""
    old = (
        levels.block
        + levels.bore * family.per_bore
        + levels.place * family.per_place
        + levels.repeat * family.per_reading / (1 + again)
    )
    return np.asarray((family.blocks * old + new * variance) / (family.blocks + new) ** 2)
