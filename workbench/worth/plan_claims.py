"""What to measure next: for each open claim of a study the cheapest measuring that settles it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import pandas as pd

from workbench.claims.analysis import Analysis
from workbench.claims.claim import Claim, Ledger
from workbench.claims.evidence import Evidence
from workbench.claims.figure_analysis import FigureAnalysis
from workbench.claims.judge import Bench
from workbench.claims.printed_families import rests_on_print
from workbench.claims.verdict import Verdict
from workbench.errors import Refusal
from workbench.records.settings import Settings
from workbench.records.units import factor
from workbench.worth.cheapest_plan import (
    TARGETS,
    MeasuringCosts,
    PricedPlan,
    Room,
    cheapest_plan,
)
from workbench.worth.measuring_plan import ClaimStudy, Levels, Measured
from workbench.worth.prices import Prices

if TYPE_CHECKING:
    pass

REPEATS_TRUSTED = 10
BLOCKS, GAUGE, TOO_NEAR = "blocks that exist", "measuring error", "too near the margin"


@dataclass(frozen=True, slots=True, kw_only=True)
class ClaimPlan:
    """What would settle one open claim; `candidate` and `reference` are labels of its families.

    `plans` has one entry a target of power (80 and 90 in a hundred), None where nothing reaches it.
    `held_by` says what stands in the way then: the blocks that exist, the shared measuring error,
    or a truth too near the margin. `with_more_blocks` is the cheapest plan of the lower target if
    there were blocks enough. `study` and `room` are what the plans rest on. `refusal` stands where
    the claim cannot be planned.
    """

    claim: str
    statement: str
    candidate: str
    reference: str
    plans: tuple[PricedPlan | None, ...] = (None,) * len(TARGETS)
    held_by: str | None = None
    with_more_blocks: PricedPlan | None = None
    costs: MeasuringCosts | None = None
    study: ClaimStudy | None = None
    room: Room | None = None
    refusal: Refusal | None = None

    @property
    def value(self) -> float:
        """The chance to settle it, for each unit of money, of the cheaper plan; 0 without one."""
        plan = self.plans[0]
        if plan is None:
            return 0.0
        return math.inf if plan.money == 0 else plan.assurance / plan.money


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanAnswer:
    """What to measure next, the claim that is settled most cheaply first; at these prices."""

    prices: Prices
    plans: tuple[ClaimPlan, ...]


def plan_claims(
    bench: Bench, verdicts: Sequence[Verdict], prices: Prices, *, only: str | None = None
) -> PlanAnswer:
    """Answer what to measure next, the claim that is settled most cheaply first.

    Parameters
    ----------
    bench
        Where the claims were judged: the ledger, what was measured, the analyses.
    verdicts
        The verdicts on the claims; only unresolved ones are planned.
    prices : Prices
        The study's money, with what measuring costs.
    only : str, optional
        The id of the one claim asked about.

    Raises
    ------
    Refusal
        `no_measuring_costs` where the study states neither money nor hours for measuring;
        `claim_not_open` where the claim asked about is decided, `unknown_claim` where there is
        none.
    """
    open_claims = _open(bench.ledger, verdicts, only)
    if not prices.measuring and not any(prices.measuring_hours.values()):
        raise Refusal(
            "no_measuring_costs",
            "The study does not say what measuring costs; state “worth.measuring”.",
        )
    found = []
    for claim in open_claims:
        try:
            found.append(_planned(claim, bench, prices))
        except Refusal as refusal:
            found.append(
                ClaimPlan(
                    claim=claim.id,
                    statement=claim.statement,
                    candidate=bench.settings.family_label(claim.candidate),
                    reference=bench.settings.family_label(claim.reference),
                    refusal=refusal,
                )
            )
    return PlanAnswer(prices=prices, plans=tuple(sorted(found, key=_by_value)))


def _by_value(plan: ClaimPlan) -> tuple[float, float]:
    """Order claims by value; where money costs nothing, by hours."""
    first = plan.plans[0]
    return -plan.value, math.inf if first is None else first.hours


def _open(ledger: Ledger, verdicts: Sequence[Verdict], only: str | None) -> list[Claim]:
    outcomes = {verdict.claim: verdict.outcome for verdict in verdicts}
    if only is not None:
        if only not in outcomes:
            raise Refusal("unknown_claim", f"No claim has the id “{only}”.")
        if outcomes[only] != "unresolved":
            raise Refusal("claim_not_open", f"The claim “{only}” is {outcomes[only]} already.")
    return [
        claim
        for claim in ledger.claims
        if outcomes.get(claim.id) == "unresolved" and only in (None, claim.id)
    ]


def _planned(claim: Claim, bench: Bench, prices: Prices) -> ClaimPlan:
    settings = bench.settings
    if settings.quantities[claim.quantity].kind == "feature":
        raise Refusal(
            "feature_not_planned", "Claims on features seen by eye are settled by looking at more."
        )
    if rests_on_print(claim, bench.records.cells, settings):
        raise Refusal(
            "print_not_planned",
            "It rests on a printed summary, of which no bores or places are known to plan with.",
        )
    bench.shifts.require(claim)
    evidence = bench.evidence_of(claim)
    if claim.figure == "mean":
        analysis = bench.analysis_of(claim, evidence)
        study = claim_study(claim, evidence, analysis, settings.confidence, prices)
    else:
        found = bench.figure_of(claim, evidence)
        study = figure_study(claim, evidence, found, settings.confidence, prices)
    costs = measuring_costs(claim, prices)
    room = _room(claim, evidence, settings, prices)
    if study.whole_blocks:
        room = replace(room, **_usual(evidence))
    plans = tuple(cheapest_plan(study, costs, room, target) for target in TARGETS)
    held_by = more = None
    if plans[0] is None:
        unbounded = replace(room, candidate=None, reference=None)
        more = cheapest_plan(study, costs, unbounded, TARGETS[0])
        exact = replace(study, shared=0.0, shared_calibrated=None)
        if more is not None:
            held_by = BLOCKS
        elif cheapest_plan(exact, costs, unbounded, TARGETS[0]) is not None:
            held_by = GAUGE
        else:
            held_by = TOO_NEAR
    return ClaimPlan(
        claim=claim.id,
        statement=claim.statement,
        candidate=settings.family_label(claim.candidate),
        reference=settings.family_label(claim.reference),
        plans=plans,
        held_by=held_by,
        with_more_blocks=more,
        costs=costs,
        study=study,
        room=room,
    )


def claim_study(
    claim: Claim, evidence: Evidence, analysis: Analysis, confidence: float, prices: Prices
) -> ClaimStudy:
    """Gather the numbers a plan rests on from the analysis of a claim."""
    repeat = _repeat_variance(evidence.cells)
    own = analysis.own and analysis.for_plans is analysis.readings_only
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
        candidate=_measured(evidence.of(claim.candidate)),
        reference=_measured(evidence.of(claim.reference)),
        shared=analysis.shared.uncertainty,
        shared_degrees=analysis.shared.degrees_of_freedom,
        shared_calibrated=_calibrated(claim.unit, prices),
        reference_levels=others if own else None,
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
    counts = [evidence.count(family).blocks for family in (claim.candidate, claim.reference)]
    own, other = analysis.variances
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
        candidate=_measured(evidence.of(claim.candidate)),
        reference=_measured(evidence.of(claim.reference)),
        shared=analysis.shared.uncertainty,
        shared_degrees=analysis.shared.degrees_of_freedom,
        shared_calibrated=_calibrated(claim.unit, prices),
        reference_levels=Levels(block=other),
        whole_blocks=True,
    )


def measuring_costs(claim: Claim, prices: Prices) -> MeasuringCosts:
    """Gather what measuring costs for the two families of a claim."""
    stated = {name: money.range.mean for name, money in prices.measuring.items()}
    general = stated.get("block")

    def block(family: str) -> float | None:
        known = prices.further_block.get(family)
        return general if known is None else known.range.mean

    blocks = [block(family) for family in (claim.candidate, claim.reference)]
    rest = {name: stated.get(name) for name in ("bore", "place", "repeat", "calibration_block")}
    hour_costs = prices.hour_costs.range.mean if prices.hour_costs else 0.0
    by_the_hour = {name for name, hours in prices.measuring_hours.items() if hours and hour_costs}
    unstated = [n for n, money in rest.items() if money is None and n not in by_the_hour]
    if any(money is None for money in blocks):
        unstated.insert(0, "block")
    return MeasuringCosts(
        candidate_block=blocks[0] or 0.0,
        reference_block=blocks[1] or 0.0,
        bore=rest["bore"] or 0.0,
        place=rest["place"] or 0.0,
        repeat=rest["repeat"] or 0.0,
        calibration_block=rest["calibration_block"] or 0.0,
        hours=prices.measuring_hours,
        hour_costs=hour_costs,
        unstated=tuple(unstated),
    )


def _room(claim: Claim, evidence: Evidence, settings: Settings, prices: Prices) -> Room:
    """Give how far a plan may go: blocks that exist and are not measured, bores, shared places."""

    def left(family: str) -> int | None:
        known = prices.blocks_exist.get(family)
        return None if known is None else max(0, known - evidence.count(family).blocks)

    cells = evidence.cells
    bores = int(cells.groupby("block")["bore"].nunique().max())
    if settings.drawing is not None and settings.drawing.bores and (cells["bore"] != "").any():
        bores = max(bores, settings.drawing.bores)
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


def _measured(cells: pd.DataFrame) -> Measured:
    """Give what is measured of one family, block by block."""
    by_block = cells.groupby("block")
    bores = by_block["bore"].nunique().to_numpy()
    places = by_block[["bore", "station", "depth"]].apply(lambda own: len(own.drop_duplicates()))
    readings = by_block["n"].sum().to_numpy()
    return Measured(
        blocks=len(readings),
        per_bore=float((1 / bores).mean()),
        per_place=float((1 / places.to_numpy()).mean()),
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
