"""Where each family was read: the blocks read and missing at every place of the grid."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd

from workbench.article import style
from workbench.article.names import depth_order, family_order, quantity_label, station_order
from workbench.article.picture import Picture, finish
from workbench.article.text import clean, counted, distinct_labels, wrapped

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping

    from matplotlib.axes import Axes

    from workbench.records.settings import Settings
    from workbench.records.store import Records

ROW = 0.44  # inches a place
MOST = 48  # places drawn
COLUMNS = [
    *("family", "station", "depth"),
    *("blocks", "measured", "missing", "bores", "measured_bores", "readings"),
]
FULL = (0.42, 0.65, 0.84)  # a blue light enough for ink on it, where every block was read


def grid_coverage(
    records: Records, settings: Settings, quantity: str, *, footer: str = ""
) -> Picture:
    """Draw how many blocks of each family were read at each place, for one quantity.

    Searched readings and doubtful contact do not count: they enter no mean.

    Parameters
    ----------
    records, settings
        What was read, and how the study names it.
    quantity
        The quantity.
    footer
        What a reader needs to make the figure again: version.
    """
    places = place_counts(records, settings, quantity)
    families = tuple(dict.fromkeys(places["family"]))
    shown = list(dict.fromkeys(zip(places["station"], places["depth"], strict=True)))
    label = quantity_label(settings, quantity)
    with style.drawing():
        figure = style.sheet(
            1.5 + ROW * max(1, min(len(shown), MOST)),
            title=f"{label}: blocks read at each place",
            footer=footer,
        )
        axes = figure.add_subplot()
        if families:
            draw_places(axes, places, families, shown[:MOST])
        heads = distinct_labels(
            (settings.family_label(family) for family in families),
            width=max(8, 72 // max(1, len(families))),
            lines=3,
        )
        axes.set_xticks(range(len(families)), heads)
        axes.set_xlabel("family (number of blocks, and of bores or readings)")
        if shown != [("", "")]:
            deep = any(depth for _, depth in shown)
            axes.set_ylabel("place (station, depth)" if deep else "place (station)")
        return finish(
            figure,
            alt=alternative(places, settings, label),
            caption=caption(places, len(shown)),
            data=places,
        )


def place_counts(records: Records, settings: Settings, quantity: str) -> pd.DataFrame:
    """Count blocks, bores and readings at every place of the grid of one quantity, by family.

    The grid is every station and depth read in any family. One row a family and place, in the
    order of the study: family, station, depth; blocks, measured (blocks of the family with any
    reading of the quantity), missing (the blocks between the two); bores, measured_bores (0 where
    no bore is named); readings.
    """
    cells = records.cells
    cells = cells[(cells["quantity"] == quantity) & (cells["n"] > 0)]
    cells = cells.assign(named=(cells["block"] + "\x1f" + cells["bore"]).where(cells["bore"] != ""))
    measured = cells.groupby("family").agg(blocks=("block", "nunique"), bores=("named", "nunique"))
    cells = cells[(cells["sampling"] == "grid") & (cells["contact"] == "good")]
    if cells.empty:
        return pd.DataFrame(columns=COLUMNS)
    found = cells.groupby(["family", "station", "depth"]).agg(
        blocks=("block", "nunique"), bores=("named", "nunique"), readings=("n", "sum")
    )
    order = pd.MultiIndex.from_product(
        [
            family_order(settings, measured.index),
            station_order(settings, cells["station"]),
            depth_order(cells["depth"]),
        ],
        names=["family", "station", "depth"],
    )
    grid = set(zip(cells["station"], cells["depth"], strict=True))
    places: pd.DataFrame = found.reindex(order, fill_value=0).reset_index()
    on_grid = [pair in grid for pair in zip(places["station"], places["depth"], strict=True)]
    places = places[on_grid].reset_index(drop=True)
    places["measured"] = places["family"].map(measured["blocks"])
    places["measured_bores"] = places["family"].map(measured["bores"])
    places["missing"] = places["measured"] - places["blocks"]
    return places[COLUMNS]


def draw_places(
    axes: Axes, places: pd.DataFrame, families: tuple[str, ...], shown: list[tuple[str, str]]
) -> None:
    """Draw one cell a family and place: darker with more blocks read, hatched where not all."""
    rows: Mapping[tuple[str, str], int] = {place: row for row, place in enumerate(shown)}
    for cell in places.to_dict("records"):
        row = rows.get((cell["station"], cell["depth"]))
        if row is None:
            continue
        column = families.index(cell["family"])
        share, whole = cell["blocks"] / cell["measured"], cell["missing"] == 0
        axes.barh(
            row,
            0.94,
            left=column - 0.47,
            height=0.90,
            facecolor=tuple(1 - share * (1 - part) for part in FULL),
            edgecolor=style.FAINT if whole else style.SOFT,
            hatch=None if whole else "///",
            linewidth=0.6,
        )
        axes.text(
            column,
            row,
            cell_words(cell),
            ha="center",
            va="center",
            fontsize=8,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.8, "alpha": 0.75}
            if not whole
            else None,
        )
    axes.set_xlim(-0.5, len(families) - 0.5)
    axes.set_ylim(max(len(shown), 1) - 0.5, -0.5)
    axes.set_yticks(range(len(shown)), [wrapped(place_name(*place), 24, 2) for place in shown])
    axes.tick_params(length=0)
    axes.xaxis.tick_top()
    for side in ("left", "bottom"):
        axes.spines[side].set_visible(False)


def cell_words(cell: Mapping[Hashable, Any]) -> str:
    """Say what was read at a place: blocks, and bores where they are named."""
    words = f"{cell['blocks']:,} of {cell['measured']:,} blocks"
    if cell["measured_bores"]:
        return f"{words}\n{cell['bores']:,} of {cell['measured_bores']:,} bores"
    return f"{words}\n{counted(cell['readings'], 'reading')}"


def place_name(station: str, depth: str) -> str:
    """Give a place in words."""
    return ", ".join(part for part in (station, depth) if part) or "place not given"


def alternative(places: pd.DataFrame, settings: Settings, label: str) -> str:
    """Say the figure in words: type, what, and for each family the places read and missing."""
    lines = []
    for family, mine in places.groupby("family", sort=False):
        whole = int((mine["missing"] == 0).sum())
        lines.append(
            f"{clean(settings.family_label(str(family)), 60)}: "
            f"{counted(int(mine['measured'].iloc[0]), 'block')}, "
            f"{counted(int(mine['readings'].sum()), 'reading')}, every block read at {whole} of "
            f"{counted(len(mine), 'place')}, {counted(int(mine['missing'].sum()), 'gap')}"
        )
    return (
        f"Table plot of the places where {label.lower()} was read, by family. "
        f"{'; '.join(lines) or 'No reading on a grid place'}."
    )


def caption(places: pd.DataFrame, count: int) -> str:
    """Say how the figure is to be read."""
    words = (
        "Blocks with at least one good reading at a place of the grid, of the blocks of the family "
        "measured for this quantity at all. Hatched: not every block was read there. Only places "
        "read in both families enter a comparison."
    )
    if count > MOST:
        words += f" The first {MOST} of {count} places are drawn."
    return words
