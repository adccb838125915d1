"""Fitted distributions over a histogram of the readings, whose bins are whole gauge steps."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from workbench.article import style
from workbench.article.numbers import share_text
from workbench.article.picture import Picture, finish
from workbench.article.text import clean, counted
from workbench.errors import Refusal
from workbench.records.rounding import quantity_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from numpy.typing import NDArray

    from workbench.castings.family_shape import FamilyShape
    from workbench.inference.distributions.fit import Fit

PANEL = 2.5
BINS = 45
POINTS = 300
MOST_CURVES = 3
HEADROOM = 1.45  # over the highest bin, for the key
BEYOND = 0.15  # of the histogram, drawn of where nothing was kept
CURVES = ((style.INK, "-"), (style.VERMILLION, "--"), (style.BLUE, "-."))


def fitted_curves(
    shapes: Mapping[str, FamilyShape],
    labels: Mapping[str, str],
    quantity: str,
    *,
    footer: str = "",
) -> Picture:
    """Draw each family's readings as a histogram with the distributions of greatest weight.

    Parameters
    ----------
    shapes
        The families, from `family_shape`; those without a fit are left out.
    labels
        What each family is called.
    quantity
        The label of the quantity.
    footer
        What a reader needs to make the figure again.

    Raises
    ------
    Refusal
        `nothing_to_draw` where no family has a fit.
    """
    drawn = with_fits(shapes)
    unit = next(iter(drawn.values())).readings.unit
    with style.drawing():
        looks = style.looks(drawn, labels)
        figure = style.sheet(
            1.1 + PANEL * len(drawn), title=f"{quantity}: fitted distributions", footer=footer
        )
        grid = figure.subplots(len(drawn), 1, squeeze=False, sharex=True)
        ends = [end for shape in drawn.values() for end in reach(shape)]
        x = np.linspace(min(ends), max(ends), POINTS)
        for axes, (family, shape) in zip(grid[:, 0], drawn.items(), strict=True):
            draw(axes, shape, x)
            axes.set_title(
                f"{looks[family].label.replace(chr(10), ' ')}: {counts(shape)}", fontsize=8.5
            )
            axes.set_ylabel(f"density (1/{unit or 'unit'})", fontsize=8.5)
            axes.legend(fontsize=8, loc="upper right")
        grid[0, 0].set_xlim(x[0], x[-1])
        style.value_axis(grid[-1, 0], style.with_unit(quantity, unit))
        return finish(
            figure,
            alt=alternative(drawn, labels, quantity, unit),
            caption=caption(drawn),
            data=plotted(drawn, unit),
        )


def with_fits(shapes: Mapping[str, FamilyShape]) -> dict[str, FamilyShape]:
    """Keep the families that have a fit; refused where none has."""
    found = {family: shape for family, shape in shapes.items() if shape.comparison is not None}
    if not found:
        raise Refusal("nothing_to_draw", "No family has a fitted distribution.")
    return found


def drawn_fits(shape: FamilyShape) -> list[Fit]:
    """Give the fits drawn: those of greatest weight, and the normal among them."""
    assert shape.comparison is not None
    compared = shape.comparison
    order = sorted(compared.fits, key=lambda fit: -compared.weights[fit.family])
    sound = [fit for fit in order if fit.converged]
    chosen = sound[:MOST_CURVES]
    normal = [fit for fit in sound if fit.family == "normal"]
    if normal and normal[0] not in chosen:
        chosen = [*chosen[: MOST_CURVES - 1], normal[0]]
    return chosen


def counts(shape: FamilyShape) -> str:
    """Count readings and blocks."""
    return f"{counted(shape.readings.size, 'reading')} of {counted(shape.readings.blocks, 'block')}"


def histogram(shape: FamilyShape) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Give edges of bins, whole steps wide, and the density of the readings in them."""
    table = shape.readings.table[np.isfinite(shape.readings.table["low"])]
    step = shape.readings.step
    low, high = table["value"].min(), table["value"].max()
    wide = step * max(1, int(np.ceil((high - low) / BINS / step)))
    first = (np.floor(low / step) - 0.5) * step
    edges = first + wide * np.arange(int(np.ceil((high - first) / wide)) + 1)
    if edges.size < 2 or edges[-1] < high:
        edges = np.append(edges, edges[-1] + wide)
    heights, _ = np.histogram(table["value"], edges, weights=table["n"])
    return edges, heights / (shape.readings.size * wide)


