"""What the terminal shows of plans: what would settle each unresolved claim, and what it costs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.text import Text

from workbench.runs.terminal import console, indented, print_cautions, print_doubts, safe, table
from workbench.worth.outlook_words import asked_sentence, looks_sentence, shows_sentence
from workbench.worth.plan_words import cost_text, plan_sentence

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.table import Table

    from workbench.records.notice import Notice
    from workbench.worth.plan_claims import PlanAnswer


def print_plans(study: str, answer: PlanAnswer, doubts: Sequence[Notice] = ()) -> None:
    """Print what would settle each unresolved claim, the cheapest to settle first."""
    out = console()
    out.print(safe(study))
    print_doubts(out, doubts)
    if not answer.plans:
        out.print("No claim is unresolved; there is nothing to plan.")
        return
    out.print(plan_table(answer))
    for plan in answer.plans:
        out.print(Text(str(safe(plan.claim)), "bold"))
        out.print(indented("claim", plan.statement))
        said = {
            "plan": plan_sentence(plan, answer.prices),
            "asked": asked_sentence(plan, answer.asked, answer.prices),
            "shows": shows_sentence(plan),
            "looks": looks_sentence(plan),
        }
        for label, sentence in said.items():
            if sentence:
                out.print(indented(label, sentence))
        out.print()
    print_cautions(out)


def plan_table(answer: PlanAnswer) -> Table:
    """Give the table of plans, one row a claim."""
    made = table("claim", "settled with 8 in ten", "settled with 9 in ten", title="")
    for plan in answer.plans:
        priced = [
            "no plan reaches it" if found is None else cost_text(found, answer.prices)
            for found in plan.plans
        ]
        if plan.refusal is not None:
            priced = ["not planned"] * len(priced)
        made.add_row(safe(plan.claim), *priced)
    return made
