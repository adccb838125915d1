"""What the notebook of plans shows: what would settle each unresolved claim, and what it costs."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from workbench.article.answer import Answer
from workbench.article.figures.looks_on_the_way import looks_on_the_way
from workbench.article.figures.settled_by_blocks import settled_by_blocks
from workbench.article.tables import Table
from workbench.errors import Refusal
from workbench.inference.planning.sequential import spending_named
from workbench.records.faults import FaultsError
from workbench.worth.cheapest_plan import TARGETS, PricedPlan
from workbench.worth.outlook_words import (
    confidence_text,
    new_blocks_text,
    shows_sentence,
    size_text,
)
from workbench.worth.plan_words import cost_text, plan_sentence, plan_text
from workbench.worth.wording import odds_text

if TYPE_CHECKING:
    from workbench.article.picture import Picture
    from workbench.study import Study
    from workbench.worth.plan_claims import ClaimPlan, PlanAnswer

NO_NUMBER = "–"
NOTHING = "Nothing to show"
ALL_SETTLED = "No claim is unresolved; there is nothing to plan."


@dataclass(frozen=True, slots=True, kw_only=True)
class PlansFound:
    """The plans, or why there are none."""

    answer: PlanAnswer | None
    why_not: str = ""


def plans_of(study: Study, *, seed: int, looks: str = "obrien-fleming") -> PlansFound:
    """Plan every unresolved claim of a study; a refusal is kept as its sentence.

    `looks` on the way spend false alarms as `obrien-fleming` or `pocock` bounds do.
    """
    try:
        answer = study.plan(seed=seed, looks=spending_named(looks))
    except (Refusal, FaultsError) as refusal:
        return PlansFound(answer=None, why_not=str(refusal))
    return PlansFound(answer=answer, why_not="" if answer.plans else ALL_SETTLED)


def plans_shown(found: PlansFound) -> Iterator[Table | Answer]:
    """Give what would settle each claim in words, and the plans in a table."""
    answer = found.answer
    if answer is None or not answer.plans:
        yield Answer(paragraphs=((NOTHING, found.why_not),))
        return
    yield Answer(
        paragraphs=tuple(
            (plan.claim, f"{plan.statement} {plan_sentence(plan, answer.prices)}")
            for plan in answer.plans
        )
    )
    yield plans_table(answer)


def curves_shown(found: PlansFound, footer: str) -> Iterator[Picture]:
    """Give power and assurance over further blocks, of the claims that can be planned so."""
    if found.answer is None:
        return
    try:
        yield settled_by_blocks(found.answer, footer=footer)
    except Refusal:
        return


def on_the_way_shown(found: PlansFound, footer: str) -> Iterator[Answer | Table | Picture]:
    """Give how narrow the intervals would be, and the looks at which one may stop."""
    answer = found.answer
    if answer is None or not answer.plans:
        return
    said = [(plan.claim, shows_sentence(plan)) for plan in answer.plans]
    yield Answer(paragraphs=tuple((claim, sentence) for claim, sentence in said if sentence))
    if any(plan.looks is not None for plan in answer.plans):
        yield looks_table(answer)
        yield looks_on_the_way(answer, footer=footer)


def looks_table(answer: PlanAnswer) -> Table:
    """Give the looks of each plan, a row a look."""
    return Table(
        caption="When one may stop on the way of the cheapest plan",
        columns=("claim", "after new blocks", "confidence", "beyond the margin", "stopped by then"),
        rows=tuple(
            (
                plan.claim,
                new_blocks_text(look, plan),
                confidence_text(look.p_value),
                size_text(look.beyond, plan.study.unit),
                odds_text(look.settled),
            )
            for plan in answer.plans
            if plan.looks is not None and plan.study is not None
            for look in plan.looks.looks
        ),
        note=(
            "Stop once the interval at the confidence of the look clears the margin: the "
            "difference then lies about so far beyond it. Odds are those if all is as it seems."
        ),
    )


def plans_table(answer: PlanAnswer) -> Table:
    """Give the cheapest plans, a row a claim and target, the claim settled most cheaply first."""
    rows = [
        (plan.claim, odds_text(target), *_plan_cells(plan, priced, answer))
        for plan in answer.plans
        if plan.refusal is None
        for target, priced in zip(TARGETS, plan.plans, strict=True)
    ]
    refused = [plan.claim for plan in answer.plans if plan.refusal is not None]
    return Table(
        caption="The cheapest plan that would settle each claim",
        columns=("claim", "settled with", "plan", "power", "assurance", "cost"),
        rows=tuple(rows),
        note=f"Not planned, for the reason given above: {', '.join(refused)}." if refused else "",
    )


def _plan_cells(plan: ClaimPlan, priced: PricedPlan | None, answer: PlanAnswer) -> tuple[str, ...]:
    if priced is None:
        held = f"none within reach: {plan.held_by}" if plan.held_by else "none within reach"
        return (held, NO_NUMBER, NO_NUMBER, NO_NUMBER)
    return (
        plan_text(priced.plan, plan.candidate, plan.reference),
        odds_text(priced.power),
        odds_text(priced.assurance),
        cost_text(priced, answer.prices),
    )
