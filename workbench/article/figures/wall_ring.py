"""The wall around one bore as a ring, with the arrow of its core shift and its region."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from workbench.article import style
from workbench.article.block_words import direction_text, shift_text, towards_text
from workbench.article.compass import (
    around,
    draw_arrow,
    draw_region,
    magnification,
    name_stations,
    point_at,
)
from workbench.article.numbers import percent
from workbench.article.picture import Picture, finish
from workbench.article.text import clean

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matplotlib.axes import Axes

    from workbench.castings.bores.wall_map import WallMap
    from workbench.inference.directions.vector import VectorEstimate

HOLE = 1.2  # radius of the hole, in mean walls
ROOM = 0.8  # of the hole for the arrow


def wall_ring(
    found: WallMap,
    shift: VectorEstimate | None,
    stations: Mapping[str, float],
    *,
    confidence: float = 0.95,
    footer: str = "",
) -> Picture:
    """Draw the wall around a bore, the mean over its depths, and which way the core lay.

    Parameters
    ----------
    found
        The map of the bore.
    shift
        Its core shift over all depths; None where not determined.
    stations
        The stations of the drawing with their angles.
    confidence
        Of the region of the shift.
    footer
        What a reader needs to make the figure again: version.
    """
    table = ring_of(found)
    with style.drawing():
        figure = style.sheet(
            6.4, title=f"Bore {found.bore} of {found.block}: the wall around it", footer=footer
        )
        axes = figure.add_subplot()
        factor = draw_ring(axes, table, shift, confidence)
        outer = HOLE * float(table["mean"].mean()) + float(table["mean"].max())
        name_stations(axes, stations, 1.06 * outer)
        axes.set_xlim(-1.5 * outer, 1.5 * outer)
        axes.set_ylim(-1.25 * outer, 1.25 * outer)
        return finish(
            figure,
            alt=_alternative(found, table, shift, confidence),
            caption=_caption(factor, confidence, known=shift is not None),
            data=table,
        )


def ring_of(found: WallMap) -> pd.DataFrame:
    """Give the wall at each angle reached: its mean and its least over the depths."""
    reached = ~np.isnan(found.wall).all(axis=0)
    wall = found.wall[:, reached]
    return pd.DataFrame(
        {
            "degrees": found.degrees[reached],
            "mean": np.nanmean(wall, axis=0),
            "thinnest": np.nanmin(wall, axis=0),
            "unit": found.unit,
        }
    )


def draw_ring(
    axes: Axes, table: pd.DataFrame, shift: VectorEstimate | None, confidence: float
) -> int:
    """Draw the ring and the magnified shift; give the magnification."""
    from matplotlib.collections import PolyCollection

    degrees, mean = table["degrees"].to_numpy(float), table["mean"].to_numpy(float)
    middle = float(mean.mean())
    hole = HOLE * middle
    gaps = np.diff(np.append(degrees, degrees[0] + 360.0))
    step = float(np.min(gaps)) if gaps.size else 360.0
    parts = []
    for angle, wall in zip(degrees.tolist(), mean.tolist(), strict=True):
        arc = np.linspace(angle - step / 2, angle + step / 2, 4)
        inside, outside = around(arc, hole), around(arc[::-1], hole + wall)
        parts.append(
            np.column_stack([np.append(x, y) for x, y in zip(inside, outside, strict=True)])
        )
    axes.add_collection(
        PolyCollection(
            parts, facecolor=style.SHADE, edgecolor=style.SHADE, linewidth=0.4, in_layout=False
        )
    )
    for name, line in (("thinnest", ":"), ("mean", "-")):
        x, y = around(degrees, hole + table[name].to_numpy(float))
        broken = np.flatnonzero(gaps > 1.5 * step)
        if broken.size:
            x, y = (np.insert(part, broken + 1, np.nan) for part in (x, y))
        else:
            x, y = np.append(x, x[0]), np.append(y, y[0])
        axes.plot(x, y, color=style.BLUE, linewidth=1.5 if line == "-" else 1.0, linestyle=line)
    turn = np.linspace(0, 360, 181)
    axes.plot(*around(turn, hole), color=style.INK, linewidth=1.2)
    axes.plot(*around(turn, hole + middle), color=style.SOFT, linewidth=0.8, linestyle="--")
    for at in {int(np.argmin(mean)), int(np.argmax(mean))}:
        axes.text(
            *point_at(float(degrees[at]), hole + float(mean[at]) / 2),
            f"{mean[at]:.2f}",
            ha="center",
            va="center",
            fontsize=8,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.8},
            in_layout=False,
        )
    axes.set_aspect("equal")
    axes.set_axis_off()
    if shift is None:
        return 1
    region = shift.region(confidence)
    factor = magnification(shift.size + region.major, ROOM * hole)
    draw_region(axes, region, factor, (0.0, 0.0))
    draw_arrow(axes, shift.x, shift.y, factor, (0.0, 0.0))
    return factor


def _alternative(
    found: WallMap, table: pd.DataFrame, shift: VectorEstimate | None, confidence: float
) -> str:
    thin = int(table["mean"].argmin())
    wall, degrees = float(table["mean"].iloc[thin]), float(table["degrees"].iloc[thin])
    moved = "The core shift is not determined."
    if shift is not None:
        moved = (
            f"The core shift is {shift_text(shift, found.unit, confidence)} "
            f"({percent(confidence)} region), towards {towards_text(shift, confidence)}."
        )
    return (
        f"Ring drawing of the wall around bore {clean(found.bore, 40)} of "
        f"{clean(found.block, 80)}. {moved} The wall is thinnest at "
        f"{direction_text(degrees)}, {wall:.2f} {found.unit} in the "
        f"mean over its depths; its mean all round is {table['mean'].mean():.2f} {found.unit}."
    )


def _caption(factor: int, confidence: float, *, known: bool) -> str:
    arrow = (
        f"The arrow is the core shift, {factor} times enlarged, the dashed ellipse its "
        f"{percent(confidence)} region about the arrow's head: where it holds the centre, no shift "
        "is shown. "
        if known
        else ""
    )
    return (
        "The full line is the mean wall over the depths, the dotted one the least, the dashed "
        f"circle an even wall. {arrow}Seen from the deck, the front to the "
        "left; walls are to scale with one another, the hole is drawn small."
    )
