"""One claim at print size: the block means of both families, and the difference to the margin."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from workbench.article import print_style, style
from workbench.article.figures.difference import FIGURES
from workbench.article.names import quantity_label
from workbench.article.numbers import as_shown, known, percent, verdict_words
from workbench.article.picture import Picture, finish
from workbench.article.placing import spread_out
from workbench.article.text import clean, counted, drawable, wrapped
from workbench.article.zones import SUPPORTED, boundaries, zones

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from workbench.article.print_style import Width
    from workbench.article.sample import Sample
    from workbench.claims.verdict import Verdict
    from workbench.records.settings import Settings

DOTS = 30.0  # mm high, the panel of the block means
LINE = 26.0  # mm high, the panel of the difference
ROOM_TO_NAME = 0.2  # of the axis, what the name of a zone takes
MANY = 60  # blocks from which dots are drawn smaller


def printed_claim(
    verdict: Verdict, settings: Settings, sample: Sample | None, width: Width
) -> Picture:
    """Draw one claim that has an estimate at a width of print.

    Parameters
    ----------
    verdict
        A verdict with an estimate.
    settings
        The study's settings: labels of families and quantities.
    sample
        The block means of the claim's two families; None where its figure is not of means.
    width
        One column, the panels above each other; or two, side by side.
    """
    verdict = as_shown(verdict)
    with print_style.drawing():
        beside = width.mm > print_style.ONE_COLUMN.mm
        heights = [DOTS, LINE] if sample is not None else [LINE]
        figure = print_style.sheet(width, (max(heights) if beside else sum(heights)) + 10)
        if beside:
            grid = figure.subplots(1, len(heights), squeeze=False)[0]
        else:
            grid = figure.subplots(len(heights), 1, squeeze=False, height_ratios=heights)[:, 0]
        if sample is not None:
            draw_blocks(grid[0], sample)
        draw_difference(grid[-1], verdict, label_of(verdict, settings))
        return finish(
            figure,
            alt=alternative(verdict, settings, sample),
            caption=caption(verdict, sample),
            data=plotted(verdict, sample),
        )


def label_of(verdict: Verdict, settings: Settings) -> str:
    """Name what is compared, with its unit."""
    words = FIGURES[verdict.figure].format(
        quantity=quantity_label(settings, verdict.quantity),
        candidate=clean(settings.family_label(verdict.candidate), 40),
        reference=clean(settings.family_label(verdict.reference), 40),
    )
    return style.with_unit(words, verdict.unit)


def draw_blocks(axes: Axes, sample: Sample) -> None:
    """Draw every block's mean as a dot, and the mean of its family in its interval."""
    looks = style.looks(sample.families, sample.labels)
    for row, family in enumerate(sample.families):
        look, mean = looks[family], sample.means[family]
        values = np.sort(sample.blocks.loc[sample.blocks["family"] == family, "mean"].to_numpy())
        axes.plot(
            values,
            row - 0.12 + 0.16 * spread_out(values),
            look.marker,
            color=look.colour,
            markersize=2.2 if values.size > MANY else 3.2,
            markerfacecolor="white",
            markeredgewidth=0.7,
            linestyle="none",
        )
        if mean.interval is not None:
            ends = [mean.interval.low, mean.interval.high]
            axes.plot(ends, [row + 0.2] * 2, color=style.INK, linewidth=1.6)
        axes.plot([mean.mean], [row + 0.2], "|", color=style.INK, markersize=7, markeredgewidth=1.2)
    axes.set_yticks(
        range(len(sample.families)),
        [
            f"{wrapped(looks[f].label, 16, 2)}\n{counted(sample.means[f].blocks, 'block')}"
            for f in sample.families
        ],
    )
    axes.set_ylim(len(sample.families) - 0.5, -0.5)
    print_style.value_axis(axes, style.with_unit(sample.label, sample.unit))


