"""How the readings of a claim sit with the model they are judged by; nothing here decides."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from workbench.claims.analysis import Analysis
from workbench.claims.family_difference import common_model, own_model
from workbench.errors import Refusal
from workbench.inference.estimates import Estimate
from workbench.inference.nested.blocks import BlockPrediction, predicted_blocks
from workbench.inference.nested.components import ratio_interval
from workbench.inference.nested.residuals import Effects, residual_checks
from workbench.inference.nested.spread_test import nested_spread_test
from workbench.inference.nested.unequal import UnequalModel
from workbench.records.rounding import p_text

OUTERMOST = "block"
DRAWS = 199
ENOUGH = 10  # draws farther out than the readings, after which their share is the p


@dataclass(frozen=True, slots=True, kw_only=True)
class ModelChecks:
    """Effects of each level against the model, and each block's likely mean; empty without levels.

    One number a block leaves one spread alone, and nothing to check.
    """

    levels: tuple[Effects, ...] = ()
    predicted: tuple[BlockPrediction, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class FamilySpreads:
    """Standard deviations by level, candidate and reference, and their ratios where asked.

    `told` says of the test of equal spreads, or why there are no spreads by family; `merged` names
    the levels that are one with readings.
    """

    deviations: Mapping[str, tuple[float, float]]
    ratios: Mapping[str, Estimate]
    told: str
    merged: tuple[str, ...] = ()


def model_checks(analysis: Analysis) -> ModelChecks:
    """Answer whether blocks, bores and readings scatter as the model with common spreads has it.

    Raises
    ------
    Refusal
        What the fit refuses.
    """
    model = common_model(analysis.evidence, analysis.factors, bounded=True)
    if not model.group_names:
        return ModelChecks()
    return ModelChecks(
        levels=residual_checks(model).levels,
        predicted=predicted_blocks(model) if model.group_names[0] == OUTERMOST else (),
    )


def family_spreads(analysis: Analysis, confidence: float, *, seed: int) -> FamilySpreads:
    """Answer whether the two families vary alike, level by level.

    Parameters
    ----------
    analysis, confidence
        As the claim was judged.
    seed
        Of the draws of the test of equal spreads at all levels at once.
    """
    pair = analysis.evidence.candidate, analysis.evidence.reference
    try:
        model = own_model(analysis.evidence, analysis.factors, bounded=True)
    except Refusal as refusal:
        return FamilySpreads(deviations={}, ratios={}, told=str(refusal))
    variances = [model.variances[family] for family in pair]
    levels = [name for name in variances[0] if name in variances[1]]
    if OUTERMOST not in levels:
        return FamilySpreads(
            deviations={},
            ratios={},
            told="one number a block leaves one spread a family, which the verdict compares.",
        )
    told, ratios = _alike(model, seed), {}
    try:
        ours, others = (f"{OUTERMOST} of {family}" for family in pair)
        ratios[OUTERMOST] = _root(ratio_interval(model, ours, others, confidence))
    except Refusal as refusal:
        told = f"{told} No ratio: {refusal}"
    return FamilySpreads(
        deviations={
            level: (math.sqrt(variances[0][level]), math.sqrt(variances[1][level]))
            for level in levels
        },
        ratios=ratios,
        told=told,
        merged=model.fit.merged,
    )


def _alike(model: UnequalModel, seed: int) -> str:
    """Say whether the families' spreads are alike at all levels, or why that cannot be told."""
    try:
        test = nested_spread_test(model, seed=seed, resamples=DRAWS, enough=ENOUGH)
    except Refusal as refusal:
        return str(refusal)
    return (
        f"All spreads alike at every level: {p_text(test.p_value)} "
        f"(likelihood ratio, {test.resamples} draws)."
    )


def _root(ratio: Estimate) -> Estimate:
    """Bring a ratio of variances to one of standard deviations."""
    return Estimate(
        estimate=math.sqrt(ratio.estimate),
        low=math.sqrt(ratio.low),
        high=math.sqrt(ratio.high),
        confidence=ratio.confidence,
        method=ratio.method,
    )
