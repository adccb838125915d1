"""What more measuring would do for a claim: the error of the enlarged study, its power, assurance.

The variance of a family's mean is that of its blocks, each measured in some bores, at some places
of a bore, some times at a place: block / b + bore / (b c) + place / (b c p) + repeat / (b c p r).
Power is the chance that a study of the enlarged size decides the claim if the truth is as estimated
and the spreads are as fitted. Assurance is the chance that this study, once enlarged, decides it,
given what it has found: the true difference and the spreads are averaged over, and the readings at
hand stay what they are. It can stay below a target however much is measured, where the truth may
lie too near the margin.

References
----------
Cochran, W. G. (1977). Sampling Techniques, chapter 10. O'Hagan, A., Stevens, J. W., Campbell, M. J.
(2005). Assurance in clinical trial design. Pharmaceutical Statistics 4, 187-201. Spiegelhalter,
D. J., Freedman, L. S., Blackburn, P. R. (1986). Controlled Clinical Trials 7, 8-17 (all from
memory).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields
from typing import TypeVar

import numpy as np

from workbench.claims.choosing import DANGER, OWN_FROM
from workbench.claims.planning import chance_decided, chance_settled
from workbench.claims.rules import Direction
from workbench.inference.planning.layouts import Precision
from workbench.inference.planning.spread_ratio import spread_assurance, spread_powers
from workbench.inference.results import Difference
from workbench.inference.samples import Values
from workbench.worth.claim_study import ClaimStudy, Levels, Measured

Grown = TypeVar("Grown", float, Values)

NONE = 1e-9  # degrees of freedom of one block's own spread


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

    @classmethod
    def together(cls, parts: Sequence[Plans]) -> Plans:
        """Lay several of these out below each other."""
        names = [field.name for field in fields(cls)]
        return cls(**{n: np.concatenate([getattr(part, n) for part in parts]) for n in names})

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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Enlarged:
    """The enlarged study, a number a plan, of the readings alone.

    `variance` is that of the difference, `degrees` its degrees of freedom with one spread taken for
    both families, `own_degrees` with each family's own; `own_chance` how likely the latter will be
    the analysis.
    """

    variance: Values
    degrees: Values
    own_degrees: Values
    own_chance: Values

    def mixed(self, chance: Callable[[Values], Values]) -> Values:
        """Weigh a chance, given by degrees of freedom, by which analysis will be made."""
        weight = self.own_chance
        if not weight.any():
            return chance(self.degrees)
        if bool((weight == 1).all()):
            return chance(self.own_degrees)
        return (1 - weight) * chance(self.degrees) + weight * chance(self.own_degrees)


def block_variance(levels: Levels, bores: Values, places: Values, repeats: Values) -> Values:
    """Give the variance of one new block's mean, measured so."""
    return (
        levels.block
        + levels.bore / bores
        + levels.place / (bores * places)
        + levels.repeat / (bores * places * repeats)
    )


def enlarged(study: ClaimStudy, plans: Plans) -> Enlarged:
    """Give the variance of the difference in the enlarged study, and its degrees of freedom.

    The model's own standard error sets the scale. Degrees of freedom grow with the blocks, for a
    block claim with the rounds of reading; with spreads of their own they are Welch's.
    """
    now, degrees = study.standard_error**2, study.degrees_of_freedom
    none = np.zeros(plans.size)
    if study.scope == "block":
        rounds = 1 + plans.again
        return Enlarged(
            variance=now / rounds,
            degrees=degrees * rounds,
            own_degrees=degrees * rounds,
            own_chance=none,
        )
    families = (study.candidate, study.reference)
    measured, parts, blocks = 0.0, [], []
    for levels, family, more in zip(
        study.levels, families, (plans.candidate, plans.reference), strict=True
    ):
        new = block_variance(levels, plans.bores, plans.places, plans.repeats)
        parts.append(_mean_variance(levels, family, more, new, plans.again))
        measured += float(_mean_variance(levels, family, *np.zeros((3, 1)))[0])
        blocks.append(family.blocks + more)
    variance = parts[0] + parts[1]
    now_blocks = sum(family.blocks for family in families)
    welch = sum(part**2 / np.maximum(n - 1, NONE) for part, n in zip(parts, blocks, strict=True))
    as_is = plans.candidate + plans.reference == 0
    apart = study.own_now and study.reference_levels is None  # not as the pilot's freedom is
    return Enlarged(
        variance=now * variance / measured,
        degrees=degrees * (blocks[0] + blocks[1] - 2) / (now_blocks - 2),
        own_degrees=variance**2 / welch if apart else np.where(as_is, degrees, variance**2 / welch),
        own_chance=_own_chance(study, blocks[0], blocks[1]),
    )


