"""What a plan rests on, gathered from the analysis of a claim: spreads, counts, room for more."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
import pandas as pd

from workbench.claims.analysis import Analysis
from workbench.claims.claim import Claim
from workbench.claims.evidence import Evidence
from workbench.claims.figure_analysis import FigureAnalysis
from workbench.claims.figure_planning import ratio_of_spreads
from workbench.errors import Refusal
from workbench.inference.grouping import group_codes
from workbench.records.settings import Settings
from workbench.records.units import factor
from workbench.worth.claim_study import ClaimStudy, Levels, Measured
from workbench.worth.prices import Prices
from workbench.worth.ways_of_reading import Room

REPEATS_TRUSTED = 10


def claim_study(
    claim: Claim, evidence: Evidence, analysis: Analysis, confidence: float, prices: Prices
) -> ClaimStudy:
    """Gather the numbers a plan rests on from the analysis of a claim."""
    repeat = _repeat_variance(evidence.cells)
    own = analysis.own and not analysis.plans_alike
    families = (claim.candidate, claim.reference)
    ours, others = (
        _levels(analysis.spreads[family] if own else analysis.components, repeat)
        for family in families
    )
    return ClaimStudy(
        direction=claim.direction,
        margin=claim.margin,
        scope=claim.scope,
        confidence=confidence,
        estimate=analysis.difference.estimate,
        standard_error=analysis.for_plans.standard_error,
        degrees_of_freedom=analysis.for_plans.degrees_of_freedom,
        block=ours.block,
        bore=ours.bore,
        place=ours.place,
        repeat=ours.repeat,
        candidate=measured(evidence.of(claim.candidate)),
        reference=measured(evidence.of(claim.reference)),
        shared=analysis.shared.uncertainty,
        shared_degrees=analysis.shared.degrees_of_freedom,
        shared_calibrated=_calibrated(claim.unit, prices),
        reference_levels=others if own else None,
        own_now=analysis.own,
        analysis_stays=claim.analysis is not None,
        unit=claim.unit,
    )


def figure_study(
    claim: Claim,
    evidence: Evidence,
    analysis: FigureAnalysis,
    confidence: float,
    prices: Prices,
) -> ClaimStudy:
    """Gather the numbers a plan rests on for a spread, a thinnest place or a share.

    The uncertainty falls with the blocks of each family; what more bores or places would do is not
    told, so further blocks are read like those at hand.
    """
    counts = evidence.count(claim.candidate).blocks, evidence.count(claim.reference).blocks
    own, other = analysis.variances
    spreads = ratio_of_spreads(claim, analysis, counts)
    return ClaimStudy(
        direction=claim.direction,
        margin=claim.margin,
        scope=claim.scope,
        confidence=confidence,
        estimate=analysis.difference.estimate,
        standard_error=math.sqrt(own / counts[0] + other / counts[1]),
        degrees_of_freedom=float(max(1, sum(counts) - 2)),
        block=own,
        bore=0.0,
        place=0.0,
        repeat=0.0,
        candidate=measured(evidence.of(claim.candidate)),
        reference=measured(evidence.of(claim.reference)),
        shared=analysis.shared.uncertainty,
        shared_degrees=analysis.shared.degrees_of_freedom,
        shared_calibrated=_calibrated(claim.unit, prices),
        reference_levels=Levels(block=other),
        whole_blocks=True,
        unit=analysis.unit,
        ratio=None if spreads is None else spreads.ratio,
        tails=(1.0, 1.0) if spreads is None else spreads.tails,
    )


def room_of(
    claim: Claim, evidence: Evidence, settings: Settings, prices: Prices, *, whole_blocks: bool
) -> Room:
    """Give how far a plan may go: blocks that exist and are not measured, bores, shared places.

    With `whole_blocks` the bores and places are those a block at hand was read at on average.
    """

    def left(family: str) -> int | None:
        known = prices.blocks_exist.get(family)
        return None if known is None else max(0, known - evidence.count(family).blocks)

    cells = evidence.cells
    bores = int(cells.groupby("block")["bore"].nunique().max())
    if settings.drawing is not None and settings.drawing.bores and (cells["bore"] != "").any():
        bores = max(bores, settings.drawing.bores)
    if whole_blocks:
        usual = _usual(evidence)
        return Room(candidate=left(claim.candidate), reference=left(claim.reference), **usual)
    return Room(
        candidate=left(claim.candidate),
        reference=left(claim.reference),
        bores=bores,
        places=len(cells[["station", "depth"]].drop_duplicates()),
    )


def _usual(evidence: Evidence) -> dict[str, int]:
    """Give the bores a block at hand was read in on average, and the places of each."""
    cells = evidence.cells
    blocks = cells["block"].nunique()
    bores = cells[["block", "bore"]].drop_duplicates()
    places = cells[["block", "bore", "station", "depth"]].drop_duplicates()
    return {
        "bores": max(1, round(len(bores) / blocks)),
        "places": max(1, round(len(places) / len(bores))),
    }


def _levels(spreads: Mapping[str, float], repeat: float) -> Levels:
    """Part the residual into places and repeats."""
    residual = spreads.get("residual", 0.0)
    known = min(repeat, residual)
    return Levels(
        block=spreads.get("block", 0.0),
        bore=spreads.get("bore", 0.0),
        place=residual - known,
        repeat=known,
    )


def measured(cells: pd.DataFrame) -> Measured:
    """Give what is measured of one family, block by block."""
    block, firsts = group_codes(cells, ["block"])
    bores, places = (
        np.bincount(block[group_codes(cells, ["block", *within])[1]])
        for within in (["bore"], ["bore", "station", "depth"])
    )
    readings = np.bincount(block, cells["n"].to_numpy(float))
    return Measured(
        blocks=len(firsts),
        per_bore=float((1 / bores).mean()),
        per_place=float((1 / places).mean()),
        per_reading=float((1 / readings).mean()),
        readings=int(readings.sum()),
    )


def _repeat_variance(cells: pd.DataFrame) -> float:
    """Give the pooled variance of repeated readings; 0 where too few were repeated to know it."""
    degrees = int((cells["n"] - 1).sum())
    return float(cells["ss"].sum()) / degrees if degrees >= REPEATS_TRUSTED else 0.0


def _calibrated(unit: str, prices: Prices) -> float | None:
    """Give what a calibration would leave, in the unit of the claim; None where it does not fit."""
    if prices.calibration_leaves is None:
        return None
    left, stated = prices.calibration_leaves
    try:
        return left * factor(stated, unit)
    except Refusal:
        return None
