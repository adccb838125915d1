"""What an uncertainty is made of: each component's contribution, new in a reading or shared."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import pandas as pd

from workbench.article import style
from workbench.article.picture import Picture, finish
from workbench.article.text import clean, distinct_labels, wrapped
from workbench.records.rounding import quantity_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from workbench.castings.reading_budget import MeanBudget

MOST = 8  # components of a budget drawn; the table holds all
BAR = 0.33  # inches
PANEL = 0.85
REST = "all others"
NEW, SHARED = "falls with more readings or blocks", "shared: does not fall with them"


def budget_shares(budgets: Sequence[MeanBudget], *, footer: str = "") -> Picture:
    """Draw the shares of the variance of one budget or several, largest first.

    Parameters
    ----------
    budgets
        Of one quantity: one reading, a mean; from `mean_budget`.
    footer
        What a reader needs to make the figure again: version.
    """
    table = pd.concat([_shares(of) for of in budgets], ignore_index=True)
    counts = [int((table["of"] == of.label).sum()) for of in budgets]
    with style.drawing():
        figure = style.sheet(
            1.1 + PANEL * len(budgets) + BAR * sum(counts),
            title="What the uncertainty is made of",
            footer=footer,
        )
        panels = figure.subplots(
            len(budgets), 1, sharex=True, squeeze=False, height_ratios=[n + 1 for n in counts]
        )
        for axes, of in zip(panels[:, 0], budgets, strict=True):
            _draw(axes, of, table[table["of"] == of.label])
        style.value_axis(panels[-1, 0], "share of the variance (%)")
        _explain(figure)
        return finish(
            figure, alt=_alternative(budgets, table), caption=_caption(budgets), data=table
        )


def _shares(of: MeanBudget) -> pd.DataFrame:
    """Give the largest components of a budget with their shares, and the rest together."""
    shares = of.budget.shares()
    rows = [
        (of.label, part.name, part.shared is not None, abs(part.contribution), shares[part.name])
        for part in sorted(of.budget.components, key=lambda part: -abs(part.contribution))
    ]
    columns = ["of", "component", "shared", "contribution", "share"]
    table = pd.DataFrame(rows, columns=columns).assign(unit=of.unit)
    if len(table) <= MOST:
        return table
    kept, rest = table.iloc[: MOST - 1], table.iloc[MOST - 1 :]
    last = {
        "of": of.label,
        "component": REST,
        "shared": bool(rest["shared"].all()),
        "contribution": float((rest["contribution"] ** 2).sum() ** 0.5),
        "share": float(rest["share"].sum()),
        "unit": of.unit,
    }
    return pd.concat([kept, pd.DataFrame([last])], ignore_index=True)


def _draw(axes: Axes, of: MeanBudget, table: pd.DataFrame) -> None:
    places = list(range(len(table)))
    for place, (shared, share, contribution) in enumerate(
        table[["shared", "share", "contribution"]].itertuples(index=False)
    ):
        axes.barh(
            place,
            100 * share,
            height=0.62,
            color=style.SHADE if shared else style.BLUE,
            edgecolor=style.INK if shared else style.BLUE,
            hatch="///" if shared else None,
            linewidth=0.9,
        )
        axes.annotate(
            wrapped(
                f"{share_text(share)}, {quantity_text(contribution, contribution, of.unit)}", 24, 1
            ),
            (100 * share, place),
            xytext=(4, 0),
            textcoords="offset points",
            va="center",
            fontsize=8.5,
        )
    axes.set_yticks(places, distinct_labels(table["component"], 38, 2), fontsize=8.5)
    axes.tick_params(axis="y", length=0)
    axes.set_ylim(len(table) - 0.4, -0.6)
    axes.set_xlim(0, 122)
    axes.set_xticks(range(0, 101, 20))
    axes.set_title(f"{wrapped(of.label, 64, 2)}\n{wrapped(_value(of), 64, 1)}", fontsize=9)


def share_text(share: float) -> str:
    """Give a share in whole per cent.

    >>> share_text(0.123), share_text(0.0004)
    ('12%', '<1%')
    """
    return "<1%" if 0 < share < 0.005 else f"{100 * share:.0f}%"


def _value(of: MeanBudget) -> str:
    u = of.budget.combined
    return (
        f"{quantity_text(of.value, u, of.unit, of.finest)}, standard uncertainty "
        f"{quantity_text(u, u, of.unit)}"
    )


def _explain(figure: Figure) -> None:
    from matplotlib.patches import Patch

    marks = [
        Patch(facecolor=style.BLUE, edgecolor=style.BLUE, label=NEW),
        Patch(facecolor=style.SHADE, edgecolor=style.INK, hatch="///", label=SHARED),
    ]
    figure.legend(handles=marks, loc="outside upper right", ncols=2, fontsize=8.5)


def _alternative(budgets: Sequence[MeanBudget], table: pd.DataFrame) -> str:
    """Say the figure in words: each budget with its uncertainty and its components."""
    said = []
    for of in budgets:
        mine = table[table["of"] == of.label]
        parts = ", ".join(
            f"{clean(name, 60)} {share_text(share)}{' (shared)' if shared else ''}"
            for name, share, shared in mine[["component", "share", "shared"]].itertuples(
                index=False
            )
        )
        said.append(f"{clean(of.label, 120)}: {_value(of)}, made of {parts}")
    return f"Bar chart of shares of the variance. {'; '.join(said)}."


def _caption(budgets: Sequence[MeanBudget]) -> str:
    """Say how the figure is to be read."""
    drawn = any(len(of.budget.components) > MOST for of in budgets)
    return (
        "Bars are shares of the variance; beside them stands what each component puts on the "
        "result as a standard uncertainty. More readings, or blocks, shrink the plain bars alone: "
        "what is hatched is common to all readings made with one gauge, calibration or piece."
        + (f" The smallest components are taken together as “{REST}”." if drawn else "")
    )
