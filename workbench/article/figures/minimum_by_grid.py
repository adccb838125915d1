"""How the thinnest place found falls with the number of places looked at, family by family."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from workbench.article import style
from workbench.article.numbers import percent
from workbench.article.picture import Picture, finish
from workbench.article.text import clean, counted
from workbench.errors import Refusal
from workbench.records.rounding import quantity_text

if TYPE_CHECKING:
    from workbench.castings.thin_spots import ThinFamily
    from workbench.inference.extremes.block_minimum import GridCurve

COLUMNS = 3
PANEL = 2.7
ENOUGH = 5  # blocks of a family for its band to set the axis


def minimum_by_grid(
    found: Mapping[str, ThinFamily], labels: Mapping[str, str], quantity: str, *, footer: str = ""
) -> Picture:
    """Draw the thinnest place expected of a block against the places looked at in every bore.

    Parameters and refusals are those of `share_below`; families read at one place a bore have no
    curve and are left out.
    """
    curves = {family: thin.by_grid for family, thin in found.items() if thin.by_grid is not None}
    if not curves:
        raise Refusal("nothing_to_draw", "No family was read at two places of a bore or more.")
    unit = next(iter(found.values())).places.unit
    with style.drawing():
        looks = style.looks(curves, labels)
        columns = min(COLUMNS, len(curves))
        rows = -(-len(curves) // columns)
        figure = style.sheet(
            1.2 + PANEL * rows,
            title=f"{quantity}: the thinnest place found, by the number of places looked at",
            footer=footer,
        )
        grid = figure.subplots(rows, columns, squeeze=False, sharex=True, sharey=True)
        for place, (family, curve) in enumerate(curves.items()):
            axes, look = grid.flat[place], looks[family]
            axes.fill_between(curve.places, curve.low, curve.high, color=style.SHADE)
            axes.plot(curve.places, curve.expected, color=look.colour, linewidth=1.4)
            at = [curve.read, 2 * curve.read]
            axes.plot(
                at,
                np.interp(at, curve.places, curve.expected),
                look.marker,
                color=look.colour,
                markerfacecolor="white",
                markersize=6,
            )
            axes.axvline(curve.read, color=style.SOFT, linewidth=0.8, linestyle=(0, (1, 2)))
            fall = quantity_text(curve.fall(2), curve.fall(2) / 2, unit)
            axes.set_title(f"{look.label}\ntwice the places: {fall} thinner", fontsize=8.5)
            axes.grid(visible=True, axis="y")
            if place + columns >= len(curves):
                axes.set_xlabel("places looked at in a bore (no unit)", fontsize=8.5)
                axes.tick_params(labelbottom=True)
        for axes in grid.flat[len(curves) :]:
            axes.set_visible(False)
        grid[0, 0].set_ylim(*drawn_range(found, curves))
        for axes in grid[:, 0]:
            style.value_axis(axes, style.with_unit("thinnest place of a block", unit), axis="y")
        return finish(
            figure,
            alt=alternative(found, curves, labels, quantity, unit),
            caption=caption(curves),
            data=plotted(curves, unit),
        )


def drawn_range(
    found: Mapping[str, ThinFamily], curves: Mapping[str, GridCurve]
) -> tuple[float, float]:
    """Give the range drawn: of families with blocks enough, so that their fall can be seen."""
    wide = [curve for family, curve in curves.items() if found[family].places.blocks >= ENOUGH]
    lines = [curve.expected for curve in curves.values()]
    ends = [end for curve in wide or curves.values() for end in (curve.low, curve.high)]
    low = min(float(one.min()) for one in [*ends, *lines])
    high = max(float(one.max()) for one in [*ends, *lines])
    room = 0.04 * (high - low)
    return low - room, high + room


def alternative(
    found: Mapping[str, ThinFamily],
    curves: Mapping[str, GridCurve],
    labels: Mapping[str, str],
    quantity: str,
    unit: str,
) -> str:
    """Say the figure in words: the thinnest expected as read, and with twice the places."""
    lines = []
    for family, curve in curves.items():
        here = float(np.interp(curve.read, curve.places, curve.expected))
        digit = curve.fall(2) / 2
        lines.append(
            f"{clean(labels[family], 60)} ({counted(found[family].places.blocks, 'block')}): "
            f"{quantity_text(here, digit, unit)} at the {counted(curve.read, 'place')} read of a "
            f"bore, {quantity_text(here - curve.fall(2), digit, unit)} at twice as many"
        )
    return (
        f"Curves of the thinnest place of {quantity.lower()} expected of a block, in {unit}, "
        "against the places looked at in every bore, one panel a family. "
        f"{'; '.join(lines)}."
    )


def caption(curves: Mapping[str, GridCurve]) -> str:
    """Say how the figure is to be read."""
    confidence = next(iter(curves.values())).confidence
    return (
        "The line is the thinnest place expected of a block, of the iron; a further block falls in "
        f"the shaded band with {percent(confidence)} confidence. The dotted vertical is the number "
        "of places read. Beyond it places lie closer together and are more alike, so the line "
        "falls too fast there: it bounds how much thinner a block may be than was found. A band of "
        "a few blocks may run beyond the axis."
    )


def plotted(curves: Mapping[str, GridCurve], unit: str) -> pd.DataFrame:
    """Give the numbers drawn, one row a point."""
    frames = [
        pd.DataFrame(
            {
                "places": curve.places,
                "expected": curve.expected,
                "low": curve.low,
                "high": curve.high,
            }
        ).assign(family=family, read=curve.read)
        for family, curve in curves.items()
    ]
    order = ["family", "places", "read", "expected", "low", "high"]
    return pd.concat(frames).reindex(columns=order).assign(unit=unit)
