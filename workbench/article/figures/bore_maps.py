"""The walls of all bores of a block unrolled side by side, on one scale of greys."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from workbench.article import style
from workbench.article.figures.bore_map import draw_course, draw_map, map_data, thin_words
from workbench.article.picture import Picture, finish
from workbench.article.text import clean, counted, wrapped
from workbench.errors import Refusal

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matplotlib.axes import Axes

    from workbench.castings.bores.wall_map import WallMap
    from workbench.records.settings import Settings

ACROSS = 4
MOST = 16
PANEL = 1.75  # inches


def bore_maps(
    maps: Mapping[str, WallMap], settings: Settings, *, step: float, footer: str = ""
) -> Picture:
    """Draw the maps of a block's bores, beyond `MOST` those with the thinnest places.

    Parameters
    ----------
    maps
        By bore, from `wall_map`.
    settings
        Of the study: its drawing.
    step
        The gauge step of the walls, for the digits.
    footer
        What a reader needs to make the figure again: version.

    Raises
    ------
    Refusal
        `no_map` where there is none.
    """
    if not maps:
        raise Refusal("no_map", "No bore of the block has a map.")
    kept = thinnest_maps(maps, MOST)
    block = next(iter(maps.values())).block
    rows = math.ceil(len(kept) / ACROSS)
    with style.drawing():
        figure = style.sheet(
            0.9 + PANEL * rows, title=f"Bores of {block}: the walls unrolled", footer=footer
        )
        panels = figure.subplots(rows, min(ACROSS, len(kept)), squeeze=False).ravel()
        draw_maps(list(panels[: len(kept)]), kept, settings, step, across=ACROSS)
        for axes in panels[len(kept) :]:
            axes.set_visible(False)
        said = "; ".join(
            f"bore {clean(name, 40)}: {thin_words(found, step)}" for name, found in kept.items()
        )
        return finish(
            figure,
            alt=f"Unrolled maps of {counted(len(kept), 'bore')} of {clean(block, 80)} over angle "
            f"and depth. Thinnest estimated places: {said}.",
            caption="Dark is thin, on one scale for all bores; lines are of equal wall. Rings are "
            "the places read, crosses the thinnest places of the estimate; thinner ones may hide "
            "between places. Angles are clockwise seen from the deck, 0° at the front."
            + (f" {len(kept)} of {len(maps)} bores drawn." if len(kept) < len(maps) else ""),
            data=map_data(kept),
        )


def thinnest_maps(maps: Mapping[str, WallMap], most: int) -> dict[str, WallMap]:
    """Keep the maps with the thinnest places, in the order of the bores."""
    kept = sorted(maps, key=lambda name: maps[name].thinnest.wall)[:most]
    return {name: found for name, found in maps.items() if name in kept}


def draw_maps(
    panels: Sequence[Axes],
    maps: Mapping[str, WallMap],
    settings: Settings,
    step: float,
    *,
    across: int,
) -> None:
    """Draw each map on its axes, all on one scale of greys."""
    ends = (
        min(float(np.nanmin(found.wall)) for found in maps.values()),
        max(float(np.nanmax(found.wall)) for found in maps.values()),
    )
    stations = settings.drawing.stations if settings.drawing else {}
    for at, (axes, (name, found)) in enumerate(zip(panels, maps.items(), strict=True)):
        thin = found.thinnest
        bore = wrapped(name, 10, 1)
        axes.set_title(
            f"bore {bore}: {thin.wall:.2f} {found.unit} at {thin.degrees:.0f}°", fontsize=8
        )
        if found.down.size < 2 or not np.isfinite(found.down).all():
            draw_course(axes, found, {}, small=True)
            label = f"wall ({found.unit})"
        else:
            draw_map(axes, found, stations, step, ends=ends, small=True)
            label = f"{found.unit} below deck"
        axes.tick_params(labelsize=6.5)
        if at % across == 0:
            axes.set_ylabel(label, fontsize=7)
