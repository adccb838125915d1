"""Effects of blocks, bores and places against normal quantiles, each with a band for the whole."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import pandas as pd

from workbench.article import style
from workbench.article.numbers import percent
from workbench.article.picture import Picture, finish
from workbench.article.text import clean, counted
from workbench.errors import Refusal

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from workbench.castings.family_shape import FamilyShape
    from workbench.inference.normal_plot import NormalPlot

PANEL = 2.5
LEVELS = {"block": "blocks", "bore": "bores in blocks", "place": "places in bores"}


def effects_plot(
    shapes: Mapping[str, FamilyShape],
    labels: Mapping[str, str],
    quantity: str,
    *,
    footer: str = "",
) -> Picture:
    """Draw the effects of each level of each family against normal quantiles.

    Parameters
    ----------
    shapes, labels, quantity, footer
        As in `fitted_curves`.

    Raises
    ------
    Refusal
        `nothing_to_draw` where no level of any family has enough values.
    """
    drawn = {family: shape for family, shape in shapes.items() if shape.normality}
    levels = [level for level in LEVELS if any(level in of.normality for of in drawn.values())]
    if not levels:
        raise Refusal("nothing_to_draw", "No level has enough values for a band.")
    with style.drawing():
        looks = style.looks(drawn, labels)
        figure = style.sheet(
            1.1 + PANEL * len(drawn),
            title=f"{quantity}: effects against normal quantiles",
            footer=footer,
        )
        grid = figure.subplots(len(drawn), len(levels), squeeze=False, sharex="col")
        for row, (family, shape) in enumerate(drawn.items()):
            for column, level in enumerate(levels):
                axes, found = grid[row, column], shape.normality.get(level)
                if found is None:
                    axes.set_axis_off()
                    continue
                draw(axes, found.plot, looks[family])
                axes.set_title(
                    f"{looks[family].label}\n{LEVELS[level]}\n{outside_words(found.plot)}",
                    fontsize=8.5,
                )
                axes.tick_params(labelbottom=True)
                if column == 0 or shape.normality.get(levels[column - 1]) is None:
                    axes.set_ylabel("effect (its deviations)", fontsize=8.5)
        for axes in grid[-1]:
            axes.set_xlabel("standard normal quantile (no unit)", fontsize=8.5)
        return finish(
            figure,
            alt=alternative(drawn, labels, quantity),
            caption=caption(drawn),
            data=plotted(drawn),
        )


def draw(axes: Axes, plot: NormalPlot, look: style.Look) -> None:
    """Draw one level: band, line, effects, those outside ringed."""
    axes.fill_between(plot.theoretical, plot.low, plot.high, color=style.SHADE)
    ends = plot.theoretical[[0, -1]]
    axes.plot(ends, ends, color=style.SOFT, linewidth=1)
    outside = (plot.ordered < plot.low) | (plot.ordered > plot.high)
    axes.scatter(
        plot.theoretical[outside],
        plot.ordered[outside],
        s=55,
        facecolor="none",
        edgecolor=style.INK,
        linewidths=0.6,
        zorder=4,
    )
    axes.scatter(
        plot.theoretical,
        plot.ordered,
        s=14,
        facecolor="white",
        edgecolor=look.colour,
        marker=look.marker,
        linewidths=0.9,
        zorder=3,
    )
    axes.grid(visible=True, axis="y")


def outside_words(plot: NormalPlot) -> str:
    """Say how many effects there are, and how many of those drawn leave the band."""
    drawn = "" if plot.ordered.size == plot.n else f" of {plot.ordered.size} drawn"
    return f"{plot.n:,}, {plot.outside}{drawn} outside"


def alternative(shapes: Mapping[str, FamilyShape], labels: Mapping[str, str], quantity: str) -> str:
    """Say the figure in words: how many effects of each level leave the band."""
    lines = []
    for family, shape in shapes.items():
        said = ", ".join(
            f"{LEVELS[level]} {outside_words(of.plot)}" for level, of in shape.normality.items()
        )
        blocks = counted(shape.readings.blocks, "block")
        lines.append(f"{clean(labels[family], 60)} ({blocks}): {said}")
    return (
        f"Normal quantile plots of the effects of blocks, bores and places on {quantity.lower()}, "
        f"in standard deviations, one row a family. {'; '.join(lines)}."
    )


def caption(shapes: Mapping[str, FamilyShape]) -> str:
    """Say how the figure is to be read."""
    levels = next(iter(shapes.values())).normality
    confidence = next(iter(levels.values())).plot.confidence
    return (
        "Each effect is divided by the spread the nested model expects of it. Normal effects so "
        "grouped and rounded follow the line and stay inside the shaded band, all at once, with "
        f"{percent(confidence)} confidence. Ringed points are outside. Of many, some are drawn."
    )


def plotted(shapes: Mapping[str, FamilyShape]) -> pd.DataFrame:
    """Give the numbers drawn, one row a point."""
    frames = [
        pd.DataFrame(
            {
                "normal_quantile": of.plot.theoretical,
                "effect": of.plot.ordered,
                "low": of.plot.low,
                "high": of.plot.high,
            }
        ).assign(family=family, level=level)
        for family, shape in shapes.items()
        for level, of in shape.normality.items()
    ]
    return pd.concat(frames)[["family", "level", "normal_quantile", "effect", "low", "high"]]
