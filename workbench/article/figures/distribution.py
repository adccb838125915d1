"""How the readings of each family are spread: a histogram whose bins are whole gauge steps."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from workbench.article import style
from workbench.article.picture import Picture, finish
from workbench.article.placing import dots
from workbench.article.sample import left_out_words
from workbench.article.text import clean
from workbench.records.rounding import interval_text, quantity_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from numpy.typing import NDArray

    from workbench.article.sample import Sample

PANEL = 1.25  # inches a family
MOST_BINS = 90
UNNAMED = " "  # an axis with a name is not looked through for whether it should have one
QUANTILES = 1001  # dots that stand for the readings where a width is chosen


def distribution(sample: Sample, *, footer: str = "") -> Picture:
    """Draw the share of each family's readings in bins of whole gauge steps, on one axis.

    Short lines below a histogram are the block means. Readings that enter no mean are left out.

    Parameters
    ----------
    sample
        The quantity, from `sample_of`.
    footer
        What a reader needs to make the figure again: version.
    """
    import seaborn

    edges = bin_edges(sample)
    with style.drawing():
        looks = style.looks(sample.families, sample.labels)
        figure = style.sheet(
            1.3 + PANEL * len(sample.families),
            title=f"{sample.label}: distribution of the readings, by family",
            footer=footer,
        )
        grid = figure.subplots(len(looks), 1, squeeze=False, sharex=True, sharey=True)
        for axes, (family, look) in zip(grid[:, 0], looks.items(), strict=True):
            values, counts = counted_values(sample, family)
            axes.set(xlabel=UNNAMED, ylabel=UNNAMED)
            seaborn.histplot(
                pd.DataFrame({"value": values, "share": 100 * counts / counts.sum()}),
                x="value",
                weights="share",
                bins=edges.tolist(),
                color=look.colour,
                element="step",
                linewidth=0.8,
                ax=axes,
            )
            finish_panel(axes, sample, family, look)
        axes.set_xlim(edges[0], edges[-1])
        style.value_axis(axes, style.with_unit(sample.label, sample.unit))
        figure.supylabel("share of readings (%)", fontsize=9)
        return finish(
            figure,
            alt=alternative(sample),
            caption=caption(sample, edges),
            data=plotted(sample, edges),
        )


def counted_values(sample: Sample, family: str) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Give the distinct values of a family that enter its mean, and how often each was read."""
    mine = sample.distinct[(sample.distinct["family"] == family) & sample.distinct["counted"]]
    return mine["value"].to_numpy(dtype=float), mine["count"].to_numpy(dtype=np.int64)


def values_range(sample: Sample) -> tuple[float, float]:
    """Give the least and the greatest value drawn."""
    values = sample.distinct.loc[sample.distinct["counted"], "value"]
    return float(values.min()), float(values.max())


def bin_edges(sample: Sample) -> NDArray[np.float64]:
    """Give common bin edges: whole gauge steps wide, half a step off the values.

    The width follows Freedman and Diaconis (1981) for the family read most, and is never so small
    that more than `MOST_BINS` are needed.
    """
    counts = {f: counted_values(sample, f) for f in sample.families}
    most = max(counts.values(), key=lambda pair: pair[1].sum())
    low, high = values_range(sample)
    quartiles = np.quantile(dots(*most, QUANTILES)[0], [0.25, 0.75])
    width = max(
        2 * (quartiles[1] - quartiles[0]) / most[1].sum() ** (1 / 3), (high - low) / MOST_BINS
    )
    steps = max(1, round(width / sample.step))
    first = round(low / sample.step) - 0.5
    bins = int((high / sample.step - first) // steps) + 1
    return np.asarray((first + steps * np.arange(bins + 1)) * sample.step, dtype=np.float64)


def finish_panel(axes: Axes, sample: Sample, family: str, look: style.Look) -> None:
    """Add the block means, the name and the counts of one family."""
    means = sample.blocks.loc[sample.blocks["family"] == family, "mean"].to_numpy()
    axes.plot(
        means,
        np.full(means.size, -0.06),
        "|",
        color=style.INK,
        markersize=9,
        markeredgewidth=0.9,
        transform=axes.get_xaxis_transform(),
        clip_on=False,
    )
    axes.tick_params(axis="x", length=0, pad=13)
    axes.spines["bottom"].set_visible(False)
    axes.set(xlabel="", ylabel="")
    axes.grid(visible=True, axis="y")
    axes.annotate(
        look.label + "\n" + sample.counts(family).replace(", ", "\n"),
        (1.012, 0.5),
        xycoords="axes fraction",
        va="center",
        fontsize=8.5,
        annotation_clip=False,
    )


def alternative(sample: Sample) -> str:
    """Say the figure in words: type, what, counts, range and middle half of each family."""
    lines, step = [], sample.step
    for family in sample.families:
        values, counts = counted_values(sample, family)
        places, _ = dots(values, counts, QUANTILES)
        low, middle, high = np.quantile(places, [0.25, 0.5, 0.75], method="inverted_cdf")
        ends = interval_text(values.min(), values.max(), sample.unit, uncertainty=0, step=step)
        lines.append(
            f"{clean(sample.labels.get(family, family), 60)}: {sample.counts(family)}, from "
            f"{ends}, median "
            f"{quantity_text(float(middle), None, sample.unit, sample.step)}, middle half "
            f"{interval_text(low, high, sample.unit, uncertainty=0, step=step)}"
        )
    return (
        f"Histograms of {sample.label.lower()} in {sample.unit}, one a family on a common axis. "
        f"{'; '.join(lines)}."
    )


def caption(sample: Sample, edges: NDArray[np.float64]) -> str:
    """Say how the figure is to be read, and what was left out."""
    width = quantity_text(float(edges[1] - edges[0]), None, sample.unit)
    step = quantity_text(sample.step, None, sample.unit)
    words = (
        f"Bins are {width} wide, whole gauge steps of {step}. Short lines are block means. "
        "Readings of one block are alike: the blocks, not the readings, are the sample."
    )
    return words + left_out_words(sample)


def plotted(sample: Sample, edges: NDArray[np.float64]) -> pd.DataFrame:
    """Give the numbers drawn, one row a family and bin."""
    frames = []
    for family in sample.families:
        values, counts = counted_values(sample, family)
        heights, _ = np.histogram(values, edges, weights=counts)
        frames.append(
            pd.DataFrame(
                {
                    "family": family,
                    "from": edges[:-1],
                    "to": edges[1:],
                    "readings": heights.astype(np.int64),
                }
            )
        )
    return pd.concat(frames).assign(unit=sample.unit)
