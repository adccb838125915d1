"""Claims on a spread, a thinnest place or a share below a limit: judged, and put in words."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from workbench.castings.correction import corrected_moments, reached
from workbench.claims.claim import Claim
from workbench.claims.evidence import SEPARATOR, Evidence
from workbench.claims.figure_analysis import FigureAnalysis
from workbench.claims.figure_planning import plan_figure
from workbench.claims.figure_sentences import figure_next_step, figure_sentence
from workbench.claims.planning import slack
from workbench.claims.rules import Decision, decide
from workbench.claims.truncation import check_kept
from workbench.claims.verdict import Check
from workbench.records.settings import Settings

CHOSEN = {
    ("spread", "family"): (
        "variance_ratio",
        "Spread is that of block means, and block means scatter about normally: the ratio of their "
        "variances follows F, with fewer degrees of freedom where blocks show heavy tails.",
    ),
    ("thinnest", "family"): (
        "expected_thinnest",
        "The thinnest of more readings is thinner, so whole blocks of the shared grid are compared "
        "through the nested model, never raw least readings.",
    ),
    ("share_below", "family"): (
        "counted_shares",
        "Counting assumes no shape of the walls; places of one block are alike, so blocks are the "
        "evidence.",
    ),
}
MEASURED = (
    "measured_blocks",
    "Only the blocks measured are asked about, so the error of reading them is all that is "
    "uncertain.",
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FigureFound:
    """What the readings say of a claim on another figure than the mean."""

    analysis: FigureAnalysis
    decision: Decision
    checks: tuple[Check, ...]


def judge_figure(claim: Claim, analysis: FigureAnalysis, settings: Settings) -> FigureFound:
    """Answer a claim on a figure other than the mean from its analysis."""
    given = {"direction": claim.direction, "margin": claim.margin}
    decision = decide(
        analysis.difference,
        **given,  # type: ignore[arg-type]
        confidence=settings.confidence,
    )
    return FigureFound(
        analysis=analysis,
        decision=decision,
        checks=analysis.checks(claim, settings.confidence),
    )


def analyse_figure(
    claim: Claim, evidence: Evidence, cells: pd.DataFrame, settings: Settings, seed: Sequence[int]
) -> FigureAnalysis:
    """Analyse the figure a claim asks for; `cells` are all those of the records.

    Raises
    ------
    Refusal
        What the analysis of the figure refuses: too little to judge by, never the figure itself.
    """
    if claim.figure == "spread":
        from workbench.claims.spread_claims import analyse_spread

        return analyse_spread(claim, evidence, settings.gauges, settings.confidence)
    if claim.figure == "thinnest":
        from workbench.claims.thinnest_claims import analyse_thinnest

        return analyse_thinnest(
            claim,
            evidence,
            settings.gauges,
            settings.confidence,
            hunted=hunted_readings(claim, evidence, cells),
            seed=seed,
        )
    from workbench.claims.share_claims import analyse_share

    check_kept(claim, evidence, settings)
    return analyse_share(claim, evidence, settings.gauges, settings.confidence, seed=seed)


def hunted_readings(claim: Claim, evidence: Evidence, cells: pd.DataFrame) -> pd.DataFrame:
    """Give the corrected readings of both families at places hunted for because they are thin."""
    mine = cells[
        (cells["quantity"] == claim.quantity)
        & cells["family"].isin((claim.candidate, claim.reference))
        & (cells["sampling"] == "search")
        & (cells["contact"] == "good")
        & (cells["n"] > 0)
    ]
    mine = mine[reached(mine, evidence.unit, evidence.calibrations)]
    if mine.empty:
        return pd.DataFrame({"family": [], "block": [], "mean": []})
    found = corrected_moments(mine, evidence.unit, evidence.calibrations)
    found["block"] = found["family"] + SEPARATOR + found["block"]
    return found[["family", "block", "mean"]]


def figure_fields(
    claim: Claim, evidence: Evidence, found: FigureFound, settings: Settings
) -> dict[str, Any]:
    """Give the numbers and words of the verdict."""
    analysis, decision = found.analysis, found.decision
    blocks = evidence.count(claim.candidate).blocks, evidence.count(claim.reference).blocks
    further = (
        plan_figure(claim, analysis, blocks, settings.confidence)
        if decision.outcome == "unresolved"
        else slack(decision, claim.direction, claim.margin)
    )
    name, why = CHOSEN.get((claim.figure, claim.scope), MEASURED)
    return {
        "analysis": name,
        "analysis_reason": why,
        "outcome": decision.outcome,
        "confidence": settings.confidence,
        "sentence": figure_sentence(claim, evidence, analysis, decision, settings),
        "next_step": figure_next_step(claim, analysis, further, settings),
        "estimate": analysis.difference.estimate,
        "unit": analysis.unit,
        "low": decision.interval.low,
        "high": decision.interval.high,
        "inner_low": decision.inner.low if decision.inner else math.nan,
        "inner_high": decision.inner.high if decision.inner else math.nan,
        "p_value": decision.p_value,
        "deciding_p": decision.deciding_p,
        "degrees_of_freedom": analysis.degrees_of_freedom,
        "standard_error": analysis.difference.standard_error,
        "method": analysis.method,
        "gauge_uncertainty": analysis.shared.uncertainty,
        "measuring": analysis.shared.by_name(),
        "finest": analysis.finest,
        "components": analysis.components,
        "checks": found.checks,
    }
