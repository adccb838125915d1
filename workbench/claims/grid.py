"""The grid two families share: one value a place, and the blocks that were read all over it.

The thinnest of more readings is thinner, so blocks are compared at the places both families were
read at, and a block's raw least value counts only where nearly all of them were read.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from workbench.claims.evidence import SEPARATOR, Evidence
from workbench.errors import Refusal
from workbench.inference.samples import Values

NEARLY_ALL = 0.9  # of the places of the grid: a block read at fewer has too high a least value
PLACE = ("block", "bore", "place")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Grid:
    """Every place of every block once.

    `places` has the columns `family, block, bore, place, value, n`. `bores` is how many bores of a
    block were read (the commonest number; 1 where none are named), `points` how many places a bore.
    """

    places: pd.DataFrame
    bores: int
    points: int

    @property
    def size(self) -> int:
        """Places of a block."""
        return self.bores * self.points

    @property
    def words(self) -> str:
        """The grid in words."""
        if self.size == 1:
            return "one place of a block"
        if self.bores == 1:
            return f"{self.points} places of a block"
        each = "1 place" if self.points == 1 else f"{self.points} places"
        return f"{each} in each of {self.bores} bores"

    def whole(self, *, bores: bool = False) -> pd.DataFrame:
        """Give the places of the blocks (or of the bores) that were read nearly all over."""
        groups = self.places.groupby(["block", "bore"] if bores else ["block"])["value"]
        wanted = NEARLY_ALL * (self.points if bores else self.size)
        return self.places[groups.transform("size") >= wanted - 1e-9]

    def least(self, family: str) -> Values:
        """Give the least value of each block read nearly all over, one number a block."""
        whole = self.whole()
        mine = whole[whole["family"] == family]
        return mine.groupby("block")["value"].min().to_numpy(float)

    def left_out(self, family: str) -> int:
        """Count the blocks of a family that were read at too few places of the grid."""
        mine = self.places.loc[self.places["family"] == family, "block"].nunique()
        return mine - self.least(family).size


def shared_grid(evidence: Evidence) -> Grid:
    """Lay the readings of a comparison out by place: repeats and gauges of one place are averaged.

    Raises
    ------
    Refusal
        `incomplete_grid` where no block of a family was read nearly all over the grid.
    """
    cells = evidence.cells.assign(place=place_of(evidence.cells))
    cells["total"] = cells["n"] * cells["mean"]
    keys = ["family", *PLACE]
    places = cells.groupby(keys, as_index=False, sort=True)[["n", "total"]].sum()
    places["value"] = places["total"] / places["n"]
    bores = places.groupby("block")["bore"].nunique()
    grid = Grid(
        places=places.drop(columns="total"),
        bores=int(bores.mode().max()),
        points=places["place"].nunique(),
    )
    for family in (evidence.candidate, evidence.reference):
        if not grid.least(family).size:
            raise Refusal(
                "incomplete_grid",
                f"No block of {family} was read at nine tenths of the places both families share "
                f"({grid.words}), so where it is least cannot be compared.",
            )
    return grid


def place_of(cells: pd.DataFrame) -> pd.Series[str]:
    """Name the place of each cell within its bore, by station and depth."""
    return cells["station"] + SEPARATOR + cells["depth"]


def least_cells(evidence: Evidence) -> Values:
    """Give each cell's weight in the mean least value of candidate minus reference.

    A block's weight lies on the cells of its least place, by their readings.
    """
    cells = evidence.cells
    keys = [cells[name] for name in ("block", "bore", "station", "depth")]
    total = (cells["n"] * cells["mean"]).groupby(keys).transform("sum")
    count = cells["n"].groupby(keys).transform("sum")
    place = total / count
    at_least = place == place.groupby(cells["block"]).transform("min")
    share = cells["n"].where(at_least, 0.0)
    share = share / share.groupby(cells["block"]).transform("sum")
    blocks = cells.groupby("family")["block"].transform("nunique")
    sign = np.where(cells["family"] == evidence.candidate, 1.0, -1.0)
    return np.asarray(sign * share / blocks, dtype=float)
