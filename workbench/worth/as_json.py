"""The answer about money as plain values: full precision, null where there is no number."""

from __future__ import annotations

import math
from typing import Any

from workbench.castings.cautions import CAUTIONS
from workbench.errors import Refusal
from workbench.inference.decision.options import InformationValue
from workbench.worth.answer import FamilyAnswer, PairAnswer, WorthAnswer
from workbench.worth.break_even import BreakEvenPrice
from workbench.worth.cost import Chance, UsableCost
from workbench.worth.family_prices import Extra
from workbench.worth.information import LookingValue
from workbench.worth.prices import Prices
from workbench.worth.sensitivity import CostSensitivity
from workbench.worth.sentences import (
    comparison_sentence,
    cost_sentence,
    looking_sentence,
    sensitivity_sentence,
    share_sentence,
)

Plain = dict[str, Any]
SHARES_SHOWN = (0.5, 0.9, 0.95)


def worth_json(answer: WorthAnswer) -> Plain:
    """Give the whole answer; the study's name is the caller's to add."""
    return {
        "currency": answer.prices.currency,
        "duty": answer.duty,
        "duty_label": answer.judged.label(answer.duty),
        "duty_note": answer.judged.notes.get(answer.duty, ""),
        "confidence": answer.confidence,
        "seed": answer.seed,
        "trials": answer.trials,
        "prices": _prices(answer.prices),
        "families": [_family(family, answer) for family in answer.families],
        "pairs": [_pair(pair, answer) for pair in answer.pairs],
        "looking": [_looking(found, answer) for found in answer.looking],
        "duties": [_duty(pair) for pair in answer.duties],
        "cautions": list(CAUTIONS),
    }


def _prices(prices: Prices) -> Plain:
    return {
        "ordinary": prices.ordinary,
        "range_shape": prices.range_shape,
        "oldest": prices.dates[0].isoformat() if prices.dates else None,
        "newest": prices.dates[1].isoformat() if prices.dates else None,
        "notices": [{"code": found.code, "text": found.sentence} for found in prices.notices],
    }


def _family(found: FamilyAnswer, answer: WorthAnswer) -> Plain:
    prices = answer.prices.families.get(found.family)
    share = found.share
    return {
        "family": found.family,
        "label": found.label,
        "passed": None if share is None else share.passed,
        "inspected": None if share is None else share.inspected,
        "too_close": None if share is None else share.too_close,
        "refusal": _refusal(found.refusal),
        "costs": [_cost(cost, answer) for cost in found.costs],
        "beyond": [_extra(extra) for extra in prices.beyond] if prices else [],
        "sentence": None
        if share is None
        else share_sentence(share, found.label, answer.judged.label(answer.duty)),
    }


def _cost(cost: UsableCost, answer: WorthAnswer) -> Plain:
    interval = cost.interval(answer.confidence)
    budget = answer.prices.budget
    limited = cost.limit is not None
    return {
        "basis": cost.basis,
        "way": cost.way,
        "by_way": [{"way": way, "mean": mean} for way, mean in cost.by_way],
        "mean": cost.mean,
        "mean_error": cost.mean_error,
        "median": number(cost.median),
        "low": number(interval.low),
        "high": number(interval.high),
        "blocks": {
            "mean": number(cost.blocks.mean) if cost.mean is not None else None,
            "enough": [
                {"cases": share, "blocks": number(cost.blocks.quantile(share))}
                for share in SHARES_SHOWN
            ],
        },
        "spent": [{"cases": share, "money": number(cost.spent(share))} for share in SHARES_SHOWN],
        "give_up": {
            "after": cost.limit,
            "mean_spent": cost.mean_outlay,
            "chance_of_none": cost.chance_of_none,
        }
        if limited
        else None,
        "budget": {"amount": budget.range.mean, "over": _chance(cost.over(budget.range.mean))}
        if budget
        else None,
        "without_remedies": cost.without_remedies,
        "remedies_not_paying": list(cost.not_paying),
        "hours": cost.hours,
        "sentence": cost_sentence(
            cost,
            answer.prices.currency,
            answer.confidence,
            budget.range.mean if budget else None,
        ),
    }


