"""The thin tail on a log scale: the share of readings at or below a value, seen and fitted."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from workbench.article import style
from workbench.article.figures.fitted_curves import CURVES, counts, drawn_fits, with_fits
from workbench.article.numbers import share_text
from workbench.article.picture import Picture, finish
from workbench.article.text import clean, wrapped
from workbench.records.rounding import quantity_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from numpy.typing import NDArray

    from workbench.castings.family_shape import FamilyShape

COLUMNS = 3
PANEL = 3.0
MOST_SHARE = 0.5  # the tail is drawn from its thinnest reading up to the middle
MOST_POINTS = 150
POINTS = 200
HEAD = 18  # signs of a line of the key


def tail_plot(
    shapes: Mapping[str, FamilyShape],
    labels: Mapping[str, str],
    quantity: str,
    *,
    footer: str = "",
) -> Picture:
    """Draw the lower tail of each family's readings with the fitted distributions.

    Parameters and refusals are those of `fitted_curves`.
    """
    drawn = with_fits(shapes)
    unit = next(iter(drawn.values())).readings.unit
    with style.drawing():
        looks = style.looks(drawn, labels)
        columns = min(COLUMNS, len(drawn))
        rows = -(-len(drawn) // columns)
        figure = style.sheet(
            1.2 + PANEL * rows, title=f"{quantity}: the thin tail, on a log scale", footer=footer
        )
        grid = figure.subplots(rows, columns, squeeze=False, sharey=True)
        for place, (family, shape) in enumerate(drawn.items()):
            axes = grid.flat[place]
            draw(axes, shape, looks[family])
            axes.set_title(f"{looks[family].label}\n{counts(shape)}", fontsize=8.5)
            style.ratio_axis(axes, axis="y")
            axes.yaxis.set_major_formatter(lambda at, _: share_text(at) if at <= 1 else "")
            style.value_axis(axes, style.with_unit(quantity, unit))
            axes.xaxis.label.set_fontsize(8.5)
            axes.grid(visible=True, axis="y")
            axes.legend(fontsize=7.5, loc="upper left")
        for axes in grid.flat[len(drawn) :]:
            axes.set_visible(False)
        for axes in grid[:, 0]:
            axes.set_ylabel("share of readings at or below", fontsize=8.5)
        return finish(
            figure,
            alt=alternative(drawn, labels, quantity, unit),
            caption=caption(drawn),
            data=plotted(drawn, unit),
        )


def seen(shape: FamilyShape) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Give the values of the tail and the share of readings at or below each, censored included."""
    table = shape.readings.table.sort_values("high")
    share = (table["n"].cumsum() - table["n"] / 2) / table["n"].sum()
    inside = (share <= MOST_SHARE).to_numpy() & np.isfinite(table["low"].to_numpy())
    values, shares = table["value"].to_numpy(float)[inside], share.to_numpy(float)[inside]
    if values.size > MOST_POINTS:  # all of the thinnest, and some of the many
        kept = np.unique(np.geomspace(1, values.size, MOST_POINTS).round().astype(int)) - 1
        values, shares = values[kept], shares[kept]
    return values, shares


def curve_values(shape: FamilyShape) -> NDArray[np.float64]:
    """Give the values the curves are drawn at, a little beyond the thinnest reading."""
    table = shape.readings.table
    known = table[np.isfinite(table["low"])]
    low, middle = float(known["value"].min()), float(known["value"].median())
    start = max(low - 0.05 * (middle - low), float(shape.readings.window[0]))
    return np.linspace(start, middle, POINTS)


def draw(axes: Axes, shape: FamilyShape, look: style.Look) -> None:
    """Draw one family: readings as marks, distributions as lines."""
    values, shares = seen(shape)
    axes.plot(
        values,
        shares,
        look.marker,
        markersize=3.5,
        color=look.colour,
        markerfacecolor="white",
        markeredgewidth=0.9,
        linestyle="none",
    )
    x = curve_values(shape)
    for fit, (colour, line) in zip(drawn_fits(shape), CURVES, strict=False):
        axes.plot(
            x, fit.share_of_seen_below(x), line, color=colour, linewidth=1.2, label=head(fit.label)
        )
    axes.set_xlim(x[0], x[-1])
    axes.set_ylim(0.2 / shape.readings.size, 3.0)


def head(label: str) -> str:
    """Break the label of a distribution for a key."""
    return wrapped(label, HEAD, 3)


def alternative(
    shapes: Mapping[str, FamilyShape], labels: Mapping[str, str], quantity: str, unit: str
) -> str:
    """Say the figure in words: the least reading of each family, and what each fit says of it."""
    lines = []
    for family, shape in shapes.items():
        values, _ = seen(shape)
        least = float(values.min())
        fits = ", ".join(
            f"{fit.label} {share_text(float(fit.share_of_seen_below(least)[0]))}"
            for fit in drawn_fits(shape)
        )
        value = quantity_text(least, unit=unit, step=shape.readings.step)
        lines.append(
            f"{clean(labels[family], 60)} ({counts(shape)}): least reading {value}, where the fits "
            f"put a share of {fits}"
        )
    return (
        f"Lower tails of {quantity.lower()} in {unit or 'no unit'} on a logarithmic scale of "
        "shares, one panel a family, readings as marks and distributions as lines. "
        f"{'; '.join(lines)}."
    )


def caption(shapes: Mapping[str, FamilyShape]) -> str:
    """Say how the figure is to be read."""
    kept = (
        " Where nothing was kept beyond a value, readings and distributions alike are shares of "
        "what was kept."
        if any(shape.readings.truncated for shape in shapes.values())
        else ""
    )
    return (
        "Marks are readings, at the share of all that lie at or below them; lines are fitted "
        "distributions. Marks far above a line say that the thin tail is heavier than this "
        f"distribution has it.{kept} A few thin readings of one block look like a tail."
    )


def plotted(shapes: Mapping[str, FamilyShape], unit: str) -> pd.DataFrame:
    """Give the numbers drawn, one row a mark or a point of a curve."""
    frames = []
    for family, shape in shapes.items():
        values, shares = seen(shape)
        frames.append(
            pd.DataFrame({"value": values, "share": shares}).assign(family=family, kind="readings")
        )
        x = curve_values(shape)
        frames += [
            pd.DataFrame({"value": x, "share": fit.share_of_seen_below(x)}).assign(
                family=family, kind=fit.label
            )
            for fit in drawn_fits(shape)
        ]
    return pd.concat(frames)[["family", "kind", "value", "share"]].assign(unit=unit)
