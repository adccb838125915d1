"""The wall of one bore unrolled: angle across, depth down, places read shown, the rest masked."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from workbench.article import style
from workbench.article.figures.contour_labels import number_lines
from workbench.article.numbers import percent
from workbench.article.picture import Picture, finish
from workbench.article.text import clean, counted, wrapped
from workbench.records.rounding import digits_for, number_text, quantity_text

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matplotlib.axes import Axes

    from workbench.castings.bores.wall_map import ThinPlace, WallMap

Values = NDArray[np.float64]

LEVELS, FEW_LEVELS = 8, 5
MOST_NAMED = 60  # places whose value is written
RIGHTMOST = 320.0  # degrees, from which a value may reach beyond the map
TWO_SIDED = 1.96  # standard errors either side, at 95 %
CONFIDENCE = 0.95
THINNEST = 0.18  # of the greys used: dark is thin


def bore_map(
    found: WallMap, stations: Mapping[str, float], *, step: float, footer: str = ""
) -> Picture:
    """Draw the wall of a bore everywhere between its places, and its course at the thinnest depth.

    Parameters
    ----------
    found
        The map, from `wall_map`.
    stations
        The stations of the drawing with their angles.
    step
        The gauge step of the walls, for the digits.
    footer
        What a reader needs to make the figure again: version.
    """
    known = bool(np.isfinite(found.down).all()) and found.down.size > 1
    with style.drawing():
        figure = style.sheet(
            6.6 if known else 3.6,
            title=f"Bore {found.bore} of {found.block}: the wall unrolled",
            footer=footer,
        )
        if known:
            upper, lower = figure.subplots(2, 1, sharex=True, height_ratios=[3, 2])
            draw_map(upper, found, stations, step)
        else:
            lower = figure.add_subplot()
        draw_course(lower, found, stations)
        style.value_axis(lower, style.with_unit("wall", found.unit), axis="y")
        lower.set_xlabel("angle, clockwise seen from the deck, 0° at the front")
        return finish(
            figure,
            alt=_alternative(found, step),
            caption=_caption(found, known=known),
            data=map_data({found.bore: found}),
        )


def draw_map(
    axes: Axes,
    found: WallMap,
    stations: Mapping[str, float],
    step: float,
    *,
    ends: tuple[float, float] | None = None,
    small: bool = False,
) -> None:
    """Draw the map on axes: greys from thin (dark) to thick, ruled and numbered by contours."""
    degrees = np.append(found.degrees, 360.0)
    wall = np.column_stack([found.wall, found.wall[:, :1]])
    low, high = ends or (float(np.nanmin(wall)), float(np.nanmax(wall)))
    high = max(high, low + step)
    masked = np.ma.masked_invalid(wall)
    axes.set_facecolor("white")
    count = FEW_LEVELS if small else LEVELS
    levels = np.linspace(low, high, count + 1)
    axes.contourf(degrees, found.down, masked, levels=levels, cmap=_greys(), extend="both")
    if float(np.ptp(masked)) > step / 10:
        ruled = axes.contour(
            degrees, found.down, masked, levels=levels[1:-1], colors=style.INK, linewidths=0.6
        )
        decimals = digits_for(max(step, (high - low) / count), step)
        axes.set_xlim(0, 360)
        axes.set_ylim(float(found.down.max()), float(found.down.min()))
        number_lines(
            axes,
            ruled,
            written(found),
            lambda value: number_text(float(value), decimals),
            size=6 if small else 7.5,
        )
    if np.isnan(wall).any():
        axes.fill_between(
            [0, 360],
            found.down.min(),
            found.down.max(),
            facecolor="white",
            edgecolor=style.FAINT,
            hatch="xxx",
            zorder=-1,
        )
    draw_places(axes, found, step, small=small)
    thin = found.thinnest
    axes.plot(
        [thin.degrees],
        [thin.down],
        marker="X",
        markersize=9,
        color="white",
        markeredgecolor=style.INK,
        zorder=5,
        clip_on=False,
    )
    if small:  # else the course below, which shares the angles, names them
        _name_angles(axes, stations, small=small)
    axes.set_xlim(0, 360)
    axes.set_ylim(float(found.down.max()), float(found.down.min()))
    axes.margins(0)
    if not small:
        axes.set_ylabel(style.with_unit("below the deck", found.unit))
        _name_sides(axes, found)


def written(found: WallMap) -> Values:
    """Give where marks and values of places stand: a ring, and its value to the right of it."""
    read = found.places[found.places["down"].notna()]
    rings = np.column_stack([read["angle"] % 360, read["down"]]).astype(float)
    inwards = np.where(rings[:, 1] <= float(found.down.mean()), 1, -1)
    beside = rings + np.column_stack([np.full(len(rings), 18.0), inwards * 0.04 * span(found)])
    thin = [[found.thinnest.degrees, found.thinnest.down]]
    return np.vstack([rings, beside, np.asarray(thin, dtype=float)])


def span(found: WallMap) -> float:
    """Give how far the map reaches down the bore."""
    return float(found.down.max() - found.down.min())


def draw_places(axes: Axes, found: WallMap, step: float, *, small: bool) -> None:
    """Mark the places read, with their values where there is room for them."""
    places = found.places
    shown = places[places["down"].notna()]
    axes.scatter(
        shown["angle"] % 360,
        shown["down"],
        s=14,
        facecolor="white",
        edgecolor=style.INK,
        linewidths=0.9,
        zorder=4,
        clip_on=False,
    )
    if small or len(shown) > MOST_NAMED:
        return
    decimals = digits_for(0.0, step)
    middle = float(found.down.mean())
    for angle, down, mean in shown[["angle", "down", "mean"]].to_numpy(float).tolist():
        axes.annotate(
            number_text(mean, decimals),
            (angle % 360, down),
            xytext=(5, -5 if down <= middle else 5),
            textcoords="offset points",
            va="top" if down <= middle else "bottom",
            fontsize=7.5,
            zorder=6,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.8, "alpha": 0.85},
            in_layout=angle % 360 > RIGHTMOST,  # the others lie inside, and need no measuring
        )


def draw_course(
    axes: Axes, found: WallMap, stations: Mapping[str, float], *, small: bool = False
) -> None:
    """Draw the wall round the bore at the depth read nearest its thinnest place, with its band.

    Where depths have no position each depth has its own course.
    """
    rows = [_nearest_read(found)]
    if not np.isfinite(found.down).all():
        rows = list(range(len(found.depths)))
    for place, row in enumerate(rows):
        error = np.hypot(found.standard_error[row], found.shared_uncertainty)
        degrees = np.append(found.degrees, 360.0)
        wall, half = (np.append(part, part[0]) for part in (found.wall[row], TWO_SIDED * error))
        axes.fill_between(degrees, wall - half, wall + half, color=style.SHADE, linewidth=0)
        axes.plot(
            degrees,
            wall,
            color=style.BLUE,
            linewidth=1.4,
            linestyle=("-", "--", ":", "-.")[place % 4],
            label=_depth_words(found, row),
        )
        read = found.places[found.places["depth"] == found.depths[row]]
        axes.scatter(
            read["angle"] % 360,
            read["mean"],
            s=14 if small else 22,
            facecolor="white",
            edgecolor=style.INK,
            zorder=4,
            clip_on=False,
        )
    if not small:
        axes.legend(
            loc="lower right", bbox_to_anchor=(1, 1.0), borderaxespad=0.2, ncols=4, fontsize=8.5
        )
    axes.set_xlim(0, 360)
    _name_angles(axes, stations, small=small)


def _greys() -> object:
    from matplotlib.colors import LinearSegmentedColormap

    ends = [(THINNEST + 0.22,) * 3, (0.97,) * 3]
    return LinearSegmentedColormap.from_list("walls", ends)


def _row_of(found: WallMap, thin: ThinPlace) -> int:
    if np.isfinite(thin.down):
        return int(np.abs(found.down - thin.down).argmin())
    return found.depths.index(thin.depth)


def _nearest_read(found: WallMap) -> int:
    """Give the row of the depth read that lies nearest the thinnest place."""
    row = _row_of(found, found.thinnest)
    read = [at for at, name in enumerate(found.depths) if name]
    return min(read, key=lambda at: abs(at - row))


def _depth_words(found: WallMap, row: int) -> str:
    name = wrapped(found.depths[row], 30, 1)
    if not np.isfinite(found.down[row]):
        return f"depth {name}" if name else "its one depth"
    at = f"{found.down[row]:.0f} {found.unit} below the deck"
    return f"{name}, {at}" if name and name != f"{found.down[row]:g}" else at


def _name_angles(axes: Axes, stations: Mapping[str, float], *, small: bool) -> None:
    ticks = {0.0: "", 90.0: "", 180.0: "", 270.0: "", 360.0: ""}
    for name, angle in stations.items():
        ticks[angle % 360] = name
    ticks[360.0] = ticks[0.0]
    axes.set_xticks(
        list(ticks),
        [
            f"{angle:g}°" if small or not name else f"{wrapped(name, 12, 1)}\n{angle:g}°"
            for angle, name in ticks.items()
        ],
        fontsize=7 if small else 8.5,
    )


def _name_sides(axes: Axes, found: WallMap) -> None:
    """Bracket the angles that face a neighbouring bore, above the map."""
    for side in found.sides:
        parts = [(side.centre - side.half_width, side.centre + side.half_width)]
        if parts[0][0] < 0:
            parts = [(0.0, parts[0][1]), (360 + parts[0][0], 360.0)]
        for start, end in parts:
            axes.plot(
                [start, end],
                [1.015, 1.015],
                transform=axes.get_xaxis_transform(),
                color=style.SOFT,
                linewidth=3,
                solid_capstyle="butt",
                clip_on=False,
            )
        start, end = parts[0]
        shared = ", shared metal" if side.shared else ""
        axes.text(
            (start + end) / 2 if len(parts) == 1 else 1.0,
            1.03,
            f"faces bore {side.neighbour}{shared}",
            transform=axes.get_xaxis_transform(),
            ha="center" if len(parts) == 1 else "left",
            va="bottom",
            fontsize=8,
            color=style.SOFT,
        )


def map_data(maps: Mapping[str, WallMap]) -> pd.DataFrame:
    """Give what is drawn of maps: a row a bore, depth and angle."""
    rows = [
        (bore, down, depth, degrees, wall, error, found.unit)
        for bore, found in maps.items()
        for row, (down, depth) in enumerate(zip(found.down, found.depths, strict=True))
        for degrees, wall, error in zip(
            found.degrees, found.wall[row], found.standard_error[row], strict=True
        )
    ]
    columns = ["bore", "below_deck", "depth", "degrees", "wall", "standard_error", "unit"]
    return pd.DataFrame(rows, columns=columns)


def thin_words(found: WallMap, step: float) -> str:
    """Say the thinnest estimated place of a map, its uncertainty, and where it is."""
    thin = found.thinnest
    u = thin.standard_error
    return (
        f"{quantity_text(thin.wall, u, found.unit, step / 10)} (standard uncertainty "
        f"{quantity_text(u, u, found.unit)}) at {thin.degrees:.0f}°, "
        f"{_depth_words(found, _row_of(found, thin))}"
    )


def _alternative(found: WallMap, step: float) -> str:
    high = float(np.nanmax(found.wall))
    masked = float(np.isnan(found.wall).mean())
    return (
        f"Unrolled map of the wall of bore {clean(found.bore, 40)} of {clean(found.block, 80)} "
        f"over angle and depth, from {counted(len(found.places), 'place')} read. The thinnest "
        f"estimated place is {thin_words(found, step)}; the thickest "
        f"{quantity_text(high, unit=found.unit, step=step)}."
        + (f" {100 * masked:.0f}% of the map is masked: nothing was read near." if masked else "")
    )


def _caption(found: WallMap, *, known: bool) -> str:
    words = (
        "Dark is thin; lines are of equal wall. Rings are the places read, the cross the thinnest "
        "place of the estimate; a thinner one may hide between places. "
        if known
        else "Each depth has its own course, as nothing says how far apart depths lie. "
    )
    return (
        f"{words}The band is the estimate with its {percent(CONFIDENCE)} interval at each angle, "
        "the error all readings share in it. The map ends where reading ended."
    )
