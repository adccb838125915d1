"""Every reading as a dot, with the block means and the mean of each family in its interval."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from workbench.article import style
from workbench.article.numbers import percent, range_words
from workbench.article.picture import Picture, finish
from workbench.article.placing import dots, spread_out
from workbench.article.sample import left_out_words, mean_words, plotted
from workbench.article.text import wrapped

if TYPE_CHECKING:
    from matplotlib.artist import Artist
    from matplotlib.axes import Axes

    from workbench.article.sample import Remembered, Sample

DOTS_A_FAMILY = 2000
BLOCK_DOTS = 300
# heights within a family's row, in inches from its top
READINGS, BLOCKS, MEAN, RANGES = 0.38, 0.80, 1.04, 1.26
RANGE = 0.42
GAP = 0.12


def readings(sample: Sample, *, footer: str = "") -> Picture:
    """Draw the readings of one quantity, family by family.

    A family takes three lanes: readings, block means, and the mean of the block means with its
    interval. Readings that enter no mean are crosses. Remembered ranges are hatched bars.

    Parameters
    ----------
    sample
        The quantity, from `sample_of`.
    footer
        What a reader needs to make the figure again: seed and version.
    """
    with style.drawing():
        looks = style.looks(sample.families, sample.labels)
        tops = row_tops(sample)
        figure = style.sheet(
            tops[-1] + 1.9, title=f"{sample.label}: every reading, by family", footer=footer
        )
        axes = figure.add_subplot()
        axes.use_sticky_edges = False
        each = 1
        for family, top in zip(sample.families, tops, strict=False):
            look = looks[family]
            each = max(each, draw_readings(axes, sample, family, top + READINGS, look))
            draw_blocks(axes, sample, family, top + BLOCKS, look)
            draw_mean(axes, sample, family, top + MEAN, look)
        for family, top in zip(sample.families, tops, strict=False):  # once the axis has its limits
            for place, remembered in enumerate(ranges_of(sample, family)):
                draw_range(axes, remembered, top + RANGES + RANGE * place, sample.unit)
        axes.set_ylim(tops[-1], 0)
        axes.set_yticks(
            [top + READINGS + 0.2 for top in tops[:-1]], [looks[f].label for f in sample.families]
        )
        axes.tick_params(axis="y", length=0)
        for top in tops[1:-1]:
            axes.axhline(top - GAP / 2, color=style.FAINT, linewidth=0.6)
        style.value_axis(axes, style.with_unit(sample.label, sample.unit))
        explain(axes, sample, each)
        return finish(
            figure, alt=alternative(sample), caption=caption(sample, each), data=plotted(sample)
        )


def row_tops(sample: Sample) -> list[float]:
    """Give where each family's row begins, in inches, and where the last one ends."""
    tops = [GAP]
    for family in sample.families:
        tops.append(tops[-1] + RANGES + RANGE * len(ranges_of(sample, family)) + GAP)
    return tops


def ranges_of(sample: Sample, family: str) -> list[Remembered]:
    """List the remembered ranges of `family`."""
    return [remembered for remembered in sample.remembered if remembered.family == family]


def draw_readings(axes: Axes, sample: Sample, family: str, height: float, look: style.Look) -> int:
    """Draw the readings of one family; give how many of them a dot stands for."""
    mine = sample.distinct[sample.distinct["family"] == family]
    used, unused = mine[mine["counted"]], mine[~mine["counted"]]
    places, each = dots(used["value"].to_numpy(), used["count"].to_numpy(), DOTS_A_FAMILY)
    axes.scatter(
        places,
        height + 0.30 * spread_out(places),
        s=10 if places.size <= 300 else 4,
        color=look.colour,
        alpha=0.7,
        linewidths=0,
        marker=look.marker,
    )
    crosses, _ = dots(unused["value"].to_numpy(), unused["count"].to_numpy(), BLOCK_DOTS)
    axes.scatter(
        crosses,
        height + 0.30 * spread_out(crosses),
        s=18,
        color=style.INK,
        marker="x",
        linewidths=0.9,
    )
    return each


