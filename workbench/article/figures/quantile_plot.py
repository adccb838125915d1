"""Block means against normal quantiles, family by family, with a band for the whole plot."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from workbench.article import style
from workbench.article.numbers import percent
from workbench.article.picture import Picture, finish
from workbench.article.text import clean, counted, distinct_labels
from workbench.errors import Refusal
from workbench.inference.normal_plot import NormalPlot, normal_plot

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from workbench.article.sample import Sample

COLUMNS = 3
PANEL = 2.6  # inches high
HEAD_SIGNS = 30
NO_BAND = {"too_few": "no band: too few blocks", "zero_spread": "no band: all are equal"}


def quantile_plot(sample: Sample, *, seed: int, footer: str = "") -> Picture:
    """Draw the block means of each family against normal quantiles.

    A family that is normal stays inside its band as a whole at the study's confidence. Families
    with too few different block means for a band are drawn without one, and the panel says so.

    Parameters
    ----------
    sample
        The quantity, from `sample_of`.
    seed
        Of the simulated bands.
    footer
        What a reader needs to make the figure again: seed and version.
    """
    plots = {family: plot_of(sample, family, seed) for family in sample.families}
    with style.drawing():
        looks = style.looks(sample.families, sample.labels)
        columns = min(COLUMNS, len(plots))
        rows = -(-len(plots) // columns)
        figure = style.sheet(
            1.1 + PANEL * rows,
            title=f"{sample.label}: block means against normal quantiles",
            footer=footer,
        )
        grid = figure.subplots(rows, columns, squeeze=False, sharex=True, sharey=True)
        heads = distinct_labels((sample.labels.get(f, f) for f in plots), HEAD_SIGNS)
        for place, (family, plot) in enumerate(plots.items()):
            axes = grid.flat[place]
            draw_panel(axes, sample, family, plot, looks[family])
            axes.set_title(f"{heads[place]}\n{note(sample, family, plot)}", fontsize=8.5)
            if place + columns >= len(plots):  # the lowest panel of its column
                axes.set_xlabel("standard normal quantile (no unit)", fontsize=8.5)
                axes.tick_params(labelbottom=True)
        for axes in grid.flat[len(plots) :]:
            axes.set_visible(False)
        grid[0, 0].set_xlim(*widest(plots))
        for axes in grid[:, 0]:
            style.value_axis(axes, style.with_unit("block mean", sample.unit), axis="y")
        return finish(
            figure,
            alt=alternative(sample, plots),
            caption=caption(sample),
            data=plotted(sample, plots),
        )


def plot_of(sample: Sample, family: str, seed: int) -> NormalPlot | str:
    """Give the plot of one family, or in words why it has no band."""
    try:
        return normal_plot(block_means(sample, family), sample.confidence, seed=seed)
    except Refusal as refusal:
        return NO_BAND.get(refusal.code, "no band")


def widest(plots: dict[str, NormalPlot | str]) -> tuple[float, float]:
    """Give the limits of the axis of normal quantiles, at least two each way."""
    ends = [plot.theoretical[-1] for plot in plots.values() if isinstance(plot, NormalPlot)]
    end = max([2.0, *ends]) + 0.2
    return -end, end


def note(sample: Sample, family: str, plot: NormalPlot | str) -> str:
    """Say how many blocks a panel shows and how many leave the band."""
    said = plot if isinstance(plot, str) else f"{counted(plot.outside, 'point')} outside the band"
    return f"{counted(sample.means[family].blocks, 'block')}, {said}"


def block_means(sample: Sample, family: str) -> np.ndarray:
    """Give the block means of one family, from the least to the greatest."""
    return np.sort(sample.blocks.loc[sample.blocks["family"] == family, "mean"].to_numpy())


def draw_panel(
    axes: Axes, sample: Sample, family: str, plot: NormalPlot | str, look: style.Look
) -> None:
    """Draw one family: band, line of the fitted normal, block means."""
    means = block_means(sample, family)
    if isinstance(plot, NormalPlot):
        axes.fill_between(plot.theoretical, plot.low, plot.high, color=style.SHADE)
        ends = plot.theoretical[[0, -1]]
        axes.plot(ends, plot.mean + plot.sd * ends, color=style.SOFT, linewidth=1)
        scores, means = plot.theoretical, plot.ordered
        outside = (means < plot.low) | (means > plot.high)
        axes.scatter(
            scores[outside], means[outside], s=110, facecolor="none", edgecolor=style.INK, zorder=4
        )
    else:
        scores = normal_scores(means.size)
    axes.scatter(
        scores,
        means,
        s=28,
        facecolor="white",
        edgecolor=look.colour,
        marker=look.marker,
        linewidths=1.3,
        zorder=3,
    )
    axes.grid(visible=True, axis="y")


def normal_scores(count: int) -> np.ndarray:
    """Give Blom's plotting positions as normal quantiles."""
    from scipy.special import ndtri

    return np.asarray(ndtri((np.arange(1, count + 1) - 0.375) / (count + 0.25)))


def alternative(sample: Sample, plots: dict[str, NormalPlot | str]) -> str:
    """Say the figure in words: type, what, and for each family the points outside the band."""
    lines = []
    for family, plot in plots.items():
        name = clean(sample.labels.get(family, family), 60)
        if isinstance(plot, NormalPlot):
            said = f"{counted(plot.outside, 'point')} outside the {percent(plot.confidence)} band"
        else:
            said = plot
        lines.append(f"{name}: {counted(sample.means[family].blocks, 'block')}, {said}")
    return (
        f"Normal quantile plot of block means of {sample.label.lower()} in {sample.unit}, one "
        f"panel a family. {'; '.join(lines)}."
    )


def caption(sample: Sample) -> str:
    """Say how the figure is to be read."""
    return (
        f"Block means of a normal family follow the line and stay inside the shaded band, all at "
        f"once, with {percent(sample.confidence)} confidence (simulated, mean and standard "
        "deviation estimated). Ringed points are outside. Few blocks can hide any shape."
    )


def plotted(sample: Sample, plots: dict[str, NormalPlot | str]) -> pd.DataFrame:
    """Give the numbers drawn, one row a point."""
    frames = []
    for family, plot in plots.items():
        if isinstance(plot, NormalPlot):
            columns = {
                "normal_quantile": plot.theoretical,
                "block_mean": plot.ordered,
                "low": plot.low,
                "high": plot.high,
            }
        else:
            means = block_means(sample, family)
            columns = {"normal_quantile": normal_scores(means.size), "block_mean": means}
        frames.append(pd.DataFrame(columns).assign(family=family))
    order = ["family", "normal_quantile", "block_mean", "low", "high"]
    return pd.concat(frames).reindex(columns=order).assign(unit=sample.unit)
