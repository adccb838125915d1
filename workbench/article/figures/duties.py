"""The decision by duty: what a usable block of each family costs, and the odds of it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

import pandas as pd

from workbench.article import style
from workbench.article.picture import Picture, finish
from workbench.article.text import clean, distinct_labels, wrapped
from workbench.errors import Refusal
from workbench.worth.wording import money_text, odds_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from workbench.article.style import Look
    from workbench.worth.answer import WorthAnswer

ROW = 0.85
SPREAD = 12.0


def duties(answer: WorthAnswer, *, footer: str = "") -> Picture:
    """Draw cost and odds of every family for every duty, by the first basis there is.

    Raises
    ------
    Refusal
        `nothing_to_draw` where no two families can be held against each other.
    """
    table = _table(answer)
    if table.empty:
        raise Refusal("nothing_to_draw", "No two families can be held against each other.")
    names = list(dict.fromkeys(table["duty"]))
    with style.drawing():
        figure = style.sheet(1.7 + ROW * len(names), title="The decision by duty", footer=footer)
        left, right = figure.subplots(1, 2, sharey=True, width_ratios=[3, 2])
        looks = style.looks(
            list(dict.fromkeys(table["family"])),
            answer.prices.labels,
        )
        _costs(left, table, names, looks)
        _odds(right, table, names, looks)
        labels = distinct_labels((answer.judged.label(name) for name in names), 20, 2)
        left.set_yticks(range(len(names)), labels, fontsize=8.5)
        left.set_ylim(len(names) - 0.5, -0.5)
        if _ratios(table):
            style.ratio_axis(left, marks=(1, 3))
        style.value_axis(left, f"a usable block costs ({wrapped(answer.prices.currency, 20, 1)})")
        style.value_axis(right, "cheaper one, of a hundred cases")
        _explain(figure, looks)
        return finish(
            figure,
            alt=_alternative(table, answer),
            caption=(
                "Left: the cost of one usable block, in the middle of what is possible, with its "
                f"{100 * answer.confidence:g}% interval; right: in how many cases of a hundred the "
                "family is the cheaper one over many purchases, held against the ordinary one. By "
                "the count of blocks. An interval that runs out of the figure has no bound drawn."
            ),
            data=table,
        )


def _table(answer: WorthAnswer) -> pd.DataFrame:
    """Give a row a duty and family: its cost with interval, its odds against the ordinary one."""
    rows: dict[tuple[str, str], tuple[object, ...]] = {}
    for pair in answer.duties:
        found = pair.comparison
        for cost, odds in ((found.ordinary, math.nan), (found.premium, found.cheaper.value)):
            if (pair.duty, cost.family) not in rows:
                interval = cost.interval(answer.confidence)
                row = (pair.duty, cost.family, cost.basis, cost.median, interval.low, interval.high)
                rows[pair.duty, cost.family] = (*row, odds)
    columns = ["duty", "family", "basis", "middle", "low", "high", "cheaper"]
    return pd.DataFrame(list(rows.values()), columns=columns)


def _costs(axes: Axes, table: pd.DataFrame, names: list[str], looks: Mapping[str, Look]) -> None:
    finite = table[["middle", "low", "high"]].to_numpy(float)
    most = max((v for v in finite.ravel() if math.isfinite(v)), default=1.0)
    for duty, family, middle, low, high in table[
        ["duty", "family", "middle", "low", "high"]
    ].itertuples(index=False):
        look, place = looks[family], _place(names, list(looks), duty, family)
        axes.plot([low, min(high, most)], [place] * 2, color=look.colour, linewidth=1.6)
        if math.isfinite(middle):
            axes.plot([middle], [place], look.marker, color=look.colour, markersize=6)


def _odds(axes: Axes, table: pd.DataFrame, names: list[str], looks: Mapping[str, Look]) -> None:
    for duty, family, cheaper in table[["duty", "family", "cheaper"]].itertuples(index=False):
        if math.isnan(cheaper):
            continue
        look, place = looks[family], _place(names, list(looks), duty, family)
        axes.plot([0, 100 * cheaper], [place] * 2, color=look.colour, linewidth=1.2)
        axes.plot([100 * cheaper], [place], look.marker, color=look.colour, markersize=6)
    axes.axvline(50, color=style.SOFT, linewidth=0.9, linestyle=(0, (4, 2)))
    axes.set_xlim(-3, 103)


def _place(names: list[str], families: list[str], duty: str, family: str) -> float:
    step = 0.6 / max(1, len(families))
    return names.index(duty) + step * (families.index(family) - (len(families) - 1) / 2)


def _ratios(table: pd.DataFrame) -> bool:
    values = [float(v) for v in table[["low", "high"]].to_numpy().ravel() if math.isfinite(v)]
    return min(values) > 0 and max(values) / min(values) > SPREAD


def _explain(figure: object, looks: Mapping[str, Look]) -> None:
    from matplotlib.figure import Figure
    from matplotlib.lines import Line2D

    assert isinstance(figure, Figure)
    marks = [
        Line2D([], [], color=look.colour, marker=look.marker, label=look.label, markersize=6)
        for look in looks.values()
    ]
    figure.legend(handles=marks, loc="outside upper right", ncols=len(marks), fontsize=8.5)


def _alternative(table: pd.DataFrame, answer: WorthAnswer) -> str:
    said = []
    for duty, own in table.groupby("duty", sort=False):
        costs = ", ".join(
            f"{clean(answer.prices.families[family].label, 60)} "
            f"{money_text(middle, answer.prices.currency, abs(middle) / 20)}"
            + ("" if math.isnan(cheaper) else f" (cheaper with {odds_text(cheaper)})")
            for family, middle, cheaper in own[["family", "middle", "cheaper"]].itertuples(
                index=False
            )
        )
        said.append(f"{clean(answer.judged.label(str(duty)), 60)}: {costs}")
    return (
        "Costs of a usable block by duty and family, with the odds that a dear family is the "
        f"cheaper one. {'; '.join(said)}."
    )
