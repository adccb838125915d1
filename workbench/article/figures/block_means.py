"""Every block's mean in its own interval, sorted within its family."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from workbench.article import style
from workbench.article.numbers import percent
from workbench.article.picture import Picture, finish
from workbench.article.sample import mean_words
from workbench.article.text import counted, distinct_labels
from workbench.inference.means.intervals import mean_interval
from workbench.inference.means.welch import Summary
from workbench.records.rounding import interval_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from workbench.article.sample import Sample

MOST = 300  # blocks drawn
MOST_NAMED = 80
NAME_SIGNS = 12
GAP = 1.5  # blocks left free between families


def block_means(sample: Sample, *, footer: str = "") -> Picture:
    """Draw the mean of each block with the interval its own bores give it.

    Parameters
    ----------
    sample
        The quantity, from `sample_of`.
    footer
        What a reader needs to make the figure again: version.
    """
    table = placed(sample)
    with style.drawing():
        looks = style.looks(sample.families, sample.labels)
        named = len(table) <= MOST_NAMED
        figure = style.sheet(
            4.6 if named else 4.0, title=f"{sample.label}: mean of each block", footer=footer
        )
        axes = figure.add_subplot()
        for family in sample.families:
            mine = table[table["family"] == family]
            draw_family(axes, sample, family, mine, looks[family])
        explain(axes, sample, looks)
        if named:
            name_blocks(axes, table)
        else:
            axes.set_xlabel("blocks, from the least mean to the greatest")
        axes.set_xticks([])
        axes.set_xlim(-1, float(table["place"].max()) + 1)
        style.value_axis(axes, style.with_unit(sample.label, sample.unit), axis="y")
        return finish(figure, alt=alternative(sample), caption=caption(sample, table), data=table)


def placed(sample: Sample) -> pd.DataFrame:
    """Give the blocks to draw, sorted, with their intervals and their places along the axis.

    Beyond `MOST` blocks, evenly spread ranks of each family are kept, both ends included.
    """
    share = min(1.0, MOST / len(sample.blocks))
    frames, start = [], 0.0
    for family in sample.families:
        mine = sample.blocks[sample.blocks["family"] == family].sort_values(["mean", "block"])
        kept = max(2, math.floor(share * len(mine)))
        if kept < len(mine):
            mine = mine.iloc[np.linspace(0, len(mine) - 1, kept).round().astype(int)]
        frames.append(mine.assign(place=start + np.arange(len(mine))))
        start += len(mine) + GAP
    table = pd.concat(frames, ignore_index=True)
    ends = [
        interval(bores, mean, bore_sd, sample.confidence)
        for bores, mean, bore_sd in table[["bores", "mean", "bore_sd"]].to_numpy().tolist()
    ]
    return table.assign(
        low=[low for low, _ in ends], high=[high for _, high in ends], unit=sample.unit
    )


def interval(bores: float, mean: float, bore_sd: float, confidence: float) -> tuple[float, float]:
    """Give the t interval of a block's mean over its bores; NaN where one bore stands alone."""
    if not math.isfinite(bore_sd):
        return math.nan, math.nan
    found = mean_interval(Summary(n=int(bores), mean=mean, sd=bore_sd), confidence)
    return found.low, found.high


def draw_family(
    axes: Axes, sample: Sample, family: str, mine: pd.DataFrame, look: style.Look
) -> None:
    """Draw the blocks of one family, and its mean across them."""
    axes.vlines(mine["place"], mine["low"], mine["high"], color=look.colour, linewidth=1.1)
    axes.scatter(
        mine["place"],
        mine["mean"],
        s=24 if len(mine) <= MOST_NAMED else 10,
        facecolor="white",
        edgecolor=look.colour,
        marker=look.marker,
        linewidths=1.1,
        zorder=3,
    )
    first, last = float(mine["place"].iloc[0]), float(mine["place"].iloc[-1])
    mean = sample.means[family]
    axes.hlines(mean.mean, first - 0.5, last + 0.5, color=style.INK, linewidth=1.2, zorder=2)


def name_blocks(axes: Axes, table: pd.DataFrame) -> None:
    """Write the name of each block below it; as labels of ticks they would take thrice as long."""
    names = distinct_labels(table["block"], NAME_SIGNS, 1)
    for place, name in zip(table["place"], names, strict=True):
        axes.text(
            place,
            -0.015,
            name,
            transform=axes.get_xaxis_transform(),
            rotation=90,
            ha="center",
            va="top",
            fontsize=7.5 if len(table) <= 60 else 6.5,
        )


def explain(axes: Axes, sample: Sample, looks: dict[str, style.Look]) -> None:
    """Name the families above the axes, in the order in which they stand."""
    from matplotlib.lines import Line2D

    marks = [
        Line2D(
            [],
            [],
            linestyle="none",
            marker=look.marker,
            markerfacecolor="white",
            markeredgecolor=look.colour,
            label=f"{look.label}\n{sample.counts(family)}",
        )
        for family, look in looks.items()
    ]
    style.key(axes, marks)


def alternative(sample: Sample) -> str:
    """Say the figure in words: type, what, each family's mean, counts and range of block means."""
    lines = []
    for family in sample.families:
        means = sample.blocks.loc[sample.blocks["family"] == family, "mean"]
        ends = interval_text(
            float(means.min()), float(means.max()), sample.unit, uncertainty=0, step=sample.step
        )
        lines.append(f"{mean_words(sample, family)}, block means {ends}")
    return (
        f"Interval plot of the block means of {sample.label.lower()}, family means with "
        f"{percent(sample.confidence)} intervals in words: {'; '.join(lines)}."
    )


def caption(sample: Sample, table: pd.DataFrame) -> str:
    """Say how the figure is to be read, and what is not on it."""
    words = (
        f"Marks are block means, bars their {percent(sample.confidence)} intervals from the "
        "block's own bores (Student's t over bore means), the long lines the means of the families."
    )
    single = int(table["low"].isna().sum())
    if single:
        words += f" {counted(single, 'block')} with a single bore mean: no interval."
    if len(table) < len(sample.blocks):
        words += f" {len(table)} of {counted(len(sample.blocks), 'block')} drawn, evenly ranked."
    return words
