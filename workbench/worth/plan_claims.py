"""What to measure next: for each open claim of a study the cheapest measuring that settles it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from workbench.claims.claim import Claim, Ledger
from workbench.claims.judge import Bench
from workbench.claims.planning import detectable
from workbench.claims.printed_families import rests_on_print
from workbench.claims.verdict import Verdict
from workbench.errors import Refusal
from workbench.inference.planning.sequential import Spending
from workbench.worth.cheapest_plan import (
    TARGETS,
    PricedPlan,
    best_within,
    cheapest_for_width,
    cheapest_plan,
    check_budget,
    check_half_width,
)
from workbench.worth.claim_study import ClaimStudy
from workbench.worth.measuring_costs import MeasuringCosts, measuring_costs
from workbench.worth.plan_outlook import Outlook, Schedule, outlook, schedule
from workbench.worth.prices import Prices
from workbench.worth.study_of_claim import claim_study, figure_study, room_of
from workbench.worth.ways_of_reading import Room

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
    now: Outlook | None = None
    then: Outlook | None = None
    looks: Schedule | None = None
    within_budget: PricedPlan | None = None
    for_width: PricedPlan | None = None
    refusal: Refusal | None = None

    @property
    def value(self) -> float:
        """The chance to settle it, for each unit of money, of the cheaper plan; 0 without one."""
        plan = self.plans[0]
        if plan is None:
            return 0.0
        return math.inf if plan.money == 0 else plan.assurance / plan.money


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What is asked beside the cheapest plans: the most for a budget, the least for a width.

    `looks` says how looks on the way spend the permitted false alarms.
    """

    budget: float | None = None
    half_width: float | None = None
    looks: Spending = "obrien-fleming"

    def __post_init__(self) -> None:
        """Refuse what no plan can be held to, once for all claims."""
        if self.budget is not None:
            check_budget(self.budget)
        if self.half_width is not None:
            check_half_width(self.half_width)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanAnswer:
    """What to measure next, the claim that is settled most cheaply first; at these prices.

    `asked` are the budget and the half-width asked about, None where none was.
    """

    prices: Prices
    plans: tuple[ClaimPlan, ...]
    asked: Asked = Asked()


def plan_claims(
    bench: Bench,
    verdicts: Sequence[Verdict],
    prices: Prices,
    *,
    only: str | None = None,
    budget: float | None = None,
    half_width: float | None = None,
    looks: Spending = "obrien-fleming",
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
    budget : float, optional
        Money, in the currency of the answer: the likeliest plan for it is sought as well.
    half_width : float, optional
        In the unit of the claim `only`: the cheapest plan for an interval so narrow is sought too.
    looks : {"obrien-fleming", "pocock"}
        How looks on the way spend the permitted false alarms: hardly any early, or evenly.

    Raises
    ------
    Refusal
        `width_of_several` for a half-width without a claim; `bad_budget`, `bad_half_width`;
        `no_measuring_costs` where the study states neither money nor hours for measuring;
        `claim_not_open` where the claim asked about is decided, `unknown_claim` where there is
        none.
    """
    if half_width is not None and only is None:
        raise Refusal(
            "width_of_several", "A half-width is in the unit of one claim: name the claim as well."
        )
    open_claims = _open(bench.ledger, verdicts, only)
    asked = Asked(budget=budget, half_width=half_width, looks=looks)
    if not prices.measuring and not any(prices.measuring_hours.values()):
        raise Refusal(
            "no_measuring_costs",
            "The study does not say what measuring costs; state “worth.measuring”.",
        )
    verdict_on = {verdict.claim: verdict for verdict in verdicts}
    found = []
    for claim in open_claims:
        try:
            found.append(_planned(claim, verdict_on[claim.id], bench, prices, asked))
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
    return PlanAnswer(prices=prices, plans=tuple(sorted(found, key=_by_value)), asked=asked)


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


def _planned(
    claim: Claim, verdict: Verdict, bench: Bench, prices: Prices, asked: Asked
) -> ClaimPlan:
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
    detects = math.nan
    if claim.figure == "mean":
        analysis = bench.analysis_of(claim, evidence)
        study = claim_study(claim, evidence, analysis, settings.confidence, prices)
        detects = detectable(analysis, claim, settings.confidence)
    else:
        found = bench.figure_of(claim, evidence)
        study = figure_study(claim, evidence, found, settings.confidence, prices)
    costs = measuring_costs(claim, prices)
    room = room_of(claim, evidence, settings, prices, whole_blocks=study.whole_blocks)
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
    likeliest, now = plans[0] or more, (verdict.high - verdict.low) / 2
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
        now=Outlook(half_width=now, within=math.nan, detectable=detects),
        then=None if likeliest is None else outlook(study, likeliest.plan),
        looks=None if plans[0] is None else schedule(study, plans[0].plan, spending=asked.looks),
        within_budget=None
        if asked.budget is None
        else best_within(study, costs, room, asked.budget),
        for_width=None
        if asked.half_width is None or study.ratio is not None
        else cheapest_for_width(study, costs, room, asked.half_width, now=now),
    )
