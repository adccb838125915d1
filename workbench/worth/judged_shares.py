"""The shares of fit blocks of a study: each family held against each duty the study states."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbench.castings.family_fitness import FamilyFitness, fitness_for_duties
from workbench.castings.stated_rules import stated_duties
from workbench.errors import Refusal
from workbench.inference.shares.passing import DRAWS
from workbench.worth.draws import stream
from workbench.worth.fit_share import FitShare, JudgedShares

if TYPE_CHECKING:
    from collections.abc import Mapping

    from workbench.castings.inspection import Inspection
    from workbench.castings.stated_rules import Duty
    from workbench.records.settings import Settings


def duties_to_judge(settings: Settings) -> dict[str, Duty]:
    """Give the duties a study states.

    Raises
    ------
    FaultsError
        With every fault of `[fitness]`.
    Refusal
        `no_duty_stated` where there is none.
    """
    duties = stated_duties(settings)
    if not duties:
        raise Refusal(
            "no_duty_stated",
            "The study states no duty to be fit for; state one as [fitness.NAME] in study.toml.",
        )
    return duties


def judged_families(inspection: Inspection, *, seed: int) -> dict[str, dict[str, FamilyFitness]]:
    """Judge every family for every duty of the study, on the draws that belong to this seed.

    Whoever asks with the same seed counts the same blocks as fit, also where one lies on a limit.
    In the draws of a model what a gauge may be out by is one error for all families it read.

    Raises
    ------
    FaultsError
        With every fault of `[fitness]`.
    """
    duties = stated_duties(inspection.settings)
    return {
        family: fitness_for_duties(
            inspection,
            family,
            duties,
            generator=stream(seed, "fitness", family),
            errors=lambda gauge, calibration: stream(
                seed, "gauge", gauge, calibration
            ).standard_normal(DRAWS),
        )
        for family in dict.fromkeys(inspection.families.values())
    }


def judged_shares(
    judged: Mapping[str, Mapping[str, FamilyFitness]], duties: Mapping[str, Duty]
) -> JudgedShares:
    """Give the shares of fit blocks from every family judged for every duty.

    A block counts as fit where all its figures lie on the right side of their limits, also where
    one lies too close to call: over many blocks what is called fit wrongly and what is called unfit
    wrongly balance, while counting only the certain ones would call families with few readings
    unfit.
    """
    shares: dict[str, dict[str, FitShare]] = {name: {} for name in duties}
    not_judged: dict[tuple[str, str], str] = {}
    for family, by_duty in judged.items():
        for duty, found in by_duty.items():
            if found.passing is None:
                not_judged[duty, family] = _why_not(found)
            else:
                shares[duty][family] = FitShare(
                    family=family,
                    duty=duty,
                    passed=found.passing.yes,
                    inspected=found.passing.of,
                    too_close=found.proven["too_close"],
                    draws=found.model_draws,
                )
    return JudgedShares(
        shares=shares,
        labels={name: duty.label or name.replace("_", " ") for name, duty in duties.items()},
        notes={name: duty.note for name, duty in duties.items()},
        not_judged=not_judged,
    )


def _why_not(found: FamilyFitness) -> str:
    """Give the first reason why a block of the family could not be judged."""
    reasons = (rule.reason for block in found.blocks for rule in block.rules if rule.reason)
    return next(reasons, found.not_answered.get("walls", ""))
