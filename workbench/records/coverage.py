"""What was read, and what the grid lacks: families by quantities, and places nobody read.

The grid of a quantity is the full crossing of the bores, stations and depths met in its grid
readings, whatever the family; for walls, the bores and stations of the drawing belong to it too.
Searched readings are no part of a grid.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import pandas as pd

from workbench.records.settings import Settings
from workbench.records.store import Records

PLACE = ("bore", "station", "depth")


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """What a family lacks of a quantity's grid: of `places` places, `missing` have no reading.

    Counted over its `blocks` blocks, of which `lacking` lack some. `worst` is the place most of
    them lack, as bore, station and depth.
    """

    family: str
    quantity: str
    blocks: int
    lacking: int
    places: int
    missing: int
    worst: tuple[str, str, str] | None

    @property
    def sentence(self) -> str:
        """Say what is missing, for a table."""
        if not self.blocks:
            return "no reading of this quantity"
        said = f"{self.missing} of {self.places} places not read, in {self.lacking} of "
        said += f"{self.blocks} blocks"
        if self.worst is None or self.worst == ("", "", ""):
            return said
        named = (f"{name} {at}" for name, at in zip(PLACE, self.worst, strict=True) if at)
        return f"{said}; most often {', '.join(named)}"


def coverage(records: Records) -> pd.DataFrame:
    """Give one row a family and quantity met: blocks, bores and readings accepted.

    A bore is counted once in each block it was read in; readings without a bore count in none.
    """
    cells = records.cells
    keys = ["family", "quantity"]
    held = cells.groupby(keys, as_index=False).agg(
        blocks=("block", "nunique"), readings=("n", "sum")
    )
    bores = cells.loc[cells["bore"] != "", [*keys, "block", "bore"]].drop_duplicates()
    counts = bores.groupby(keys, as_index=False).size().rename(columns={"size": "bores"})
    held = held.merge(counts, on=keys, how="left")
    held["bores"] = held["bores"].fillna(0).astype("int64")
    return held[[*keys, "blocks", "bores", "readings"]]


def gaps(records: Records, settings: Settings) -> tuple[Gap, ...]:
    """Give what each family lacks of the grid of each quantity; a full grid is not listed."""
    cells = records.cells
    families = cells["family"].drop_duplicates().sort_values()
    found = []
    for quantity, rows in cells.groupby("quantity"):
        grid = rows.loc[rows["sampling"] == "grid", ["family", "block", *PLACE]].drop_duplicates()
        places = grid_places(grid, settings, str(quantity))
        for family in families:
            gap = _gap(grid[grid["family"] == family], places, family, str(quantity))
            if gap is not None:
                found.append(gap)
    return tuple(found)


def grid_places(
    grid: pd.DataFrame, settings: Settings, quantity: str
) -> list[tuple[str, str, str]]:
    """Give the places of a quantity's grid as (bore, station, depth)."""
    met = {name: sorted(set(grid[name]) - {""}) for name in PLACE}
    if settings.drawing and quantity == "wall_thickness":
        drawn = {
            "bore": [str(bore + 1) for bore in range(settings.drawing.bores or 0)],
            "station": list(settings.drawing.stations),
        }
        for name, places in drawn.items():
            met[name] = [*places, *(place for place in met[name] if place not in places)]
    return list(product(*(met[name] or [""] for name in PLACE)))


def _gap(
    grid: pd.DataFrame, places: list[tuple[str, str, str]], family: str, quantity: str
) -> Gap | None:
    """Count what one family lacks, from its grid readings."""
    blocks = int(grid["block"].nunique())
    if not blocks:
        return Gap(
            family=family,
            quantity=quantity,
            blocks=0,
            lacking=0,
            places=0,
            missing=0,
            worst=None,
        )
    wanted = pd.MultiIndex.from_tuples(places, names=PLACE)
    on_grid = grid[pd.MultiIndex.from_frame(grid[list(PLACE)]).isin(wanted)]
    read_at = on_grid.groupby(list(PLACE)).size().reindex(wanted, fill_value=0)
    missing = blocks * len(places) - int(read_at.sum())
    if not missing:
        return None
    per_block = on_grid.groupby("block").size()
    return Gap(
        family=family,
        quantity=quantity,
        blocks=blocks,
        lacking=blocks - int((per_block == len(places)).sum()),
        places=blocks * len(places),
        missing=missing,
        worst=places[int(read_at.to_numpy().argmin())],
    )
