"""The places of one family laid out for questions on its next block: blocks, bores, places.

A place is a station and depth of a bore. The pattern of the places is the family's; what blocks,
bores and places vary about it is what the next block is predicted from.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TypedDict

import numpy as np
import pandas as pd

from workbench.castings.calibration import Calibrations
from workbench.castings.correction import reached
from workbench.castings.inspection import gathered
from workbench.castings.places import Places
from workbench.errors import Refusal
from workbench.inference.grouping import group_codes
from workbench.inference.nested.nested_study import NestedSquares
from workbench.inference.nested.squares import FEWEST_BLOCKS, nested_squares, pooled_squares
from workbench.records.columns import BELOW
from workbench.records.settings import Settings

MOST_READ = 0.9  # of the grid a block must have been read at for its thinnest place to count
ONLY_BELOW = (
    "Its readings say only that no value is above them; some readings above the lower limit of the "
    "gauge, of three blocks at least, would be enough."
)
ON_GRID = 0.5  # of the blocks that must have been read at a place for it to be of the grid


class Keys(TypedDict):
    """The columns that name bores and places, for `nested_squares`."""

    bore: str | None
    place: str | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FamilyPlaces:
    """The places read of one family, in `unit`.

    Attributes
    ----------
    table
        One row a place of a bore: `block, bore, place, station, depth, value` (the mean of its
        readings), `n`.
    searched
        Places hunted for, and places known only not to lie above a value: `block, bore, place,
        value, below`; they can only lower a block's thinnest place, and are in no spread.
    bores
        Of a block: of the drawing, else the most read in one.
    error_variance
        Of the mean of a place's readings, from repeats and rounding.
    shared
        Standard uncertainty that all readings share, of gauge and calibration.
    squares
        What the nested study says of the family.
    lent
        Whether the spread is borrowed from the other families, for want of blocks.
    grid
        The places of a block (`bore`, `place`) that at least half of the blocks were read at.
    minima
        The thinnest place of each block read at nine in ten places of the grid or more. A place
        known only not to lie above a value counts as lying there.
    """

    quantity: str
    family: str
    unit: str
    table: pd.DataFrame
    searched: pd.DataFrame
    bores: int
    step: float
    error_variance: float
    shared: float
    squares: NestedSquares
    lent: bool
    grid: pd.DataFrame = field(init=False)
    minima: pd.Series[float] = field(init=False)

    def __post_init__(self) -> None:
        """Find the grid, and how thin each block read nearly all over is."""
        object.__setattr__(self, "grid", self._grid())
        object.__setattr__(self, "minima", self._minima())

    @property
    def blocks(self) -> int:
        """How many blocks were read."""
        return int(self.table["block"].nunique())

    def _grid(self) -> pd.DataFrame:
        place, first = group_codes(self.table, ("bore", "place"))
        _, in_blocks = group_codes(self.table, ("bore", "place", "block"))
        blocks = np.bincount(place[in_blocks])
        return self.table[["bore", "place"]].iloc[first[blocks >= ON_GRID * self.blocks]]

    @property
    def read(self) -> pd.DataFrame:
        """All places not hunted for, those known only from above at the value they are below."""
        columns = ["block", "bore", "place", "value"]
        below = self.searched["below"].astype(bool)
        return pd.concat([self.table[columns], self.searched.loc[below, columns]])

    def _minima(self) -> pd.Series[float]:
        grid = set(self.grid.itertuples(index=False, name=None))
        read = self.read
        there = read[[pair in grid for pair in zip(read["bore"], read["place"], strict=True)]]
        block, names = pd.factorize(there["block"], sort=True)
        least = np.full(len(names), np.inf)
        np.minimum.at(least, block, there["value"].to_numpy(float))
        kept = np.bincount(block, minlength=len(names)) >= MOST_READ * len(grid)
        return pd.Series(least[kept], index=pd.Index(names[kept], name="block"), name="min")

    @property
    def censored(self) -> int:
        """How many places are known only not to lie above a value."""
        return int(self.searched["below"].sum())

    @property
    def keys(self) -> Keys:
        """The columns of bores and places, None where they tell nothing apart."""
        return _keys(self.table)


def family_places(
    cells: pd.DataFrame,
    settings: Settings,
    calibrations: Calibrations,
    quantity: str,
    unit: str,
) -> tuple[dict[str, FamilyPlaces], dict[str, str]]:
    """Give the places of each family, and of families that cannot be answered for the reason.

    A family of fewer than three blocks borrows the spread of the others.
    """
    mine = cells[cells["quantity"] == quantity]
    mine = mine[reached(mine, unit, calibrations)]
    try:
        places = gathered(mine, settings, quantity, calibrations, unit)
    except Refusal as refusal:
        why = ONLY_BELOW if (mine["contact"] == BELOW).any() else str(refusal)
        return {}, {str(family): why for family in mine["family"].unique()}
    table = _laid_out(places)
    known, refused = {}, {}
    for name in sorted(table["family"].unique()):
        family = str(name)
        try:
            known[family] = _one_family(family, table, places)
        except Refusal as refusal:
            refused[family] = str(refusal)
    return known, refused


def common_grid(table: pd.DataFrame) -> pd.DataFrame:
    """Keep blocks and places so that every block kept was read at every place kept.

    One after another the block or the place is dropped that lacks the largest share.
    """
    block, first_of_block = group_codes(table, ["block"])
    place, first_of_place = group_codes(table, ["bore", "place"])
    read = np.zeros((len(first_of_block), len(first_of_place)), dtype=bool)
    read[block, place] = table["value"].notna()
    blocks, places = (np.arange(count) for count in read.shape)
    while not (there := read[np.ix_(blocks, places)]).all():
        of_block, of_place = there.mean(axis=1), there.mean(axis=0)
        if of_block.min() <= of_place.min():
            blocks = np.delete(blocks, of_block.argmin())
        else:
            places = np.delete(places, of_place.argmin())
    return table[np.isin(block, blocks) & np.isin(place, places)]


def _laid_out(places: Places) -> pd.DataFrame:
    columns = ["family", "block", "bore", "station", "depth", "n", "place", "value"]
    return _labelled(places.places)[columns]


def _labelled(found: pd.DataFrame) -> pd.DataFrame:
    """Name each place by its station and depth; its mean is the `value`."""
    labels = found["station"].where(found["depth"] == "", found["station"] + ", " + found["depth"])
    labels = labels.where(found["station"] != "", found["depth"])
    return found.assign(place=labels, value=found["mean"])


def _keys(table: pd.DataFrame) -> Keys:
    bores = table.groupby("block")["bore"].nunique()
    return {
        "bore": "bore" if bores.max() > 1 else None,
        "place": "place" if len(table["place"].unique()) > 1 else None,
    }


def _one_family(family: str, table: pd.DataFrame, places: Places) -> FamilyPlaces:
    mine = table[table["family"] == family].reset_index(drop=True)
    squares, lent = _squares(family, mine, table)
    read = int(mine.groupby("block")["bore"].nunique().max())
    searched = _labelled(places.searched[places.searched["family"] == family])
    return FamilyPlaces(
        quantity=places.quantity,
        family=family,
        unit=places.unit,
        table=mine,
        searched=searched[["block", "bore", "place", "value", "below"]],
        bores=read,
        step=places.step,
        error_variance=places.reading_variance * float((1 / mine["n"]).mean()),
        shared=places.gauge_uncertainty,
        squares=squares,
        lent=lent,
    )


def _squares(family: str, mine: pd.DataFrame, table: pd.DataFrame) -> tuple[NestedSquares, bool]:
    blocks = mine["block"].nunique()
    if blocks == 1 and blocks == table["block"].nunique():
        raise Refusal(
            "too_few_blocks",
            f"One block does not tell how blocks vary; at least {FEWEST_BLOCKS} are needed.",
        )
    if blocks >= FEWEST_BLOCKS or len(table["family"].unique()) == 1:
        return nested_squares(mine, **_keys(mine)), False
    others: Mapping[str, NestedSquares] = pooled_squares(table, **_keys(table))
    return others[family], True


def block_values(places: FamilyPlaces) -> pd.Series[float]:
    """Give one number a block: the mean of its places, each place about the family's pattern."""
    at_place = places.table["place"].map(places.squares.pattern).fillna(0.0)
    return (places.table["value"] - at_place).groupby(places.table["block"]).mean()
