"""Claims of which a family is known only from print: judged, with the sources named."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from workbench.castings.calibration import Calibrations
from workbench.claims.claim import Claim
from workbench.claims.figure_analysis import check_of
from workbench.claims.planning import MOST, POWER, chance_decided, slack
from workbench.claims.printed_families import (
    KnownFamily,
    PrintedFamily,
    ReadFamily,
    known_family,
)
from workbench.claims.rules import Decision, decide
from workbench.claims.sentences import amount, held_against, percent
from workbench.claims.summary_analysis import SummaryAnalysis, analyse_summaries
from workbench.claims.verdict import Check
from workbench.records.rounding import interval_text, p_text, quantity_text
from workbench.records.settings import Settings

DIGIT = 0.1  # of a printed deviation: the finest digit a mean made from it is shown to


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SummaryFound:
    """What print, and readings beside it, say of a claim."""

    analysis: SummaryAnalysis
    decision: Decision
    checks: tuple[Check, ...]


def judge_summaries(
    claim: Claim, cells: pd.DataFrame, settings: Settings, calibrations: Calibrations
) -> SummaryFound:
    """Answer a claim of which one family or both are known from print alone.

    Raises
    ------
    Refusal
        As `known_family` and `analyse_summaries`.
    """
    candidate, reference = (
        known_family(claim, family, cells, settings, calibrations)
        for family in (claim.candidate, claim.reference)
    )
    analysis = analyse_summaries(claim, candidate, reference)
    decision = decide(
        analysis.difference,
        direction=claim.direction,
        margin=claim.margin,
        confidence=settings.confidence,
    )
    checks = tuple(check_of(rival, claim, settings.confidence) for rival in analysis.rivals)
    return SummaryFound(analysis=analysis, decision=decision, checks=checks)


def summary_fields(claim: Claim, found: SummaryFound, settings: Settings) -> dict[str, Any]:
    """Give the numbers and words of the verdict."""
    analysis, decision = found.analysis, found.decision
    ours, others = analysis.families
    return {
        "analysis": "printed_summaries",
        "analysis_reason": "A family is known only by a printed count, mean and standard "
        "deviation, so the families are compared by what is printed.",
        "outcome": decision.outcome,
        "confidence": settings.confidence,
        "sentence": _sentence(claim, found, settings),
        "next_step": _next_step(claim, found, settings),
        "estimate": analysis.difference.estimate,
        "low": decision.interval.low,
        "high": decision.interval.high,
        "inner_low": decision.inner.low if decision.inner else math.nan,
        "inner_high": decision.inner.high if decision.inner else math.nan,
        "p_value": decision.p_value,
        "deciding_p": decision.deciding_p,
        "degrees_of_freedom": analysis.degrees_of_freedom,
        "standard_error": analysis.difference.standard_error,
        "method": analysis.method,
        "gauge_uncertainty": analysis.measuring,
        "measuring": tuple(
            part
            for family in analysis.families
            if isinstance(family, ReadFamily)
            for part in family.shared.by_name()
        ),
        "finest": _finest(analysis),
        "checks": found.checks,
        **_counts("candidate", ours),
        **_counts("reference", others),
    }


def _counts(side: str, family: KnownFamily) -> dict[str, int]:
    if isinstance(family, PrintedFamily):
        return {f"{side}_blocks": family.blocks}
    count = family.evidence.count(family.family)
    return {
        f"{side}_blocks": count.blocks,
        f"{side}_bores": count.bores,
        f"{side}_readings": count.readings,
    }


def _finest(analysis: SummaryAnalysis) -> float:
    """Give the finest digit worth printing: that of a reading, or a tenth of a printed deviation.

    A power of ten, for a deviation is no step of a gauge.
    """
    steps = []
    for family in analysis.families:
        if isinstance(family, ReadFamily):
            steps.append(family.evidence.finest)
        else:
            least = min(summary.sd for summary in family.summaries)
            steps.append(float(10 ** math.floor(math.log10(DIGIT * least))))
    return min(steps)


def _sentence(claim: Claim, found: SummaryFound, settings: Settings) -> str:
    analysis, decision = found.analysis, found.decision
    ours, others = (settings.family_label(f) for f in (claim.candidate, claim.reference))
    error, step = analysis.difference.standard_error, _finest(analysis)
    label = settings.quantities[claim.quantity].label
    estimate = analysis.difference.estimate
    size = quantity_text(abs(estimate), error, claim.unit, step)
    if claim.figure == "spread":
        values = [quantity_text(v, error, claim.unit, step) for v in analysis.figures]
        what = (
            f"From block to block the mean {label} varies by a standard deviation of {values[0]} "
            f"among the {ours} blocks and of {values[1]} among the {others} blocks: {size} "
            f"{'more' if estimate >= 0 else 'less'}"
        )
    else:
        side = "above" if estimate >= 0 else "below"
        what = f"The mean {label} of the {ours} blocks is {size} {side} that of the {others} blocks"
    shown = decision.interval
    if decision.inner is not None and decision.outcome != "contradicted":
        shown = decision.inner
    interval = interval_text(shown.low, shown.high, claim.unit, uncertainty=error, step=step)
    p = decision.told_p
    rests = " and ".join(
        _rests(family, settings.family_label(family.family)) for family in analysis.families
    )
    return (
        f"{what} ({percent(shown.confidence)} interval of the difference {interval}); "
        f"{held_against(claim, decision)} ({p_text(p)}). It rests on {rests}."
    )


def _rests(family: KnownFamily, label: str) -> str:
    """Say what a family is known by, its sources named."""
    if isinstance(family, PrintedFamily):
        named = "; ".join(family.sources)
        return f"{family.blocks} {label} blocks known only from print ({named})"
    return amount(family.evidence.count(family.family), label)


def _next_step(claim: Claim, found: SummaryFound, settings: Settings) -> str:
    decision, analysis = found.decision, found.analysis
    if decision.outcome != "unresolved":
        error = quantity_text(
            slack(decision, claim.direction, claim.margin),
            analysis.difference.standard_error,
            claim.unit,
            _finest(analysis),
        )
        what = (
            "the spread printed of one family were off by"
            if claim.figure == "spread"
            else "the measuring of one family against the other were off by"
        )
        return (
            f"The verdict would fall if {what} {error} or more in the unfavourable direction, or "
            "if the blocks are no fair draw of their families."
        )
    further = _further(claim, found, settings)
    if further is None:
        return (
            "What is printed cannot be added to: only readings of the study's own, or further "
            "sources, would settle this."
        )
    family, number = further
    return (
        "If the difference is as estimated, this would be settled with a chance of about "
        f"{percent(POWER)} by {number} more {settings.family_label(family)} "
        f"block{'' if number == 1 else 's'} measured like these."
    )


def _further(claim: Claim, found: SummaryFound, settings: Settings) -> tuple[str, int] | None:
    """Give the family that was read, and the fewest further blocks of it that would settle this."""
    analysis = found.analysis
    more = np.arange(1.0, MOST + 1)
    for family, own, other in zip(
        analysis.families, analysis.variances, analysis.variances[::-1], strict=True
    ):
        if not isinstance(family, ReadFamily):
            continue
        variance = own * family.blocks / (family.blocks + more) + other + analysis.measuring**2
        chance = chance_decided(
            analysis.difference.estimate,
            np.sqrt(variance),
            np.full_like(more, sum(f.blocks for f in analysis.families)) + more - 2,
            direction=claim.direction,
            margin=claim.margin,
            confidence=settings.confidence,
        )
        enough = np.flatnonzero(chance >= POWER)
        if enough.size:
            return family.family, int(enough[0]) + 1
    return None