def power(study: ClaimStudy, plans: Plans) -> Values:
    """Give the chance that a study of each plan's size decides the claim, if all is as it seems."""
    if study.ratio is not None:
        return spread_powers(
            study.ratio,
            *_spread_freedom(study, plans.candidate, plans.reference),
            kind=_kind_of_ratio(study),
            confidence=study.confidence,
        )
    found = enlarged(study, plans)
    shared = shared_after(study, plans) ** 2
    total = found.variance + shared

    def decided(degrees: Values) -> Values:
        spread = found.variance**2 / degrees + shared**2 / study.shared_degrees
        return chance_decided(
            study.estimate,
            np.sqrt(total),
            total**2 / spread,
            direction=study.direction,
            margin=study.margin,
            confidence=study.confidence,
        )

    return found.mixed(decided)


def assurance(study: ClaimStudy, plans: Plans) -> Values:
    """Give the chance that the study once enlarged decides the claim, from what is known now."""
    if study.ratio is not None:
        return _assurance_of_ratio(study, plans, study.ratio)
    found, then = enlarged(study, plans), shared_after(study, plans)
    now = Difference(
        estimate=study.estimate,
        standard_error=study.standard_error,
        degrees_of_freedom=study.degrees_of_freedom,
        method="as measured",
    )

    def settled(degrees: Values) -> Values:
        return np.array(
            [
                chance_settled(
                    now,
                    Precision(standard_error=error, degrees_of_freedom=freedom),
                    direction=study.direction,
                    margin=study.margin,
                    confidence=study.confidence,
                    shared=study.shared,
                    shared_then=left,
                )
                for error, freedom, left in zip(
                    np.sqrt(found.variance), np.broadcast_to(degrees, then.shape), then, strict=True
                )
            ]
        )

    return found.mixed(settled)


def shared_after(study: ClaimStudy, plans: Plans) -> Values:
    """Give the shared error of measuring, less after a calibration where that is known."""
    after = study.shared if study.shared_calibrated is None else study.shared_calibrated
    return np.where(plans.calibrated > 0, min(after, study.shared), study.shared)


def _own_chance(study: ClaimStudy, ours: Values, others: Values) -> Values:
    """Give how likely the enlarged study will be judged by each family's own spread.

    From `OWN_FROM` blocks of each on it will; with two to four of a family only where the smaller
    one varies more: it does so now, or happens to, which families alike do in half of `DANGER`.
    """
    if study.whole_blocks:
        return np.zeros(ours.shape)
    if study.reference_levels is not None:
        return np.ones(ours.shape)
    if study.analysis_stays:
        return np.zeros(ours.shape)
    few = np.minimum(ours, others)
    likely = 1.0 if study.own_now else DANGER / 2
    danger = np.where((few > 1) & (ours != others), likely, 0.0)
    return np.where(few >= OWN_FROM, 1.0, danger)


def _assurance_of_ratio(study: ClaimStudy, plans: Plans, ratio: float) -> Values:
    now = _spread_freedom(study, 0.0, 0.0)
    own, other = _spread_freedom(study, plans.candidate, plans.reference)
    then = zip(own.tolist(), other.tolist(), strict=True)
    return np.array(
        [spread_assurance(ratio, now, enough, confidence=study.confidence) for enough in then]
    )


def _kind_of_ratio(study: ClaimStudy) -> Direction:
    """Give what settles a claim on two spreads, held against none: the side the ratio lies on."""
    assert study.ratio is not None
    if study.direction == "different":
        return "different"
    return "greater" if study.ratio >= 1 else "less"


def _spread_freedom(study: ClaimStudy, ours: Grown, others: Grown) -> tuple[Grown, Grown]:
    """Give the degrees of freedom of each family's spread with so many more blocks."""
    families = zip((study.candidate, study.reference), (ours, others), study.tails, strict=True)
    own, other = (part * (family.blocks + more - 1) for family, more, part in families)
    return own, other


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
