"""What an answer about money says in plain words: the amount, the odds, what they rest on."""

from __future__ import annotations

import math

from workbench.errors import Refusal
from workbench.inference.decision.sensitivity import Swing
from workbench.inference.results import Interval
from workbench.records.notice import quoted
from workbench.records.rounding import digits_for, number_text
from workbench.worth.break_even import BreakEvenPrice
from workbench.worth.compare import CostComparison
from workbench.worth.cost import UsableCost
from workbench.worth.fit_share import COUNTED, FitShare
from workbench.worth.information import INSPECT, WALK_AWAY, LookingValue
from workbench.worth.sensitivity import DECISION, DIFFERENCE, CostSensitivity
from workbench.worth.wording import (
    blocks_text,
    cases_text,
    difference_text,
    hundred_text,
    money_interval_text,
    money_text,
    odds_text,
    simulated_odds_text,
)

ENOUGH, SWING = 0.9, 0.9
SHOWN, LEAST_SHARE = 3, 0.01


def basis_words(basis: str) -> str:
    """Give a basis as the opening of a sentence."""
    return "By the count of blocks" if basis == COUNTED else "By the model of the measurements"


def share_sentence(share: FitShare, label: str, duty: str) -> str:
    """Say what the share of fit blocks rests on."""
    passed = "None" if share.passed == 0 else str(share.passed)
    were = "was" if share.passed <= 1 else "were"
    lie = "lies" if share.too_close == 1 else "lie"
    close = f"; {share.too_close} of the {share.inspected} {lie} too close to call"
    return (
        f"{passed} of {share.inspected} {label} blocks inspected {were} fit for the duty "
        f"“{duty}”{close if share.too_close else ''}."
    )


def cost_sentence(
    cost: UsableCost, currency: str, confidence: float, budget: float | None = None
) -> str:
    """Say what a usable block costs on average, and what one purchase may take."""
    interval = cost.interval(confidence)
    found = f"{percent(confidence)} interval {money_interval_text(interval, currency)}"
    if cost.mean is None:
        average = (
            f"no expected cost of a usable {cost.label} block can be given, as too few were fit; "
            f"it is as likely above as below {_unsure(cost.median, interval, currency)} ({found})"
        )
    else:
        average = (
            f"a usable {cost.label} block costs {_unsure(cost.mean, interval, currency)} on "
            f"average over many purchases ({found})"
        )
    return (
        f"{basis_words(cost.basis)}, {average}, if you {cost.way}. In {cases_text(ENOUGH)} "
        f"{blocks_text(cost.blocks.quantile(ENOUGH))} will do{_wanted_words(cost)}"
        f"{_rest_words(cost)}"
        f"{_limit_words(cost, currency)}{_ways_words(cost, currency)}"
        f"{_remedy_words(cost, currency)}{_hours_words(cost)}"
        f"{_budget_words(cost, budget, currency)}"
    )


def percent(confidence: float) -> str:
    """Give a confidence in per cent."""
    return f"{round(100 * confidence, 6):g}%"


def _unsure(amount: float, interval: Interval, currency: str) -> str:
    """Give an amount to the digits its interval allows."""
    spread = (interval.high - interval.low) / 4
    return money_text(amount, currency, spread if math.isfinite(spread) else abs(amount) / 20)


def _ways_words(cost: UsableCost, currency: str) -> str:
    """Say what it would cost bought in the other way, where the seller allows one."""
    others = [(way, mean) for way, mean in cost.by_way if way != cost.way]
    if cost.mean is None or not others:
        return ""
    return "".join(
        f" If you {way}, it would cost {_mean_text(mean, cost, currency)}."
        for way, mean in others
        if mean is not None
    )


def _remedy_words(cost: UsableCost, currency: str) -> str:
    """Say what it would cost if no block that fails were put right."""
    said = ""
    if cost.blocks.rescued:
        would = "no expected cost could be given"
        if cost.without_remedies is not None:
            would = f"it would cost {_mean_text(cost.without_remedies, cost, currency)}"
        said = f" If no block that fails were put right {would}."
    if cost.not_paying:
        what = " or ".join(cost.not_paying)
        said += f" Putting a block that fails right by {what} would cost more than it saves."
    return said


