"""What to measure next, as plain values."""

from __future__ import annotations

import math
from typing import Any

from workbench.worth.cheapest_plan import TARGETS, PricedPlan
from workbench.worth.outlook_words import looks_json, outlook_json
from workbench.worth.plan_claims import PlanAnswer
from workbench.worth.plan_words import plan_sentence


def plan_json(answer: PlanAnswer) -> dict[str, Any]:
    """Give the plans as plain values, the claim settled most cheaply first."""
    return {
        "currency": answer.prices.currency,
        "budget": answer.asked.budget,
        "half_width": answer.asked.half_width,
        "plans": [
            {
                "claim": claim.claim,
                "statement": claim.statement,
                "value": claim.value if math.isfinite(claim.value) else None,
                "held_by": claim.held_by,
                "targets": [
                    {"power": target, "plan": _plan(plan)}
                    for target, plan in zip(TARGETS, claim.plans, strict=True)
                ],
                "with_more_blocks": _plan(claim.with_more_blocks),
                "unit": claim.study.unit if claim.study else None,
                "now": outlook_json(claim.now),
                "then": outlook_json(claim.then),
                "sequential": looks_json(claim),
                "within_budget": _plan(claim.within_budget),
                "for_half_width": _plan(claim.for_width),
                "unstated": list(claim.costs.unstated) if claim.costs else [],
                "refusal": None
                if claim.refusal is None
                else {"code": claim.refusal.code, "text": str(claim.refusal)},
                "sentence": plan_sentence(claim, answer.prices),
            }
            for claim in answer.plans
        ],
    }


def _plan(plan: PricedPlan | None) -> dict[str, Any] | None:
    if plan is None:
        return None
    return {
        "candidate_blocks": plan.plan.candidate,
        "reference_blocks": plan.plan.reference,
        "bores": plan.plan.bores,
        "places": plan.plan.places,
        "repeats": plan.plan.repeats,
        "again": plan.plan.again,
        "calibrated": plan.plan.calibrated,
        "power": plan.power,
        "assurance": plan.assurance,
        "money": plan.money,
        "hours": plan.hours,
    }
