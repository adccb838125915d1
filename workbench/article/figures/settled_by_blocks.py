"""How likely a claim is settled, by how many more blocks are measured: power and assurance."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from workbench.article import style
from workbench.article.picture import Picture, finish
from workbench.article.text import clean, wrapped
from workbench.errors import Refusal
from workbench.worth.cheapest_plan import TARGETS
from workbench.worth.measuring_plan import MeasuringPlan, Plans, assurance, power
from workbench.worth.wording import odds_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from workbench.worth.plan_claims import ClaimPlan, PlanAnswer

NUMBERS = (0, 1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50, 70, 100)
PANEL = 2.6
COLUMNS = 2
MOST = 6


def settled_by_blocks(answer: PlanAnswer, *, footer: str = "") -> Picture:
    """Draw power and assurance of each planned claim over further blocks of each family.

    A family is drawn up to the blocks that exist of it and no further; the other goes on.

    Raises
    ------
    Refusal
        `nothing_to_draw` where no claim on families could be planned.
    """
    plans = [plan for plan in answer.plans if plan.study is not None and _of_families(plan)][:MOST]
    if not plans:
        raise Refusal("nothing_to_draw", "No unresolved claim on families could be planned.")
    tables = [_table(plan) for plan in plans]
    columns = min(COLUMNS, len(plans))
    rows = -(-len(plans) // columns)
    with style.drawing():
        figure = style.sheet(
            1.3 + PANEL * rows, title="What more blocks would settle", footer=footer
        )
        grid = figure.subplots(rows, columns, squeeze=False, sharey=True)
        for axes, plan, table in zip(grid.flat, plans, tables, strict=False):
            _draw(axes, plan, table)
        for axes in grid.flat[len(plans) :]:
            axes.set_visible(False)
        for axes in grid[:, 0]:
            style.value_axis(axes, "settled, in a hundred cases", axis="y")
        _explain(figure)
        return finish(
            figure,
            alt=_alternative(plans, tables),
            caption=(
                "Power: how often a study of that size would settle the claim if all is as it "
                "seems now. Assurance: how likely this one will, from what is known now; what is "
                "measured stays. It may stay low however much is measured, where the truth may lie "
                "near the margin. Grey: more blocks than exist."
            ),
            data=pd.concat(tables, ignore_index=True),
        )


def _of_families(plan: ClaimPlan) -> bool:
    return plan.study is not None and plan.study.scope == "family"


def _table(plan: ClaimPlan) -> pd.DataFrame:
    """Give power and assurance for so many more blocks of each family, read as widely as may be."""
    study, room = plan.study, plan.room
    assert study is not None
    assert room is not None
    laid = Plans.of(
        *(
            MeasuringPlan(
                candidate=number,
                reference=number,
                bores=room.bores,
                places=room.places,
            )
            for number in NUMBERS
        )
    )
    return pd.DataFrame(
        {
            "claim": plan.claim,
            "blocks": NUMBERS,
            "power": power(study, laid),
            "assurance": assurance(study, laid),
        }
    )


def _draw(axes: Axes, plan: ClaimPlan, table: pd.DataFrame) -> None:
    assert plan.room is not None
    left = [most for most in (plan.room.candidate, plan.room.reference) if most is not None]
    if left and min(left) < NUMBERS[-1]:
        axes.axvspan(min(left), NUMBERS[-1], color=style.FAINT, alpha=0.35, linewidth=0)
    axes.plot(table["blocks"], 100 * table["power"], color=style.BLUE, marker="o", markersize=3.5)
    axes.plot(
        table["blocks"],
        100 * table["assurance"],
        color=style.VERMILLION,
        marker="s",
        markersize=3.5,
        linestyle=(0, (4, 2)),
    )
    for target in TARGETS:
        axes.axhline(100 * target, color=style.SOFT, linewidth=0.8, linestyle=(0, (1, 2)))
    axes.set_ylim(0, 103)
    axes.set_xscale("symlog", linthresh=10)
    axes.set_xticks([0, 2, 5, 10, 20, 50, 100], ["0", "2", "5", "10", "20", "50", "100"])
    axes.set_xlim(0, NUMBERS[-1])
    axes.minorticks_off()
    axes.set_title(wrapped(plan.claim, 40, 2), fontsize=9)
    axes.set_xlabel(
        wrapped(f"more blocks of {plan.candidate} and of {plan.reference} each", 46, 2), fontsize=9
    )


def _explain(figure: object) -> None:
    from matplotlib.figure import Figure
    from matplotlib.lines import Line2D

    assert isinstance(figure, Figure)
    marks = [
        Line2D([], [], color=style.BLUE, marker="o", markersize=4, label="power"),
        Line2D(
            [],
            [],
            color=style.VERMILLION,
            marker="s",
            markersize=4,
            linestyle=(0, (4, 2)),
            label="assurance",
        ),
    ]
    figure.legend(handles=marks, loc="outside upper right", ncols=2, fontsize=8.5)


def _alternative(plans: Sequence[ClaimPlan], tables: Sequence[pd.DataFrame]) -> str:
    said = []
    for plan, table in zip(plans, tables, strict=True):
        at = {
            number: float(np.interp(number, table["blocks"], table["power"]))
            for number in (10, NUMBERS[-1])
        }
        sure = float(table["assurance"].iloc[-1])
        said.append(
            f"{clean(plan.claim, 60)}: with 10 more blocks of each family settled with "
            f"{odds_text(at[10])}, with {NUMBERS[-1]} with {odds_text(at[NUMBERS[-1]])} "
            f"(assurance {odds_text(sure)})"
        )
    return (
        "Curves of the chance that a claim is settled over further blocks of each family. "
        f"{'; '.join(said)}."
    )