def _mean_text(mean: float, cost: UsableCost, currency: str) -> str:
    return f"{_unsure(mean, cost.interval(), currency)} on average"


def _hours_words(cost: UsableCost) -> str:
    if not cost.hours:
        return ""
    return f" It takes {number_text(cost.hours, digits_for(cost.hours))} of your hours on average."


def _budget_words(cost: UsableCost, budget: float | None, currency: str) -> str:
    if budget is None:
        return ""
    over = cost.over(budget)
    return (
        f" A budget of {money_text(budget, currency)} is not enough{_wanted_words(cost)} "
        "with odds of "
        f"{simulated_odds_text(over.value, over.error)}."
    )


def _wanted_words(cost: UsableCost) -> str:
    """Say for how many usable blocks, where more than one is wanted."""
    return f" for the {cost.blocks.wanted} usable ones wanted" if cost.blocks.wanted > 1 else ""


def _rest_words(cost: UsableCost) -> str:
    """Say that the other cases need more blocks, where that is not nearly never."""
    more = cost.blocks.chance_of_more_than
    needed = cost.blocks.quantile(ENOUGH)
    if math.isinf(needed) or more(int(needed)) < (1 - ENOUGH) / 2:
        return ""
    return ", in one of ten you will need more"


def _limit_words(cost: UsableCost, currency: str) -> str:
    if cost.limit is None or cost.chance_of_none is None or cost.mean_outlay is None:
        most = _unsure(cost.spent(ENOUGH), cost.interval(), currency)
        return f"; in as many cases {most} are spent at most."
    return (
        f". Giving up after {blocks_text(cost.limit)}"
        f"{' for each of them' if cost.blocks.wanted > 1 else ''} spends "
        f"{_unsure(cost.mean_outlay, cost.interval(), currency)} on average"
        f"{' on each' if cost.blocks.wanted > 1 else ''} and leaves nothing "
        f"with odds of {odds_text(cost.chance_of_none)}."
    )


def comparison_sentence(found: CostComparison, currency: str, confidence: float) -> str:
    """Say which of two families is the cheaper one, how surely, and where that turns."""
    premium, ordinary = found.premium.label, found.ordinary.label
    shown = found.median if found.mean is None else found.mean
    more = "more" if shown >= 0 else "less"
    middle = "" if found.mean is not None else " in the middle of what is possible"
    interval = found.interval(confidence)
    average, once = (
        simulated_odds_text(chance.value, chance.error)
        for chance in (found.cheaper, found.cheaper_this_once)
    )
    return (
        f"{basis_words(found.premium.basis)}, a usable {premium} block costs "
        f"{_unsure(abs(shown), interval, currency)} {more} than a usable {ordinary} block{middle} "
        f"({percent(confidence)} interval {difference_text(interval, currency)}). Over many "
        f"purchases it is the cheaper one with odds of {average}, in one purchase each with "
        f"{once}.{_price_words(found, currency)}{_share_words(found)}"
        f"{_beyond_words(found, currency)}"
    )


def beside_sentence(found: CostComparison, currency: str, confidence: float) -> str:
    """Say in short what the same comparison comes to by another basis."""
    interval = found.interval(confidence)
    shown = found.median if found.mean is None else found.mean
    return (
        f"{basis_words(found.premium.basis)} it is {_unsure(abs(shown), interval, currency)} "
        f"{'more' if shown >= 0 else 'less'} ({difference_text(interval, currency)}), and the "
        f"cheaper one over many purchases with odds of {odds_text(found.cheaper.value)}."
    )


def _price_words(found: CostComparison, currency: str) -> str:
    premium = found.premium.label
    if not isinstance(found.break_even, BreakEvenPrice):
        return f" {found.break_even}"
    even = _unsure(found.break_even.even_odds, found.break_even.interval(), currency)
    if found.break_even.cheaper_up_to is None:
        return f" At a price of {even} for a {premium} block the odds would be even."
    if found.break_even.cheaper_up_to < 0:
        return f" Even as a gift the {premium} block would be the dearer one on average."
    return (
        f" On average it is the cheaper one up to a price of "
        f"{money_text(found.break_even.cheaper_up_to, currency)}, the dearer one above it; "
        f"the odds would be even at {even}."
    )


