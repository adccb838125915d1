"""What a plan would show, when to look on its way, and what was asked beside it, in words."""

from __future__ import annotations

import math
from typing import Any

from workbench.records.rounding import digits_for, number_text, quantity_text
from workbench.worth.cheapest_plan import TARGETS
from workbench.worth.plan_claims import Asked, ClaimPlan
from workbench.worth.plan_outlook import Look, Outlook
from workbench.worth.plan_words import cost_text, plan_text
from workbench.worth.prices import Prices
from workbench.worth.wording import money_text, odds_text


def shows_sentence(found: ClaimPlan) -> str:
    """Say how wide the interval is and would be, and how small a difference would be settled."""
    if found.study is None or found.now is None:
        return ""
    unit, now, then = found.study.unit, found.now, found.then
    said = [f"As measured the interval reaches {size_text(now.half_width, unit)} either way."]
    if then is not None:
        said.append(
            f"With this plan it would reach {size_text(then.half_width, unit)} on average, and "
            f"with odds of {odds_text(TARGETS[0])} no more than {size_text(then.within, unit)}."
        )
    known = [
        f"{size_text(outlook.detectable, unit)} {when}"
        for outlook, when in ((now, "as measured"), (then, "with this plan"))
        if outlook is not None and math.isfinite(outlook.detectable)
    ]
    if known:
        odds = odds_text(TARGETS[0])
        start = (
            f"Sameness could be shown with odds of {odds}, were there no difference, within"
            if found.study.direction == "same"
            else f"With odds of {odds} a true difference is settled that lies from its margin by"
        )
        said.append(f"{start} {', '.join(known)}.")
    return " ".join(said)


def looks_sentence(found: ClaimPlan) -> str:
    """Say after how many new blocks one may look, at which confidence, and what that saves."""
    schedule = found.looks
    if schedule is None or found.study is None:
        return ""
    at = "; ".join(
        f"after {new_blocks_text(look, found)} at {confidence_text(look.p_value)} (stopped by "
        f"then with odds of {odds_text(look.settled)})"
        for look in schedule.looks
    )
    last = schedule.looks[-1]
    return (
        "You may look on the way, and stop once the interval clears the margin at the confidence "
        f"that belongs to the look (“confidence” in study.toml): {at}. So the looks to come "
        "raise together no more false alarms than one would; that at the readings at hand had its "
        f"own. If all is as it seems, {schedule.blocks:.0f} of the "
        f"{last.candidate + last.reference} blocks are measured on average."
    )


def asked_sentence(found: ClaimPlan, asked: Asked, prices: Prices) -> str:
    """Say what the budget would do, and what an interval so narrow would take."""
    if found.refusal is not None or found.study is None:
        return ""
    said = []
    if asked.budget is not None:
        money = money_text(asked.budget, prices.currency or "of money")
        best = found.within_budget
        said.append(
            f"For {money} nothing can be had that makes it likelier to be settled."
            if best is None
            else f"For {money}: {plan_text(best.plan, found.candidate, found.reference)}; "
            f"{cost_text(best, prices)}. It would be settled with odds of {odds_text(best.power)} "
            f"if all is as it seems, of {odds_text(best.assurance)} from what is known now."
        )
    if asked.half_width is not None:
        size = size_text(asked.half_width, found.study.unit)
        least = found.for_width
        if found.study.ratio is not None:
            said.append("The interval of a ratio of spreads has no width to plan for.")
        elif least is None:
            said.append(f"No plan within reach makes the interval reach {size} either way.")
        else:
            said.append(
                f"For an interval that reaches {size} either way on average: "
                f"{plan_text(least.plan, found.candidate, found.reference)}; "
                f"{cost_text(least, prices)}."
            )
    return " ".join(said)


def outlook_json(outlook: Outlook | None) -> dict[str, float | None] | None:
    """Give what a plan would show as plain values."""
    if outlook is None:
        return None
    values = {
        "half_width": outlook.half_width,
        "half_width_8_in_10": outlook.within,
        "detectable": outlook.detectable,
    }
    return {name: value if math.isfinite(value) else None for name, value in values.items()}


def looks_json(found: ClaimPlan) -> dict[str, Any] | None:
    """Give the looks as plain values."""
    if found.looks is None:
        return None
    return {
        "blocks_on_average": found.looks.blocks,
        "looks": [
            {
                "candidate_blocks": look.candidate,
                "reference_blocks": look.reference,
                "information": look.information,
                "p_value": look.p_value,
                "confidence": look.confidence,
                "beyond": look.beyond,
                "settled": look.settled,
            }
            for look in found.looks.looks
        ],
    }


def confidence_text(p_value: float) -> str:
    """Give the confidence that belongs to a p-value, to two digits of what it leaves.

    >>> confidence_text(0.0437), confidence_text(0.00012)
    ('95.6%', '99.988%')
    """
    return f"{number_text(100 * (1 - p_value), max(1, digits_for(100 * p_value)))}%"


def new_blocks_text(look: Look, found: ClaimPlan) -> str:
    """Give how many new blocks of each family are measured by a look."""
    named = (look.candidate, found.candidate), (look.reference, found.reference)
    return " and ".join(f"{number} {label}" for number, label in named if number)


def size_text(value: float, unit: str) -> str:
    """Give a size to two digits."""
    return quantity_text(value, abs(value) or None, unit)