def _pair(pair: PairAnswer, answer: WorthAnswer) -> Plain:
    found = pair.comparison
    interval = found.interval(answer.confidence)
    return {
        **_duty(pair),
        "mean_error": found.mean_error,
        "low": number(interval.low),
        "high": number(interval.high),
        "mean_beyond": found.mean_beyond,
        "beyond": [_extra(extra) for extra in found.extras],
        "break_even_price": _break_even(found.break_even, answer.confidence),
        "break_even_share": found.share_needed,
        "chance_of_share": found.chance_of_share,
        "sensitivity": None
        if pair.sensitivity is None
        else _sensitivity(pair.sensitivity, answer.prices.currency),
        "sentence": comparison_sentence(found, answer.prices.currency, answer.confidence),
    }


def _duty(pair: PairAnswer) -> Plain:
    found = pair.comparison
    return {
        "duty": pair.duty,
        "basis": pair.basis,
        "premium": found.premium.family,
        "ordinary": found.ordinary.family,
        "premium_mean": found.premium.mean,
        "ordinary_mean": found.ordinary.mean,
        "mean": found.mean,
        "median": number(found.median),
        "cheaper": _chance(found.cheaper),
        "cheaper_this_once": _chance(found.cheaper_this_once),
    }


def _break_even(found: BreakEvenPrice | Refusal, confidence: float) -> Plain:
    if isinstance(found, Refusal):
        return {"refusal": _refusal(found)}
    interval = found.interval(confidence)
    return {
        "price": found.price,
        "cheaper_up_to": found.cheaper_up_to,
        "even_odds": number(found.even_odds),
        "low": number(interval.low),
        "high": number(interval.high),
    }


def _sensitivity(found: CostSensitivity, currency: str) -> Plain:
    indices = found.indices
    return {
        "outcome": found.outcome,
        "swings": [
            {
                "input": swing.name,
                "what": found.names[swing.name],
                "at_low": number(swing.at_low),
                "at_high": number(swing.at_high),
                "turns": swing.turns,
            }
            for swing in found.swings
        ],
        "indices": None
        if indices is None or isinstance(indices, Refusal)
        else [
            {
                "input": index.name,
                "first": index.first,
                "first_error": index.first_error,
                "total": index.total,
                "total_error": index.total_error,
            }
            for index in indices
        ],
        "refusal": _refusal(indices if isinstance(indices, Refusal) else None),
        "sentence": sensitivity_sentence(found, currency),
    }


def _looking(found: LookingValue | Refusal, answer: WorthAnswer) -> Plain:
    if isinstance(found, Refusal):
        return {"refusal": _refusal(found)}
    best = found.best_look
    return {
        "basis": found.basis,
        "action": found.action,
        "choices": [{"choice": name, "value": number(value)} for name, value in found.choices],
        "best_now": found.best_now,
        "value_now": found.value_now,
        "perfect": _information(found.perfect),
        "looks": [
            {
                "family": look.family,
                "blocks": look.blocks,
                "value": look.value,
                "error": look.error,
                "fee": look.fee,
                "net": look.net,
                "chance_of_change": look.chance_of_change,
            }
            for look in found.looks
        ],
        "best_look": None if best is None else {"family": best.family, "blocks": best.blocks},
        "without_fee": list(found.without_fee),
        "sentence": looking_sentence(found, answer.prices.currency),
    }


def _information(found: InformationValue | Refusal) -> Plain:
    if isinstance(found, Refusal):
        return {"refusal": _refusal(found)}
    return {"value": found.value, "error": found.error, "method": found.method}


def _extra(extra: Extra) -> Plain:
    return {
        "what": extra.what,
        "worth": None if extra.worth is None else extra.worth.range.mean,
    }


def _chance(chance: Chance) -> Plain:
    return {"value": chance.value, "error": chance.error}


def _refusal(refusal: Refusal | None) -> Plain | None:
    return None if refusal is None else {"code": refusal.code, "text": str(refusal)}


def number(value: float) -> float | None:
    """Give a number, or None where there is none."""
    return value if math.isfinite(value) else None