def draw(axes: Axes, shape: FamilyShape, x: NDArray[np.float64]) -> None:
    """Draw one family: histogram, kernel estimate, curves."""
    edges, heights = histogram(shape)
    axes.stairs(heights, edges, fill=True, color=style.SHADE)
    axes.stairs(heights, edges, color=style.FAINT, linewidth=0.6)
    if shape.kernel is not None:
        axes.plot(
            shape.kernel.x,
            shape.kernel.density,
            ":",
            color=style.SOFT,
            linewidth=1.2,
            label="kernel estimate",
        )
    assert shape.comparison is not None
    for fit, (colour, line) in zip(drawn_fits(shape), CURVES, strict=False):
        weight = share_text(shape.comparison.weights[fit.family])
        axes.plot(
            x,
            fit.density_of_seen(x),
            line,
            color=colour,
            linewidth=1.3,
            label=f"{fit.label}, weight {weight}",
        )
    low, high = shape.readings.window
    inside = (x >= low) & (x <= high)
    curves = [float(fit.density_of_seen(x[inside]).max()) for fit in drawn_fits(shape)]
    highest = max([heights.max(), *curves])
    axes.set_ylim(0, HEADROOM * highest)
    mark_kept(axes, shape, x)
    axes.grid(visible=True, axis="y")


def reach(shape: FamilyShape) -> list[float]:
    """Give the ends of what is drawn: the histogram, and some of what lies where none was kept."""
    first, last = (float(end) for end in histogram(shape)[0][[0, -1]])
    more = BEYOND * (last - first)
    low, high = np.isfinite(shape.readings.window)
    return [first - more * low, last + more * high]


def mark_kept(axes: Axes, shape: FamilyShape, x: NDArray[np.float64]) -> None:
    """Hatch what lies where nothing was kept, up to the edge of the panel."""
    for end, side in zip(shape.readings.window, (0, 1), strict=True):
        if np.isfinite(end):
            edge = axes.get_xlim()[side]
            axes.axvspan(
                min(edge, end),
                max(edge, end),
                facecolor="none",
                edgecolor=style.FAINT,
                hatch="////",
            )
            axes.axvline(end, color=style.SOFT, linewidth=1.0)
            axes.annotate(
                "nothing kept",
                (end, 0.97),
                xycoords=("data", "axes fraction"),
                xytext=(-3 if side == 0 else 3, 0),
                textcoords="offset points",
                rotation=90,
                ha="right" if side == 0 else "left",
                va="top",
                fontsize=7.5,
                bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0},
            )


def kept_alternative(shape: FamilyShape) -> str:
    """Say of a family where nothing was kept; nothing where everything was."""
    unit, step = shape.readings.unit, shape.readings.step
    ends = [
        f"{side} {quantity_text(end, unit=unit, step=step / 10)}"
        for side, end in zip(("below", "above"), shape.readings.window, strict=True)
        if np.isfinite(end)
    ]
    return f", nothing kept {' and '.join(ends)}" if ends else ""


def alternative(
    shapes: Mapping[str, FamilyShape], labels: Mapping[str, str], quantity: str, unit: str
) -> str:
    """Say the figure in words: for each family the distributions and their weights."""
    lines = []
    for family, shape in shapes.items():
        assert shape.comparison is not None
        weights = shape.comparison.weights
        fits = ", ".join(
            f"{fit.label} {share_text(weights[fit.family])}" for fit in drawn_fits(shape)
        )
        what = f"{counts(shape)}{kept_alternative(shape)}"
        lines.append(f"{clean(labels[family], 60)} ({what}): weights {fits}")
    return (
        f"Histograms of {quantity.lower()} in {unit or 'no unit'}, one a family, with the "
        f"distributions fitted to it. {'; '.join(lines)}."
    )


def caption(shapes: Mapping[str, FamilyShape]) -> str:
    """Say how the figure is to be read."""
    kept = ""
    if any(np.isfinite(shape.readings.window).any() for shape in shapes.values()):
        kept = " Where it is hatched nothing was kept; the curves there are told by shape alone."
    if any(
        shape.fitted is not None and shape.fitted.windows is not None for shape in shapes.values()
    ):
        kept += " Where curves jump, a gauge or calibration ends that shows less than the others."
    return (
        "Bins are whole steps of the gauge. Curves are the distributions of greatest weight and "
        "the normal, fitted to the steps and not to points; the dotted line is a kernel estimate, "
        f"to look at.{kept} Readings of one block are alike: clumps may be single blocks."
    )


def plotted(shapes: Mapping[str, FamilyShape], unit: str) -> pd.DataFrame:
    """Give the numbers drawn: bins, and the curves at their middles."""
    frames = []
    for family, shape in shapes.items():
        edges, heights = histogram(shape)
        middle = (edges[1:] + edges[:-1]) / 2
        columns = {"low": edges[:-1], "high": edges[1:], "density": heights}
        frames.append(pd.DataFrame(columns).assign(family=family, kind="readings"))
        for fit in drawn_fits(shape):
            drawn = {"low": middle, "high": middle, "density": fit.density_of_seen(middle)}
            frames.append(pd.DataFrame(drawn).assign(family=family, kind=fit.label))
    order = ["family", "kind", "low", "high", "density"]
    return pd.concat(frames)[order].assign(unit=unit, step=quantity_step(shapes))


def quantity_step(shapes: Mapping[str, FamilyShape]) -> str:
    """Give the widest step of the readings as text."""
    widest = max(shapes.values(), key=lambda shape: shape.readings.step).readings
    return quantity_text(widest.step, widest.step, widest.unit)
