"""When one may stop on the way of a plan: how far beyond its margin a difference must then lie."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import pandas as pd

from workbench.article import style
from workbench.article.picture import Picture, finish
from workbench.article.text import clean, wrapped
from workbench.errors import Refusal
from workbench.records.rounding import shown_unit
from workbench.worth.outlook_words import confidence_text
from workbench.worth.plan_outlook import distance_from_margin
from workbench.worth.wording import odds_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from workbench.worth.plan_claims import ClaimPlan, PlanAnswer

PANEL = 2.9
COLUMNS = 2
MOST = 6


def looks_on_the_way(answer: PlanAnswer, *, footer: str = "") -> Picture:
    """Draw the bound of each look over the new blocks measured, a panel a claim.

    Raises
    ------
    Refusal
        `nothing_to_draw` where no plan may be looked at on its way.
    """
    plans = [plan for plan in answer.plans if plan.looks is not None][:MOST]
    if not plans:
        raise Refusal("nothing_to_draw", "No plan may be looked at on its way.")
    tables = [_table(plan) for plan in plans]
    columns = min(COLUMNS, len(plans))
    rows = -(-len(plans) // columns)
    with style.drawing():
        figure = style.sheet(1.2 + PANEL * rows, title="When one may stop", footer=footer)
        grid = figure.subplots(rows, columns, squeeze=False)
        for axes, plan, table in zip(grid.flat, plans, tables, strict=False):
            _draw(axes, plan, table)
        for axes in grid.flat[len(plans) :]:
            axes.set_visible(False)
        return finish(
            figure,
            alt=_alternative(plans, tables),
            caption=(
                "Points: how far beyond its margin the difference must lie at a look for one to "
                "stop, with the confidence of its interval. Line across: where the difference lies "
                "now; once the points fall below it one may expect to stop. The bounds spend the "
                "permitted false alarms so that all looks together raise no more than one."
            ),
            data=pd.concat(tables, ignore_index=True),
        )


def _table(plan: ClaimPlan) -> pd.DataFrame:
    assert plan.looks is not None
    assert plan.study is not None
    times, unit = shown_unit(plan.study.unit)
    return pd.DataFrame(
        [
            {
                "claim": plan.claim,
                "blocks": look.candidate + look.reference,
                "beyond": times * look.beyond,
                "now": times * distance_from_margin(plan.study),
                "unit": unit,
                "confidence": confidence_text(look.p_value),
                "settled": look.settled,
            }
            for look in plan.looks.looks
        ]
    )


def _draw(axes: Axes, plan: ClaimPlan, table: pd.DataFrame) -> None:
    axes.plot(table["blocks"], table["beyond"], color=style.BLUE, marker="o", markersize=4.5)
    now = float(table["now"].iloc[0])
    axes.axhline(now, color=style.VERMILLION, linewidth=1.2, linestyle=(0, (4, 2)))
    top = 1.3 * max(float(table["beyond"].max()), now)
    last = int(table["blocks"].iloc[-1])
    axes.set_xlim(0, 1.12 * last)
    axes.set_ylim(0, top)
    axes.annotate(
        "the difference now", (0, now), xytext=(3, 3), textcoords="offset points",
        fontsize=8, color=style.VERMILLION,
    )  # fmt: skip
    for blocks, beyond, confidence in zip(
        table["blocks"], table["beyond"], table["confidence"], strict=True
    ):
        axes.annotate(
            confidence, (blocks, beyond), xytext=(0, 6), textcoords="offset points",
            fontsize=8, ha="center",
        )  # fmt: skip
    axes.set_title(wrapped(plan.claim, 40, 2), fontsize=9)
    axes.set_xlabel(
        wrapped(f"new blocks of {plan.candidate} and {plan.reference} measured", 46, 2), fontsize=9
    )
    style.value_axis(axes, f"beyond the margin, {table['unit'].iloc[0]}", axis="y")


def _alternative(plans: Sequence[ClaimPlan], tables: Sequence[pd.DataFrame]) -> str:
    said = []
    for plan, table in zip(plans, tables, strict=True):
        first, last = table.iloc[0], table.iloc[-1]
        said.append(
            f"{clean(plan.claim, 60)}: at the first look, after {first['blocks']} new blocks, "
            f"{first['beyond']:.2g} {first['unit']} at {first['confidence']}, after all "
            f"{last['blocks']} {last['beyond']:.2g} {last['unit']} at {last['confidence']}; the "
            f"difference now lies {last['now']:.2g} {last['unit']} beyond; stopped by the last "
            f"look with {odds_text(float(last['settled']))}"
        )
    return (
        "Bounds for stopping early over new blocks measured, falling from look to look. "
        f"{'; '.join(said)}."
    )