def _share_words(found: CostComparison) -> str:
    if found.ordinary.mean is None:
        return ""
    if found.share_needed is None:
        return " At its price it would be the dearer one even if every block were fit."
    return (
        f" It is the cheaper one if more than {hundred_text(found.share_needed)} of a hundred "
        f"{found.premium.label} blocks are fit, which has odds of "
        f"{odds_text(found.chance_of_share or 0.0)}."
    )


def _beyond_words(found: CostComparison, currency: str) -> str:
    if not found.extras:
        return ""
    listed = f" Bought beyond the duty: {quoted([extra.what for extra in found.extras])}"
    if found.extras_worth == 0 or found.mean_beyond is None:
        return f"{listed}; nothing of it is priced here."
    left = money_text(abs(found.mean_beyond), currency)
    return (
        f"{listed}; at what the study says it is worth, the difference is {left} "
        f"{'more' if found.mean_beyond >= 0 else 'less'}."
    )


def looking_sentence(found: LookingValue, currency: str) -> str:
    """Say what to do now: buy, look again, or walk away."""
    opening = f"{basis_words(found.basis)}:"
    fees = ""
    if found.without_fee:
        fees = f" No inspection fee is stated for {quoted(found.without_fee)}."
    fees += _perfect_words(found, currency)
    look = found.best_look
    if found.action == INSPECT and look is not None:
        return (
            f"{opening} inspect {blocks_text(look.blocks)} more of {look.label} before choosing. "
            f"That is worth {money_text(look.value, currency)} and costs "
            f"{money_text(look.fee, currency)}; the choice would change with odds of "
            f"{odds_text(look.chance_of_change)}.{fees}"
        )
    nothing = "no further inspection is worth its fee" if found.looks else "no fee can be weighed"
    if found.action == WALK_AWAY:
        return f"{opening} walk away; {nothing}.{fees}"
    return f"{opening} buy now ({found.best_now}); {nothing}.{fees}"


def _perfect_words(found: LookingValue, currency: str) -> str:
    """Say what it would be worth to know every share: the most any inspection can bring."""
    if isinstance(found.perfect, Refusal):
        return ""
    return (
        " To know the share of fit blocks of every family would be worth "
        f"{money_text(found.perfect.value, currency)}, and no inspection more than that."
    )


def sensitivity_sentence(found: CostSensitivity, currency: str) -> str:
    """Say which inputs move the difference, or the choice, most: one by one and jointly."""
    moving = [swing for swing in found.swings if swing.width > 0][:SHOWN]
    if not moving:
        return "Nothing that is not known moves the difference."
    said = "; ".join(_swing_words(swing, found, currency) for swing in moving)
    return (
        f"Over the middle 9 in ten of what each input may be, the difference moves so: {said}."
        f"{_joint_words(found)}"
    )


def _swing_words(swing: Swing, found: CostSensitivity, currency: str) -> str:
    ends = Interval(
        low=min(swing.at_low, swing.at_high),
        high=max(swing.at_low, swing.at_high),
        confidence=SWING,
    )
    turns = ", which turns the choice" if swing.turns else ""
    return f"with {found.names[swing.name]} {difference_text(ends, currency)}{turns}"


def _joint_words(found: CostSensitivity) -> str:
    if found.indices is None:
        return ""
    if found.outcome == DECISION and (isinstance(found.indices, Refusal) or not found.balanced):
        return " The choice turns in next to none of the cases, whatever the inputs."
    if isinstance(found.indices, Refusal):
        return f" {found.indices}"
    whole = "the variance of the difference" if found.outcome == DIFFERENCE else "the choice"
    parts = [
        f"{round(100 * min(1.0, index.total))} with {found.names[index.name]}"
        for index in found.indices[:SHOWN]
        if index.total > 2 * index.total_error and index.total >= LEAST_SHARE
    ]
    if not parts:
        return ""
    return (
        f" Of {whole}, so much in a hundred hangs together with each input, alone or with others: "
        f"{', '.join(parts)}."
    )
