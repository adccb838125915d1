"""The grid two families share: one value a place, and the blocks that were read all over it.

The thinnest of more readings is thinner, so blocks are compared at the places both families were
read at, and a block's raw least value counts only where nearly all of them were read.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from workbench.claims.evidence import SEPARATOR, Evidence
from workbench.errors import Refusal
from workbench.inference.grouping import group_codes
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
    _least: dict[str, pd.Series[float]] = field(init=False, repr=False, default_factory=dict)

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
        groups, _ = group_codes(self.places, ("block", "bore") if bores else ("block",))
        wanted = NEARLY_ALL * (self.points if bores else self.size)
        return self.places[np.bincount(groups)[groups] >= wanted - 1e-9]

    def least(self, family: str) -> pd.Series[float]:
        """Give the least value of each block of a family read nearly all over, by block."""
        if not self._least:
            whole = self.whole()
            blocks, first = group_codes(whole, ("family", "block"))
            least = np.full(len(first), np.inf)
            np.minimum.at(least, blocks, whole["value"].to_numpy(float))
            of_blocks = pd.Series(least, index=whole["block"].iloc[first])
            families = whole["family"].iloc[first].to_numpy()
            for name in self.places["family"].unique():
                self._least[name] = of_blocks[families == name]
        return self._least[family]

    def left_out(self, family: str) -> int:
        """Count the blocks of a family that were read at too few places of the grid."""
        mine = self.places["block"][(self.places["family"] == family).to_numpy()].nunique()
        return mine - self.least(family).size


def shared_grid(evidence: Evidence) -> Grid:
    """Lay the readings of a comparison out by place: repeats and gauges of one place are averaged.

    Raises
    ------
    Refusal
        `incomplete_grid` where no block of a family was read nearly all over the grid.
    """
    cells = evidence.cells.assign(place=place_of(evidence.cells))
    keys = ["family", *PLACE]
    codes, first = group_codes(cells, keys)
    n = np.bincount(codes, cells["n"])
    total = np.bincount(codes, cells["n"] * cells["mean"])
    places = cells[keys].iloc[first].reset_index(drop=True)
    bores = places.iloc[group_codes(places, ("block", "bore"))[1]]
    grid = Grid(
        places=places.assign(n=n.astype(np.int64), value=total / n),
        bores=int(bores["block"].value_counts().mode().max()),
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
    n = cells["n"].to_numpy(float)
    places, _ = group_codes(cells, ("block", "bore", "station", "depth"))
    blocks, first = group_codes(cells, ("block",))
    place = (np.bincount(places, n * cells["mean"]) / np.bincount(places, n))[places]
    least = np.full(len(first), np.inf)
    np.minimum.at(least, blocks, place)
    share = np.where(place == least[blocks], n, 0.0)
    share /= np.bincount(blocks, share)[blocks]
    ours = (cells["family"] == evidence.candidate).to_numpy()
    return np.asarray(
        np.where(ours, share / ours[first].sum(), -share / (~ours[first]).sum()), dtype=float
    )
