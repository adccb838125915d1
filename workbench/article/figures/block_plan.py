"""The block seen from the deck, to scale from its drawing: bores, walls, core shifts."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from workbench.article import style
from workbench.article.compass import around, draw_arrow, draw_region, magnification, point_at
from workbench.article.figures.wall_ring import ring_of
from workbench.article.numbers import percent
from workbench.article.picture import Picture, finish
from workbench.article.text import clean
from workbench.castings.bores.between_bores import facing
from workbench.records.units import factor as unit_factor

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matplotlib.axes import Axes

    from workbench.castings.block_report import BlockReport
    from workbench.castings.bores.wall_map import WallMap
    from workbench.records.settings import Drawing

ROOM = 0.75  # of a bore's radius for the arrows


def block_plan(
    report: BlockReport,
    maps: Mapping[str, WallMap],
    drawing: Drawing | None,
    *,
    footer: str = "",
) -> Picture:
    """Draw all bores of a block to scale, with their walls, shifts and thinnest places.

    Parameters
    ----------
    report
        The block.
    maps
        Its bores that have a map.
    drawing
        The block as drawn.
    footer
        What a reader needs to make the figure again: version.

    Raises
    ------
    Refusal
        `no_drawing` where the drawing lacks bores, diameter or spacing; `bores_overlap`.
    """
    with style.drawing():
        figure = style.sheet(3.3, title=f"{report.block} seen from the deck", footer=footer)
        axes = figure.add_subplot()
        table, enlarged = draw_plan(axes, report, maps, drawing)
        for artist in (*axes.texts, *axes.lines):
            artist.set_in_layout(False)  # all lies within the limits, and need not be measured
        return finish(
            figure,
            alt=_alternative(report, table),
            caption=_caption(report, enlarged),
            data=table,
        )


def draw_plan(
    axes: Axes,
    report: BlockReport,
    maps: Mapping[str, WallMap],
    drawing: Drawing | None,
    *,
    size: float = 8.0,
) -> tuple[pd.DataFrame, int]:
    """Draw the plan on axes; give its numbers, and how many times the shifts are enlarged."""
    unit = report.unit or (drawing.unit if drawing else "mm")
    sides = facing(drawing, "1", unit)  # refuses a drawing that does not do
    assert drawing is not None
    assert drawing.bores is not None
    assert drawing.bore_diameter is not None
    assert drawing.bore_spacing is not None
    scale = unit_factor(drawing.unit, unit)
    radius, spacing = drawing.bore_diameter * scale / 2, drawing.bore_spacing * scale
    shifts = {bore.bore: bore.shift for bore in report.bores if bore.shift is not None}
    reach = [one.size + one.region(report.confidence).major for one in shifts.values()]
    enlarged = magnification(max(reach, default=1.0), ROOM * radius)
    turn = np.linspace(0, 360, 181)
    rows = []
    for at in range(drawing.bores):
        name = str(at + 1)
        centre = (at * spacing, 0.0)
        hole = around(turn, radius)
        axes.plot(centre[0] + hole[0], hole[1], color=style.INK, linewidth=1.2)
        if drawing.wall_thickness:
            nominal = around(turn, radius + drawing.wall_thickness * scale)
            axes.plot(
                centre[0] + nominal[0], nominal[1], color=style.SOFT, linewidth=0.7, linestyle="--"
            )
        row = {"bore": name, "thinnest": np.nan, "degrees": np.nan, "x": np.nan, "y": np.nan}
        if name in maps:
            row |= _draw_walls(axes, maps[name], radius, centre, size)
        if name in shifts:
            moved = shifts[name]
            draw_region(axes, moved.region(report.confidence), enlarged, centre)
            draw_arrow(axes, moved.x, moved.y, enlarged, centre)
            row |= {"x": moved.x, "y": moved.y}
        axes.text(centre[0], -1.16 * radius, f"bore {name}", ha="center", va="top", fontsize=size)
        if name not in maps:
            axes.text(centre[0], 0.5 * radius, "no map", ha="center", fontsize=size)
        rows.append(row)
    if drawing.bores > 1:
        _name_bridges(axes, drawing.bores, spacing, radius, sides[0].bridge, unit, size)
    axes.annotate(
        "front",
        xy=(-2.0 * radius, 0),
        xytext=(-1.45 * radius, 0),
        ha="center",
        va="center",
        fontsize=size,
        arrowprops={"arrowstyle": "->", "color": style.SOFT},
    )
    axes.set_xlim(-2.05 * radius, (drawing.bores - 1) * spacing + 1.3 * radius)
    axes.set_ylim(-1.4 * radius, 1.42 * radius)
    axes.set_aspect("equal")
    axes.set_axis_off()
    return pd.DataFrame(rows).assign(unit=unit), enlarged


def _draw_walls(
    axes: Axes, found: WallMap, radius: float, centre: tuple[float, float], size: float
) -> dict[str, float]:
    """Draw the mean wall over the depths to scale, and mark the thinnest place."""
    ring = ring_of(found)
    degrees = ring["degrees"].to_numpy(float)
    x, y = around(degrees, radius + ring["mean"].to_numpy(float))
    gaps = np.flatnonzero(np.diff(degrees) > 1.5 * np.median(np.diff(degrees)))
    whole = len(ring) == found.degrees.size
    x, y = (
        np.append(part, part[0]) if whole else np.insert(part, gaps + 1, np.nan) for part in (x, y)
    )
    axes.plot(centre[0] + x, y, color=style.BLUE, linewidth=1.8)
    thin = found.thinnest
    across, up = point_at(thin.degrees, radius + thin.wall / 2)
    axes.plot(
        [centre[0] + across],
        [up],
        marker="X",
        markersize=8,
        color="white",
        markeredgecolor=style.INK,
        zorder=5,
    )
    across, up = point_at(thin.degrees, 0.66 * radius)
    axes.text(
        centre[0] + across,
        up,
        f"{thin.wall:.2f}",
        ha="center",
        va="center",
        fontsize=size,
        bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.5},
        zorder=6,
    )
    return {"thinnest": thin.wall, "degrees": thin.degrees}


def _name_bridges(
    axes: Axes, bores: int, spacing: float, radius: float, bridge: float, unit: str, size: float
) -> None:
    """Write the metal between each two bores, as drawn, above the place where they are nearest."""
    for at in range(bores - 1):
        middle = (at + 0.5) * spacing
        axes.annotate(
            f"{bridge:.1f} {unit}",
            xy=(middle, 0.0),
            xytext=(middle, 1.22 * radius),
            ha="center",
            fontsize=size,
            arrowprops={"arrowstyle": "-", "color": style.SOFT, "linewidth": 0.7},
        )
        ends = [middle - bridge / 2, middle + bridge / 2]
        axes.plot(ends, [0.0, 0.0], color=style.INK, linewidth=1.0, marker="|")


def _alternative(report: BlockReport, table: pd.DataFrame) -> str:
    known = table[table["thinnest"].notna()]
    said = "; ".join(
        f"bore {clean(bore, 20)}: thinnest {wall:.2f} {report.unit} at {degrees:.0f}°"
        for bore, wall, degrees in known[["bore", "thinnest", "degrees"]].itertuples(index=False)
    )
    return (
        f"Plan of the {len(table)} bores of {clean(report.block, 80)} to scale. "
        f"{said or 'No bore has a map'}."
    )


def _caption(report: BlockReport, enlarged: int) -> str:
    return (
        "Bores and spacing as drawn; the thick line is the mean wall over the depths, to scale, "
        "the dashed one the nominal wall, the cross the thinnest estimated place with its wall. "
        f"Arrows are core shifts with their {percent(report.confidence)} regions, {enlarged} times "
        "enlarged; they point to the thin side. The figures above are the metal between "
        "neighbouring bores as drawn, which share it."
    )
