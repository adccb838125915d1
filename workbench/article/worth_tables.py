"""Tables of money: what a usable block costs, families and duties against each other, prices."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbench.article.tables import Table
from workbench.errors import Refusal
from workbench.worth.break_even import BreakEvenPrice
from workbench.worth.fit_share import COUNTED
from workbench.worth.sentences import percent
from workbench.worth.wording import (
    blocks_text,
    difference_text,
    hundred_text,
    money_interval_text,
    money_text,
    odds_text,
    simulated_odds_text,
)

if TYPE_CHECKING:
    from workbench.worth.answer import FamilyAnswer, PairAnswer, WorthAnswer
    from workbench.worth.cost import UsableCost
    from workbench.worth.family_prices import FamilyPrices

NO_NUMBER = "–"
ENOUGH = 0.9


def costs_table(answer: WorthAnswer) -> Table:
    """Give the cost of a usable block, a row a family and basis; refused families say why."""
    rows = []
    for family in answer.families:
        for cost in family.costs:
            rows.append(_cost_row(family, cost, answer))
        if family.refusal is not None:
            rows.append((family.label, _fit(family), NO_NUMBER, str(family.refusal), *[""] * 4))
    return Table(
        caption=f"Cost of a block usable for {answer.judged.label(answer.duty)}",
        columns=(
            *("family", "fit", "by", "a usable block costs"),
            f"{percent(answer.confidence)} interval",
            *("way", "enough in 9 cases of 10", "nothing after the limit"),
        ),
        rows=tuple(rows),
        note=_notices(answer),
    )


def _cost_row(family: FamilyAnswer, cost: UsableCost, answer: WorthAnswer) -> tuple[str, ...]:
    currency, interval = answer.prices.currency, cost.interval(answer.confidence)
    return (
        family.label,
        _fit(family),
        _by(cost.basis),
        "no mean"
        if cost.mean is None
        else money_text(cost.mean, currency, (interval.high - interval.low) / 4),
        money_interval_text(interval, currency),
        cost.way,
        blocks_text(cost.blocks.quantile(ENOUGH)),
        NO_NUMBER if cost.chance_of_none is None else odds_text(cost.chance_of_none),
    )


def pairs_table(answer: WorthAnswer) -> Table:
    """Give each family against the ordinary one, a row a pair and basis."""
    return Table(
        caption=f"Against the ordinary block, for {answer.judged.label(answer.duty)}",
        columns=(
            *("family", "against", "by", "difference"),
            *("cheaper on average with", "cheaper this once with"),
            *("breaks even at a price of", "and at a share of"),
        ),
        rows=tuple(_pair_row(pair, answer) for pair in answer.pairs),
        note=(
            "Odds are simulated; the standard error of the simulation stands beside them. The "
            "break-even price is that of the expected costs, to a hundredth; where one of them has "
            "no mean, that of even odds."
        ),
    )


def _pair_row(pair: PairAnswer, answer: WorthAnswer) -> tuple[str, ...]:
    found, currency = pair.comparison, answer.prices.currency
    needed = found.share_needed
    return (
        found.premium.label,
        found.ordinary.label,
        _by(pair.basis),
        difference_text(found.interval(answer.confidence), currency),
        *(
            simulated_odds_text(odds.value, odds.error)
            for odds in (found.cheaper, found.cheaper_this_once)
        ),
        _price(found.break_even, currency),
        NO_NUMBER if needed is None else f"{hundred_text(needed)} of a hundred fit",
    )


def _price(even: BreakEvenPrice | Refusal, currency: str) -> str:
    if isinstance(even, Refusal):
        return str(even)
    if even.cheaper_up_to is not None:
        return money_text(even.cheaper_up_to, currency)
    return f"{money_text(even.even_odds, currency, abs(even.even_odds) / 20)} (even odds)"


def duties_table(answer: WorthAnswer) -> Table:
    """Give the odds by duty, a row a duty, pair and basis."""
    rows = []
    for pair in answer.duties:
        found, shares = pair.comparison, answer.judged.shares[pair.duty]
        fit = (shares[cost.family] for cost in (found.premium, found.ordinary))
        rows.append(
            (
                answer.judged.label(pair.duty),
                found.premium.label,
                found.ordinary.label,
                _by(pair.basis),
                *(f"{share.passed} of {share.inspected}" for share in fit),
                difference_text(found.interval(answer.confidence), answer.prices.currency),
                odds_text(found.cheaper.value),
            )
        )
    return Table(
        caption="Duties side by side",
        columns=(
            *("duty", "family", "against", "by", "fit", "of the other fit", "difference"),
            "cheaper on average with",
        ),
        rows=tuple(rows),
        note="; ".join(
            f"{answer.judged.label(duty)}: {note}" for duty, note in answer.judged.notes.items()
        ),
    )


def prices_table(answer: WorthAnswer) -> Table:
    """Give every amount that enters, as stated and with its date."""
    currency = answer.prices.currency
    stated: dict[str, tuple[str, str, str, str]] = {}
    for money in answer.prices.families.values():
        for what, amount in money.named_amounts:
            label = "every family" if amount.key.startswith("worth.") else money.label
            ends = _range(amount.range.low, amount.range.high, currency)
            when = str(amount.quoted_on or "no date")
            stated.setdefault(amount.key, (label, what, ends, when))
    rows = list(stated.values())
    rows += [
        (money.label, extra, "listed, not priced" if worth is None else worth, "")
        for money in answer.prices.families.values()
        for extra, worth in _beyond(money, currency)
    ]
    return Table(
        caption="Money that enters, as the study states it",
        columns=("family", "what", "from and to", "as of"),
        rows=tuple(rows),
        note=f"Ranges are taken as {answer.prices.range_shape} distributions.",
    )


def _beyond(money: FamilyPrices, currency: str) -> list[tuple[str, str | None]]:
    return [
        (
            f"beyond the duty: {extra.what}",
            None if extra.worth is None else money_text(extra.worth.range.mean, currency),
        )
        for extra in money.beyond
    ]


def _range(low: float, high: float, currency: str) -> str:
    if low == high:
        return money_text(low, currency)
    return f"{money_text(low, currency)} to {money_text(high, currency)}"


def _fit(family: FamilyAnswer) -> str:
    share = family.share
    return NO_NUMBER if share is None else f"{share.passed} of {share.inspected}"


def _by(basis: str) -> str:
    return "count" if basis == COUNTED else "model"


def _notices(answer: WorthAnswer) -> str:
    said = [found.sentence for found in answer.prices.notices]
    return " ".join([*said, *(_short(family) for family in answer.families if family.refusal)])


def _short(family: FamilyAnswer) -> str:
    return f"{family.label} could not be answered."
