"""How alike the blocks of each family are: block means about the mean of their family."""

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

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def block_spread(
    families: Sequence[FamilyValues],
    quantity: str,
    unit: str,
    *,
    confidence: float,
    finest: float,
    labels: Mapping[str, str] | None = None,
    footer: str = "",
) -> Picture:
    """Draw block means less the mean of their family, and one standard deviation either way.

    Parameters
    ----------
    families
        One number a block, its mean; `value` and `interval` are of the standard deviation.
    quantity, unit
        The label of the quantity, the unit of the values.
    confidence
        Of the intervals of the standard deviations.
    finest
        The finest digit to print.
    labels
        What all families of the study are called; those drawn where left out.
    footer
        What a reader needs to make the figure again.
    """
    about = [one.about_mean() for one in families]
    with style.drawing():
        figure = style.sheet(
            1.3 + 1.15 * len(families),
            title=f"{quantity}: block means about the mean of their family",
            footer=footer,
        )
        axes = figure.add_subplot()
        draw_family_rows(axes, about, labels)
        for row, one in enumerate(about):
            draw_deviation(axes, one, row)
        axes.axvline(0, color=style.SOFT, linewidth=0.9, zorder=1)
        style.value_axis(
            axes, style.with_unit(f"mean {quantity.lower()} of a block less its family's", unit)
        )
        words = "; ".join(figure_words(one, unit, finest) for one in families)
        return finish(
            figure,
            alt=f"Dot plot of block means of {quantity.lower()} about their family's mean. "
            f"Standard deviations with {percent(confidence)} intervals: {words}.",
            caption="Each mark is the mean of one block, less the mean of its family. The grey bar "
            "runs one standard deviation either way, the thin lines from end to end of its "
            f"{percent(confidence)} interval (an arrow: it runs on).",
            data=plotted(families, unit),
        )


def draw_deviation(axes: Axes, one: FamilyValues, row: int) -> None:
    """Draw one standard deviation either way below the marks, its interval as whiskers."""
    height = row + 0.3
    axes.plot(
        [-one.value, one.value],
        [height, height],
        color=style.FAINT,
        linewidth=7,
        solid_capstyle="butt",
    )
    if one.interval is not None:
        draw_interval(axes, -one.interval.high, -one.interval.low, height)
        draw_interval(axes, one.interval.low, one.interval.high, height)


def plotted(families: Sequence[FamilyValues], unit: str) -> pd.DataFrame:
    """Give the numbers drawn, one row a block."""
    return pd.concat(
        [
            pd.DataFrame({"block": one.blocks, "mean": one.numbers}).assign(
                family=one.family,
                about_family=one.about_mean().numbers,
                standard_deviation=one.value,
                low=one.interval.low if one.interval else np.nan,
                high=one.interval.high if one.interval else np.nan,
                unit=unit,
            )
            for one in families
        ],
        ignore_index=True,
    )
