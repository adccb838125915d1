"""What a usable block of each family costs: how its long-run cost is distributed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from workbench.article import style
from workbench.article.picture import Picture, finish
from workbench.article.text import clean, wrapped
from workbench.errors import Refusal
from workbench.worth.fit_share import COUNTED
from workbench.worth.wording import money_interval_text, money_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from workbench.worth.answer import FamilyAnswer, WorthAnswer
    from workbench.worth.cost import UsableCost

STEPS = 120  # of a distribution drawn
FURTHEST = 0.995  # of the draws shown
HEIGHT = 0.8
PANEL = 0.8
SPREAD = 12.0  # ends further apart than this are drawn on a scale of ratios


def usable_cost(answer: WorthAnswer, *, footer: str = "") -> Picture:
    """Draw the cost of a usable block of each family as a distribution.

    Raises
    ------
    Refusal
        `nothing_to_draw` where no family could be answered.
    """
    families = [family for family in answer.families if family.costs]
    if not families:
        raise Refusal("nothing_to_draw", "No family has a cost that could be drawn.")
    currency = answer.prices.currency
    edges, ratios = _edges(families)
    rows = []
    with style.drawing():
        figure = style.sheet(
            1.5 + PANEL * len(families),
            title=f"What a usable block costs, fit for the duty {answer.judged.label(answer.duty)}",
            footer=footer,
        )
        axes = figure.subplots()
        looks = style.looks([family.family for family in families], answer.prices.labels)
        for place, family in enumerate(families):
            for cost in family.costs:
                shape = _shape(cost, edges)
                _draw(axes, place, cost, edges, shape, looks[family.family].colour)
                rows.append(_rows(family, cost, edges, shape))
            _mark(axes, place, family.costs[0], answer.confidence, float(edges[-1]))
        axes.set_yticks(
            range(len(families)),
            [
                f"{looks[family.family].label}\n{_fit(family)}, by {' and '.join(_bases(family))}"
                for family in families
            ],
            fontsize=8.5,
        )
        axes.set_ylim(len(families) - 0.3, -0.95)
        if ratios:
            style.ratio_axis(axes)
        axes.set_xlim(float(edges[0]), float(edges[-1]))
        style.value_axis(axes, f"long-run cost of one usable block ({wrapped(currency, 20, 1)})")
        return finish(
            figure,
            alt=_alternative(families, answer),
            caption=_caption(ratios, answer.confidence),
            data=pd.concat(rows, ignore_index=True),
        )


def _edges(families: Sequence[FamilyAnswer]) -> tuple[np.ndarray, bool]:
    """Give the steps the distributions are drawn in, and whether they are ratios."""
    costs = [cost for family in families for cost in family.costs]
    ends = [np.quantile(c.long_run, [0.002, FURTHEST], method="inverted_cdf") for c in costs]
    low = min(float(end[0]) for end in ends)
    high = max([float(end[1]) for end in ends if math.isfinite(end[1])], default=2 * low)
    if low <= 0 or high / low < SPREAD:
        room = 0.02 * (high - low) or 1.0
        return np.linspace(low - room, high + room, STEPS + 1), False
    return np.geomspace(low / 1.02, high * 1.02, STEPS + 1), True


def _shape(cost: UsableCost, edges: np.ndarray) -> np.ndarray:
    """Give the share of draws in each step, smoothed over neighbours, the highest made 1."""
    counts = np.histogram(cost.long_run, bins=edges)[0].astype(float)
    smooth = np.convolve(counts, [0.25, 0.5, 0.25], mode="same")
    most = float(smooth.max())
    return smooth / most if most else smooth


def _draw(
    axes: Axes, place: int, cost: UsableCost, edges: np.ndarray, shape: np.ndarray, colour: str
) -> None:
    middle = (edges[:-1] + edges[1:]) / 2
    top = place - HEIGHT * shape
    if cost.basis == COUNTED:
        axes.fill_between(middle, place, top, color=colour, alpha=0.25, linewidth=0)
        axes.plot(middle, top, color=colour, linewidth=1.2)
    else:
        axes.plot(middle, top, color=colour, linewidth=1.2, linestyle=(0, (4, 2)))
    axes.axhline(place, color=style.FAINT, linewidth=0.8, zorder=0)


def _mark(axes: Axes, place: int, cost: UsableCost, confidence: float, most: float) -> None:
    """Mark the interval and the middle of the first basis under its distribution."""
    interval = cost.interval(confidence)
    axes.plot(
        [interval.low, min(interval.high, most)],
        [place + 0.1] * 2,
        color=style.INK,
        linewidth=2.2,
        solid_capstyle="butt",
    )
    axes.plot([cost.median], [place + 0.1], "|", color="white", markersize=6, markeredgewidth=2)


def _rows(
    family: FamilyAnswer, cost: UsableCost, edges: np.ndarray, shape: np.ndarray
) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "family": family.family,
            "basis": cost.basis,
            "from": edges[:-1],
            "to": edges[1:],
            "height": shape,
        }
    )


def _fit(family: FamilyAnswer) -> str:
    return "" if family.share is None else f"{family.share.passed} of {family.share.inspected} fit"


def _bases(family: FamilyAnswer) -> list[str]:
    return ["count" if cost.basis == COUNTED else "model" for cost in family.costs]


def _alternative(families: Sequence[FamilyAnswer], answer: WorthAnswer) -> str:
    currency, said = answer.prices.currency, []
    for family in families:
        cost = family.costs[0]
        interval = cost.interval(answer.confidence)
        middle = money_text(cost.median, currency, (interval.high - interval.low) / 4)
        said.append(
            f"{clean(family.label, 60)} ({_fit(family)}): {middle} in the middle, "
            f"{money_interval_text(interval, currency)} at {100 * answer.confidence:g}%"
        )
    return (
        "Distributions of the long-run cost of one usable block, a family a row, by the count of "
        f"blocks. {'; '.join(said)}."
    )


def _caption(ratios: bool, confidence: float) -> str:
    scale = " The scale is one of ratios: equal steps are equal factors." if ratios else ""
    return (
        "How sure the long-run cost is: shaded by the count of blocks inspected, dashed by the "
        "model of the measurements; each drawn to the same height. The bar below is the "
        f"{100 * confidence:g}% interval by count, its gap the middle. One purchase varies more, "
        f"by the luck of how many blocks it takes.{scale}"
    )
