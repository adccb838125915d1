"""What the terminal shows of money: what a usable block costs, and whether the dear one pays.

Study text comes from strangers and is shown as text, as in the rest of the terminal.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.text import Text

from workbench.errors import Refusal
from workbench.runs.terminal import console, indented, print_cautions, print_doubts, safe, table
from workbench.worth.fit_share import BASES, FitShare
from workbench.worth.sentences import (
    beside_sentence,
    comparison_sentence,
    cost_sentence,
    looking_sentence,
    percent,
    sensitivity_sentence,
    share_sentence,
)
from workbench.worth.wording import blocks_text, money_interval_text, money_text

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import Console
    from rich.table import Table

    from workbench.records.notice import Notice
    from workbench.worth.answer import FamilyAnswer, PairAnswer, WorthAnswer

NO_NUMBER = "–"
ENOUGH, SELDOM = 0.9, 0.005


def print_worth(study: str, answer: WorthAnswer, doubts: Sequence[Notice] = ()) -> None:
    """Print the cost of a usable block of each family, every comparison, and what to do now."""
    out = console()
    label, note = answer.judged.label(answer.duty), answer.judged.notes.get(answer.duty, "")
    out.print(safe(study))
    out.print(safe(f"Duty: {label} ({note})"))
    print_doubts(out, doubts)
    out.print(cost_table(answer))
    for family in answer.families:
        print_family(out, family, answer)
    for premium in dict.fromkeys(pair.comparison.premium.family for pair in answer.pairs):
        print_pair(out, [p for p in answer.pairs if p.comparison.premium.family == premium], answer)
    print_looking(out, answer)
    if len({pair.duty for pair in answer.duties}) > 1:
        out.print(duty_table(answer))
    for notice in answer.prices.notices:
        out.print(indented("notice", f"{notice.sentence} [{notice.code}]"))
    out.print(f"Simulated with {answer.trials} trials and the seed {answer.seed}.")
    print_cautions(out)


def cost_table(answer: WorthAnswer) -> Table:
    """Give the table of costs, one row a family and basis."""
    made = table(
        *("family", "fit", "by", "usable block costs", f"{percent(answer.confidence)} interval"),
        "enough in 9 of 10",
    )
    currency = answer.prices.currency
    for family in answer.families:
        fit = fit_text(family.share)
        if not family.costs:
            made.add_row(safe(family.label), fit, *(NO_NUMBER,) * 4)
        for cost in family.costs:
            interval = cost.interval(answer.confidence)
            made.add_row(
                safe(family.label),
                fit,
                cost.basis,
                NO_NUMBER
                if cost.mean is None
                else money_text(cost.mean, currency, (interval.high - interval.low) / 4),
                money_interval_text(interval, currency),
                blocks_text(cost.blocks.quantile(ENOUGH)),
            )
    return made


def print_family(out: Console, family: FamilyAnswer, answer: WorthAnswer) -> None:
    """Print what one family costs, or why that cannot be said; the table has every basis."""
    out.print(Text(str(safe(family.label)), "bold"))
    if family.share is not None:
        duty = answer.judged.label(answer.duty)
        out.print(indented("fit", share_sentence(family.share, family.label, duty)))
    if family.refusal is not None:
        out.print(indented("refused", f"{family.refusal} [{family.refusal.code}]"))
    for cost in family.costs[:1]:
        budget = answer.prices.budget
        most = None if budget is None else budget.range.mean
        said = cost_sentence(cost, answer.prices.currency, answer.confidence, most)
        out.print(indented("cost", said))
    out.print()


def print_pair(out: Console, pairs: list[PairAnswer], answer: WorthAnswer) -> None:
    """Print one family against the ordinary one: by the first basis in full, by others in short."""
    currency, first = answer.prices.currency, pairs[0].comparison
    names = f"{safe(first.premium.label)} against {safe(first.ordinary.label)}"
    out.print(Text(names, "bold"))
    out.print(indented("odds", comparison_sentence(first, currency, answer.confidence)))
    for other in pairs[1:]:
        said = beside_sentence(other.comparison, currency, answer.confidence)
        out.print(indented("", said))
    if pairs[0].sensitivity is not None:
        out.print(indented("moves", sensitivity_sentence(pairs[0].sensitivity, currency)))
    out.print()


def print_looking(out: Console, answer: WorthAnswer) -> None:
    """Print what to do now, by each basis."""
    out.print(Text("What to do now", "bold"))
    for found in answer.looking:
        if isinstance(found, Refusal):
            out.print(indented("next", str(found)))
        else:
            out.print(indented("next", looking_sentence(found, answer.prices.currency)))
    out.print()


def duty_table(answer: WorthAnswer) -> Table:
    """Give the duties side by side: one row a duty and pair, the odds by each basis."""
    made = table(
        *("duty", "block", "fit", "against", "fit", "difference", "by count", "by model"),
        title="Duties side by side; in how many cases of a hundred the block is the cheaper one",
    )
    rows: dict[tuple[str, str], list[PairAnswer]] = {}
    for pair in answer.duties:
        rows.setdefault((pair.duty, pair.comparison.premium.family), []).append(pair)
    for pairs in rows.values():
        made.add_row(*duty_row(pairs, answer))
    return made


def duty_row(pairs: list[PairAnswer], answer: WorthAnswer) -> list[Text | str]:
    """Give one row of the duties side by side; the cost is by the first basis there is."""
    found, shares = pairs[0].comparison, answer.judged.shares[pairs[0].duty]
    interval = found.interval(answer.confidence)
    middle = found.median if found.mean is None else found.mean
    odds = {pair.basis: count_text(pair.comparison.cheaper.value) for pair in pairs}
    return [
        safe(answer.judged.label(pairs[0].duty)),
        safe(found.premium.label),
        fit_text(shares.get(found.premium.family)),
        safe(found.ordinary.label),
        fit_text(shares.get(found.ordinary.family)),
        more_text(middle, (interval.high - interval.low) / 4, answer.prices.currency),
        *(odds.get(basis, NO_NUMBER) for basis in BASES),
    ]


def more_text(difference: float, uncertainty: float, currency: str) -> str:
    """Give a difference as so much more or less."""
    money = money_text(abs(difference), currency, uncertainty)
    return f"{money} {'more' if difference >= 0 else 'less'}"


def count_text(chance: float) -> str:
    """Give a simulated chance as a count in a hundred; none is certain."""
    return (
        "under 1"
        if chance < SELDOM
        else "over 99"
        if chance > 1 - SELDOM
        else f"{100 * chance:.0f}"
    )


def fit_text(share: FitShare | None) -> str:
    """Give how many blocks of how many were fit."""
    return NO_NUMBER if share is None else f"{share.passed} of {share.inspected}"
