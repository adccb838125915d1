"""The thinnest place of every block of two families, on the grid both were read on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from workbench.article import style
from workbench.article.family_values import (
    FamilyValues,
    draw_family_rows,
    draw_interval,
    figure_words,
)
from workbench.article.numbers import percent
from workbench.article.picture import Picture, finish
from workbench.article.text import counted

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def least_places(
    families: Sequence[FamilyValues],
    quantity: str,
    unit: str,
    *,
    grid: str,
    expected: bool,
    confidence: float,
    finest: float,
    labels: Mapping[str, str] | None = None,
    footer: str = "",
) -> Picture:
    """Draw each block's least reading on the shared grid, and the figure of each family.

    Parameters
    ----------
    families
        One number a block, its least reading; `value` and `interval` are of the family's figure.
    quantity, unit, grid
        The label of the quantity, the unit, the grid in words.
    expected
        The family's figure is what the nested model expects of a block; else it is the mean of the
        least readings.
    confidence
        Of the intervals.
    finest
        The finest digit to print.
    labels
        What all families of the study are called; those drawn where left out.
    footer
        What a reader needs to make the figure again.
    """
    with style.drawing():
        figure = style.sheet(
            1.3 + 1.15 * len(families),
            title=f"{quantity}: least place of each block, on the grid of both families",
            footer=footer,
        )
        axes = figure.add_subplot()
        draw_family_rows(axes, families, labels)
        for row, one in enumerate(families):
            draw_figure(axes, one, row)
        style.value_axis(axes, style.with_unit(f"least {quantity.lower()} of a block", unit))
        words = "; ".join(figure_words(one, unit, finest) for one in families)
        of = "expected by the nested model" if expected else "mean of the least readings"
        return finish(
            figure,
            alt=f"Dot plot of each block's least {quantity.lower()}, of {grid}. On average, {of}: "
            f"{words}.",
            caption=caption(families, grid, of, confidence),
            data=plotted(families, unit),
        )


def draw_figure(axes: Axes, one: FamilyValues, row: int) -> None:
    """Draw the figure of a family with its interval below its marks, and what hunting lowered."""
    height = row + 0.32
    if one.interval is not None:
        draw_interval(axes, one.interval.low, one.interval.high, height)
    axes.plot(
        [one.value],
        [height],
        marker="D",
        color=style.INK,
        markerfacecolor="white",
        markeredgewidth=1.6,
        markersize=8,
        zorder=4,
    )
    if one.lowered is not None:
        axes.plot(
            one.lowered,
            np.full(one.lowered.size, row - 0.33),
            linestyle="none",
            marker="x",
            color=style.SOFT,
            markersize=6,
        )


def caption(families: Sequence[FamilyValues], grid: str, of: str, confidence: float) -> str:
    """Say how the figure is to be read."""
    words = (
        f"Marks are the least readings of blocks read nearly all over the grid ({grid}); diamonds "
        f"are the families' averages, {of}"
    )
    if any(one.interval is not None for one in families):
        words += f", bars their {percent(confidence)} intervals"
    lowered = sum(one.lowered.size for one in families if one.lowered is not None)
    if lowered:
        words += (
            f". Crosses: {counted(lowered, 'block')} that readings hunted for lower further; they "
            "enter no average"
        )
    return (
        f"{words}. An arrow: the interval runs on. The error of reading makes a least reading look "
        "thinner than the iron."
    )


def plotted(families: Sequence[FamilyValues], unit: str) -> pd.DataFrame:
    """Give the numbers drawn, one row a mark."""
    rows = []
    for one in families:
        given = {
            "family": one.family,
            "average": one.value,
            "low": one.interval.low if one.interval else np.nan,
            "high": one.interval.high if one.interval else np.nan,
            "unit": unit,
        }
        for block, number in zip(one.blocks, one.numbers, strict=True):
            rows.append({"kind": "least reading", "block": block, "value": number, **given})
        for number in one.lowered if one.lowered is not None else ():
            rows.append({"kind": "hunted for", "block": "", "value": number, **given})
    return pd.DataFrame(rows)