def draw_blocks(axes: Axes, sample: Sample, family: str, height: float, look: style.Look) -> None:
    """Draw the block means of one family as hollow marks."""
    means = np.sort(sample.blocks.loc[sample.blocks["family"] == family, "mean"].to_numpy())
    shown, _ = dots(means, np.ones(means.size, dtype=np.int64), BLOCK_DOTS)
    axes.scatter(
        shown,
        height + 0.08 * spread_out(shown),
        s=32,
        facecolor="white",
        edgecolor=look.colour,
        linewidths=1.2,
        marker=look.marker,
    )


def draw_mean(axes: Axes, sample: Sample, family: str, height: float, look: style.Look) -> None:
    """Draw the family's mean in its interval, and write the numbers at the right edge."""
    mean = sample.means[family]
    if mean.interval is not None:
        low, high = mean.interval.low, mean.interval.high
        axes.plot([low, high], [height, height], color=style.INK, linewidth=2.2)
        axes.plot([low, high], [height, height], "|", color=style.INK, markersize=9)
    axes.plot([mean.mean], [height], marker=look.marker, color=style.INK, markersize=7)
    lines = [*sample.counts(family).split(", "), f"mean {sample.words(family)}"]
    axes.annotate(
        "\n".join(wrapped(line, 38, 2) for line in lines),
        (1.012, height - MEAN + READINGS + 0.2),
        xycoords=("axes fraction", "data"),
        va="center",
        fontsize=8.5,
        annotation_clip=False,
    )


def draw_range(axes: Axes, remembered: Remembered, height: float, unit: str) -> None:
    """Draw a remembered range as a hatched bar, with its label below it, inside the axes."""
    axes.barh(
        height,
        remembered.high - remembered.low,
        left=remembered.low,
        height=0.12,
        facecolor="white",
        edgecolor=style.SOFT,
        hatch="//////",
        linewidth=0.8,
    )
    words = f"remembered: {range_words(remembered.low, remembered.high, unit)}"
    if remembered.source:
        words += f", {remembered.source}"
    left, right = axes.get_xlim()
    in_left_half = remembered.low + remembered.high < left + right
    axes.annotate(
        wrapped(words, 60, 2),
        (remembered.low if in_left_half else remembered.high, height + 0.08),
        ha="left" if in_left_half else "right",
        va="top",
        fontsize=8,
    )


def explain(axes: Axes, sample: Sample, each: int) -> None:
    """Say above the figure what each kind of mark is."""
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    def mark(name: str, marker: str, size: float, **more: Any) -> Line2D:
        ink = {"color": style.SOFT, "linestyle": "none"} | more
        return Line2D([], [], marker=marker, markersize=size, label=name, **ink)

    dot = "one reading" if each == 1 else f"about {each:,} readings"
    mean = f"mean of block means, {percent(sample.confidence)} interval"
    marks: list[Artist] = [
        mark(f"dot: {dot}", "o", 3),
        mark("mean of a block", "o", 6, fillstyle="none"),
        mark(mean, "o", 6, color=style.INK, linestyle="-", linewidth=2.2),
    ]
    if not sample.distinct["counted"].all():
        marks.append(mark("in no mean", "x", 5))
    if sample.remembered:
        marks.append(
            Patch(facecolor="white", edgecolor=style.SOFT, hatch="////", label="remembered range")
        )
    style.key(axes, marks)


def alternative(sample: Sample) -> str:
    """Say the figure in words: type, what, counts, and each mean with its interval."""
    families = "; ".join(mean_words(sample, family) for family in sample.families)
    return (
        f"Dot plot of the readings of {sample.label.lower()} by family, with block means and "
        f"{percent(sample.confidence)} intervals of the family means. {families}."
    )


def caption(sample: Sample, each: int) -> str:
    """Say how the figure is to be read, and what was left out."""
    dot = "is one reading" if each == 1 else f"stands for about {each:,} readings"
    words = (
        f"Each dot {dot}; hollow marks are block means; the bar is the "
        f"{percent(sample.confidence)} interval of the mean of block means (Student's t)."
    )
    words += left_out_words(sample)
    if not sample.distinct["counted"].all():
        words += " They are drawn as crosses."
    if sample.remembered:
        words += " Hatched bars are ranges people remember; they decide nothing."
    return words
