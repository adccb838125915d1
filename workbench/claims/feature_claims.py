"""Claims on features seen by eye: the shares of blocks of two families, compared exactly.

`figure = "mean"` of a yes/no feature is the share of blocks that show it; `share_below` of a graded
one the share of blocks graded below `threshold`. `unit` is `share`, and so is the margin. The
comparison is Chan's exact unconditional one: the interval holds the margins that Barnard's test,
taken to a margin, does not reject. Only the block counts, however often it was looked at.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from workbench.castings.observers import (
    FamilyShare,
    ObserverAgreement,
    level_name,
    observer_agreement,
    share_with,
)
from workbench.claims.claim import Claim
from workbench.claims.evidence import SEPARATOR, Evidence, places_text
from workbench.claims.rules import Decision, decide
from workbench.claims.sentences import held_against, percent
from workbench.claims.share_tests import (
    METHODS,
    ShareAnswer,
    asked_by_name,
    share_answer,
    share_checks,
)
from workbench.claims.verdict import Check, Threat
from workbench.errors import Refusal
from workbench.records.quantity_table import SHARE
from workbench.records.rounding import interval_text, p_text, quantity_text
from workbench.records.settings import Settings

FINEST = 0.001
POOR = 0.6  # kappa below which agreement is no more than moderate: common practice, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class FeatureAnswer:
    """What the blocks say of a claim on a feature."""

    answer: ShareAnswer
    decision: Decision
    shares: tuple[FamilyShare, FamilyShare]
    observers: ObserverAgreement
    checks: tuple[Check, ...]


def judge_feature(claim: Claim, evidence: Evidence, settings: Settings) -> FeatureAnswer:
    """Answer a claim on a feature.

    Raises
    ------
    Refusal
        `feature_scope` for a claim on the blocks measured alone, of which nothing is left to chance
        but how they were seen; `graded_feature` for the mean of grades, which have an order and no
        size; `feature_figure`, `bad_threshold`; `no_blocks_left` where every block of a family is
        tied; `bad_margin`; `analysis_does_not_fit` for a test asked for that does not answer it.
    """
    known, looks = settings.quantities[claim.quantity], evidence.cells
    if claim.scope == "block":
        raise Refusal(
            "feature_scope",
            f"Of the blocks measured the share that shows {known.label} is counted, not estimated; "
            "a claim on a feature is judged for families.",
        )
    if claim.figure not in ("mean", "share_below"):
        raise Refusal(
            "feature_figure", f"A feature has no {claim.figure}; it has shares of blocks."
        )
    ours, others = (
        share_with(looks, known, family, settings.confidence, claim.threshold)
        for family in (claim.candidate, claim.reference)
    )
    if ours.count is None or others.count is None:
        raise Refusal(
            "no_blocks_left",
            "Every block of a family is seen half and half, so none can be counted.",
        )
    answer = share_answer(ours.count, others.count, claim)
    given = {"direction": claim.direction, "margin": claim.margin}
    decision = decide(answer, **given, confidence=settings.confidence)  # type: ignore[arg-type]
    return FeatureAnswer(
        answer=answer,
        decision=decision,
        shares=(ours, others),
        observers=observer_agreement(looks, known),
        checks=share_checks(answer, claim, settings.confidence),
    )


def verdict_fields(claim: Claim, found: FeatureAnswer, settings: Settings) -> dict[str, Any]:
    """Give the numbers and words of the verdict on a feature."""
    decision = found.decision
    return {
        "outcome": decision.outcome,
        "confidence": settings.confidence,
        "sentence": _sentence(claim, found, settings),
        "next_step": _next_step(claim, found, settings),
        "estimate": found.answer.estimate,
        "low": decision.interval.low,
        "high": decision.interval.high,
        "inner_low": decision.inner.low if decision.inner else math.nan,
        "inner_high": decision.inner.high if decision.inner else math.nan,
        "p_value": decision.p_value,
        "deciding_p": decision.deciding_p,
        "standard_error": found.answer.standard_error,
        "method": METHODS[found.answer.test],
        **asked_by_name(found.answer, claim),
        "gauge_uncertainty": 0.0,
        "finest": FINEST,
        "checks": found.checks,
    }


def _sentence(claim: Claim, found: FeatureAnswer, settings: Settings) -> str:
    """Write the verdict of a claim on a feature."""
    known = settings.quantities[claim.quantity]
    level = (
        f"show {known.label} ({known.levels[1]})"
        if claim.threshold is None
        else f"are graded below {level_name(known, claim.threshold)} in {known.label}"
    )
    parts = []
    for share in found.shares:
        assert share.count is not None
        assert share.wilson is not None
        ends = " to ".join(percent(round(end, 2)) for end in (share.wilson.low, share.wilson.high))
        parts.append(
            f"{share.count.yes} of {share.count.of} {settings.family_label(share.family)} blocks "
            f"({ends})"
        )
    parts[1] = f"{parts[1][:-1]}, both at {percent(settings.confidence)})"
    answer, decision = found.answer, found.decision
    error = answer.standard_error
    shown = decision.interval
    if decision.inner is not None and decision.outcome != "contradicted":
        shown = decision.inner
    p = decision.told_p
    interval = interval_text(shown.low, shown.high, SHARE, uncertainty=error, step=FINEST)
    return (
        f"{parts[0]} and {parts[1]} {level}: a difference of "
        f"{quantity_text(answer.estimate, error, SHARE, FINEST)} "
        f"({percent(shown.confidence)} interval {interval}); {held_against(claim, decision)} "
        f"({p_text(p)})."
    )


def _next_step(claim: Claim, found: FeatureAnswer, settings: Settings) -> str:
    """Write what would change the verdict."""
    if found.decision.outcome != "unresolved":
        return (
            "The verdict would fall if those who looked had seen otherwise on enough blocks, or if "
            "the blocks are no fair draw of their families."
        )
    from workbench.inference.planning.shares import share_blocks

    wanted = share_blocks(
        found.answer.candidate.share,
        found.answer.reference.share,
        kind=claim.direction,
        margin=claim.margin,
        confidence=settings.confidence,
    )
    if wanted is None:
        return (
            "More blocks would hardly settle this: the difference seen does not lie beyond the "
            "margin. A claim with another margin could be settled."
        )
    return (
        f"If the shares are as seen, {wanted.blocks} blocks of each family would settle this with "
        f"a chance of {percent(wanted.power)}."
    )


def feature_threats(claim: Claim, found: FeatureAnswer, settings: Settings) -> Iterator[Threat]:
    """Say what could make the verdict on a feature wrong."""
    for share in found.shares:
        if share.tied:
            names = tuple(block.rpartition(SEPARATOR)[2] for block in share.tied)
            yield Threat(
                code="tied_blocks",
                text=f"{len(share.tied)} {settings.family_label(share.family)} blocks were seen "
                f"half and half and count on neither side ({places_text(names)}).",
            )
    seen = found.observers
    label = settings.quantities[claim.quantity].label
    if len(seen.observers) < 2:
        yield Threat(
            code="one_observer",
            text=f"One observer at most is named for {label}, so nothing shows whether another "
            "would have seen the same.",
        )
    elif seen.kappa is None:
        yield Threat(
            code="agreement_unknown",
            text=f"Whether those who looked at {label} agree cannot be told: {seen.why}.",
        )
    elif seen.kappa.interval(settings.confidence).low < POOR:
        ends = seen.kappa.interval(settings.confidence)
        yield Threat(
            code="observers_disagree",
            text=f"Those who looked at {label} may agree no more than moderately beyond chance "
            f"({seen.kappa.method}: {seen.kappa.estimate:.2f}, {percent(settings.confidence)} "
            f"interval {ends.low:.2f} to {ends.high:.2f}, on {seen.kappa.things} places; "
            f"{100 * seen.kappa.observed:.0f}% alike).",
        )