def draw_difference(axes: Axes, verdict: Verdict, label: str) -> None:
    """Draw the interval of the difference against the margin, each named beside it."""
    limits(axes, verdict)
    left, right = axes.get_xlim()
    for zone in zones(verdict.direction, verdict.margin):
        if zone.outcome == SUPPORTED:
            axes.axvspan(max(zone.low, left), min(zone.high, right), color=style.SHADE, zorder=0)
            ends = max(zone.low, left), min(zone.high, right)
            if ends[1] - ends[0] > ROOM_TO_NAME * (right - left):
                middle = sum(ends) / 2
                axes.text(middle, -0.4, "supports", ha="center", va="top", size=print_style.SMALL)
    axes.axvline(0, color=style.SOFT, linewidth=0.6, linestyle=(0, (4, 3)))
    for line in boundaries(verdict.direction, verdict.margin):
        axes.axvline(line, color=style.INK, linewidth=0.9)
        side = "right" if line > (left + right) / 2 else "left"
        axes.text(line, 0.44, " margin ", ha=side, va="bottom", size=print_style.SMALL)
    look = style.OUTCOMES[verdict.outcome]
    low, high = verdict.low, verdict.high
    inner = (verdict.inner_low, verdict.inner_high)
    decides = (low, high) if not known(inner[0]) else inner
    axes.plot([max(low, left), min(high, right)], [0, 0], color=look.colour, linewidth=1.0)
    axes.plot([max(decides[0], left), min(decides[1], right)], [0, 0], color=look.colour, lw=2.4)
    for end, drawn, arrow in ((low, max(low, left), "<"), (high, min(high, right), ">")):
        axes.plot([drawn], [0], "|" if known(end) else arrow, color=look.colour, markersize=7)
    axes.plot(
        [verdict.estimate],
        [0],
        look.marker,
        color=look.colour,
        markerfacecolor="white",
        markeredgewidth=1.2,
        markersize=5.5,
    )
    axes.set_title(f"{verdict.outcome}: {drawable(verdict_words(verdict, verdict))}")
    axes.set_ylim(0.5, -0.5)
    axes.set_yticks([])
    axes.spines["left"].set_visible(False)
    print_style.value_axis(axes, label)


def limits(axes: Axes, verdict: Verdict) -> None:
    """Make room for every finite end, margin and zero."""
    ends = [0.0, *boundaries(verdict.direction, verdict.margin)]
    ends += [end for end in (verdict.estimate, verdict.low, verdict.high) if known(end)]
    room = 0.1 * (max(ends) - min(ends)) or 1.0
    axes.set_xlim(min(ends) - room, max(ends) + room)


def alternative(verdict: Verdict, settings: Settings, sample: Sample | None) -> str:
    """Say the figure in words: the finding with its interval, then what is drawn."""
    drawn = ""
    if sample is not None:
        means = "; ".join(
            f"{clean(sample.labels.get(f, f), 60)} mean {sample.words(f)}, {sample.counts(f)}"
            for f in sample.families
        )
        drawn = f" Above or beside it every block's mean as a dot: {means}."
    return (
        f"{clean(label_of(verdict, settings), 200)}: {verdict_words(verdict, verdict)} at "
        f"{percent(verdict.confidence)}, {margin_words(verdict)}; the claim is "
        f"{verdict.outcome}. A line with its interval against the margin.{drawn}"
    )


def margin_words(verdict: Verdict) -> str:
    """Say where the margin lies."""
    lines = boundaries(verdict.direction, verdict.margin)
    if not lines:
        return "without a margin"
    where = " and ".join(f"{line:.6g} {verdict.unit}".strip() for line in lines)
    return f"the margin at {where}"


def caption(verdict: Verdict, sample: Sample | None) -> str:
    """Say how the figure is to be read."""
    dots = (
        "Dots are block means, the upright strokes the means of the families in their "
        f"{percent(verdict.confidence)} intervals. "
        if sample is not None
        else ""
    )
    sameness = (
        f" The thick part is the {percent(2 * verdict.confidence - 1)} interval, which decides a "
        "claim of sameness."
        if known(verdict.inner_low)
        else ""
    )
    return (
        f"{dots}The line is the {percent(verdict.confidence)} interval of the candidate "
        "against the reference, the upright line the margin of the claim, the broken line no "
        f"difference. The interval wholly in the shaded part supports the claim.{sameness}"
    )


def plotted(verdict: Verdict, sample: Sample | None) -> pd.DataFrame:
    """Give the numbers drawn: the difference, then the block means."""
    rows: list[tuple[object, ...]] = [
        ("difference", "", "", verdict.estimate, verdict.low, verdict.high, verdict.unit)
    ]
    if sample is not None:
        for row in sample.blocks.itertuples(index=False):
            rows.append(("block mean", row.family, row.block, row.mean, None, None, sample.unit))
    return pd.DataFrame(rows, columns=["kind", "family", "block", "value", "low", "high", "unit"])
