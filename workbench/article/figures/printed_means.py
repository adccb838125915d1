"""What is printed of families beside what was read of them: means, deviations, block means."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from workbench.article import style
from workbench.article.numbers import percent, range_words
from workbench.article.picture import Picture, finish
from workbench.article.placing import spread_out
from workbench.article.sample import Remembered
from workbench.article.text import clean, wrapped
from workbench.inference.results import Interval
from workbench.records.rounding import interval_text, quantity_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MeanRow:
    """One source of a family, or its readings (`blocks` holds their block means)."""

    family: str
    label: str
    source: str
    n: int
    mean: float
    sd: float
    interval: Interval | None
    blocks: NDArray[np.float64] | None = None


def printed_means(
    rows: Sequence[MeanRow],
    remembered: Sequence[Remembered],
    quantity: str,
    unit: str,
    *,
    confidence: float,
    finest: float,
    labels: Mapping[str, str] | None = None,
    footer: str = "",
) -> Picture:
    """Draw each source's mean in its interval, with one standard deviation of blocks either way.

    Parameters
    ----------
    rows
        Sources and readings, those of a family beside each other.
    remembered
        Ranges remembered of the families, in `unit`; they decide nothing.
    quantity, unit
        The label of the quantity, the unit.
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
        families = list(dict.fromkeys(row.family for row in rows))
        looks = style.looks(families, labels or {row.family: row.label for row in rows})
        figure = style.sheet(
            1.4 + 0.75 * (len(rows) + len(remembered)),
            title=f"{quantity}: what is printed, beside what was read",
            footer=footer,
        )
        axes = figure.add_subplot()
        for height, row in enumerate(rows):
            draw_row(axes, row, height, looks[row.family])
        for height, said in enumerate(remembered, start=len(rows)):
            axes.barh(
                height,
                said.high - said.low,
                left=said.low,
                height=0.3,
                facecolor="white",
                edgecolor=style.SOFT,
                hatch="////",
            )
        names = [
            f"{looks[row.family].label}, {row.n} blocks\n{wrapped(row.source, 34, 2)}"
            for row in rows
        ]
        names += [
            f"remembered of {looks[s.family].label}\n{wrapped(s.source, 34, 2)}" for s in remembered
        ]
        axes.set_yticks(range(len(names)), names, fontsize=8.5)
        axes.set_ylim(len(names) - 0.4, -0.6)
        axes.tick_params(axis="y", length=0)
        style.value_axis(axes, style.with_unit(f"mean {quantity.lower()} of a block", unit))
        return finish(
            figure,
            alt=alternative(rows, remembered, quantity, unit, finest),
            caption=f"Marks are means with their {percent(confidence)} intervals (thin bars); the "
            "thick bars run one standard deviation of block means either way. Dots are blocks of "
            "the study's own readings; a source printed none. Hatched: a range somebody remembers, "
            "which decides nothing.",
            data=plotted(rows, unit),
        )


def draw_row(axes: Axes, row: MeanRow, height: int, look: style.Look) -> None:
    """Draw one mean: deviation, interval, mark, and the blocks where they are known."""
    axes.plot(
        [row.mean - row.sd, row.mean + row.sd],
        [height, height],
        color=look.colour,
        alpha=0.35,
        linewidth=7,
        solid_capstyle="butt",
    )
    if row.interval is not None:
        ends = [row.interval.low, row.interval.high]
        axes.plot(ends, [height, height], color=look.colour, linewidth=1.6, marker="|")
    axes.plot(
        [row.mean],
        [height],
        marker=look.marker,
        color=look.colour,
        markerfacecolor="white",
        markeredgewidth=1.8,
        markersize=9,
        zorder=4,
    )
    if row.blocks is not None:
        ordered = np.sort(row.blocks)
        axes.plot(
            ordered,
            height - 0.3 + 0.08 * spread_out(ordered),
            linestyle="none",
            marker=".",
            color=look.colour,
            markersize=5,
        )


def alternative(
    rows: Sequence[MeanRow],
    remembered: Sequence[Remembered],
    quantity: str,
    unit: str,
    finest: float,
) -> str:
    """Say the figure in words."""
    lines = []
    for row in rows:
        words = quantity_text(row.mean, row.sd, unit, finest)
        if row.interval is not None:
            ends = row.interval
            words += f" ({interval_text(ends.low, ends.high, unit, step=finest)})"
        lines.append(f"{clean(row.label, 60)}, {clean(row.source, 120)}, {row.n} blocks: {words}")
    lines += [
        f"remembered of {clean(said.family, 60)}: {range_words(said.low, said.high, unit)}"
        for said in remembered
    ]
    return f"Interval plot of means of {quantity.lower()}: {'; '.join(lines)}."


def plotted(rows: Sequence[MeanRow], unit: str) -> pd.DataFrame:
    """Give the numbers drawn, one row a mean."""
    return pd.DataFrame(
        [
            {
                "family": row.family,
                "source": row.source,
                "blocks": row.n,
                "mean": row.mean,
                "standard_deviation": row.sd,
                "low": row.interval.low if row.interval else np.nan,
                "high": row.interval.high if row.interval else np.nan,
                "unit": unit,
            }
            for row in rows
        ]
    )
