"""The figures of every block: one number a block and quantity, like compared with like."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from workbench.castings.bores.shift_of_family import block_shifts
from workbench.castings.inspection import DECK, HARDNESS, MASS, Inspection
from workbench.castings.places import WALL
from workbench.errors import Refusal
from workbench.inference.grouping import Codes, group_codes
from workbench.inference.means.additive import group_effects

Values = NDArray[np.float64]

PLACE = ("bore", "station", "depth")
HALF, NEARLY_ALL = 0.5, 0.9  # of a block's places another must have: for its mean, its thinnest
FEWEST_OTHERS = 2
WERE_READ = (
    "no other block of its family was read",
    "one other block of its family was read",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class FigureKind:
    """A figure: its name, its label, the quantity it is of, and how it is taken from the places."""

    name: str
    label: str
    quantity: str
    taken: str


KINDS = (
    FigureKind(name="mean_wall", label="mean wall", quantity=WALL, taken="mean"),
    FigureKind(name="thinnest", label="thinnest wall read", quantity=WALL, taken="least"),
    FigureKind(name="deck", label="mean deck", quantity=DECK, taken="mean"),
    FigureKind(name="hardness", label="mean hardness", quantity=HARDNESS, taken="mean"),
    FigureKind(name="core_shift", label="core shift", quantity=WALL, taken="shift"),
    FigureKind(name="mass", label="mass", quantity=MASS, taken="mean"),
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BlockAndOthers:
    """The figure of one block and of the other blocks of its family, in `unit`."""

    value: float
    others: Values
    unit: str


def block_and_others(inspection: Inspection, block: str, kind: FigureKind) -> BlockAndOthers:
    """Give a figure of a block beside that of its family's other blocks, like with like.

    A mean is taken over the block's own places, of the blocks that share half of them, each freed
    of which places it lacks. Walls read all round count by their mean at each depth of a bore, so
    that blocks read at unlike angles compare. The thinnest is the least over the block's own grid
    places, of the blocks that share nine in ten of them. The shift is the length of the mean shift
    of a block's bores.

    Raises
    ------
    Refusal
        `no_readings`, `no_shift` where the block has no such figure; `no_others` where fewer than
        two other blocks were read at its places.
    """
    family = inspection.family(block)
    if kind.taken == "shift":
        shifts = inspection.core_shifts()
        table = block_shifts(shifts.of_family(family)).set_index("block")["size"]
        return _split(table, block, kind, shifts.unit)
    places = inspection.of(kind.quantity).of_family(family)
    grid = places.places
    if not (grid["block"] == block).any():
        raise Refusal("no_readings", f"There is no {kind.label} of {block}.")
    if kind.taken == "least":
        return _split(_least(grid, block), block, kind, places.unit)
    rounds = _rounds(inspection, family) if kind.quantity == WALL else grid
    if (rounds["block"] == block).any():
        grid = rounds
    return _split(_means(grid, block), block, kind, places.unit)


def _rounds(inspection: Inspection, family: str) -> pd.DataFrame:
    """Give the mean wall of each bore at each depth that was read all round."""
    if inspection.shifts is None:
        return pd.DataFrame({"block": []})
    depths = inspection.shifts.of_family(family).depths
    known = depths.loc[depths["reason"] == "", ["block", "bore", "depth", "wall"]]
    return known.rename(columns={"wall": "mean"}).assign(station="")


def _means(grid: pd.DataFrame, block: str) -> pd.Series[float]:
    alike, place = _alike(grid, block, HALF)
    group, names = pd.factorize(alike["block"])
    values = alike["mean"].to_numpy(float)
    level = np.bincount(place, weights=values) / np.bincount(place)
    effects = group_effects(values, group.astype(np.int64), place)
    return pd.Series(effects + level.mean(), index=pd.Index(names))


def _least(grid: pd.DataFrame, block: str) -> pd.Series[float]:
    return _alike(grid, block, NEARLY_ALL)[0].groupby("block")["mean"].min()


def _alike(grid: pd.DataFrame, block: str, share: float) -> tuple[pd.DataFrame, Codes]:
    """Give the places of a block, of the blocks read at that share of them, and their numbers."""
    place, _ = group_codes(grid, PLACE)
    each, _ = pd.factorize(grid["block"])
    own = np.unique(place[(grid["block"] == block).to_numpy()])
    shared = np.isin(place, own)
    read = np.bincount(each[shared], minlength=len(grid))
    kept = shared & (read[each] >= share * len(own))
    return grid[kept], np.searchsorted(own, place[kept])


def _split(table: pd.Series[float], block: str, kind: FigureKind, unit: str) -> BlockAndOthers:
    if block not in table.index:
        raise Refusal("no_readings", f"There is no {kind.label} of {block}.")
    others = table.drop(block).to_numpy(np.float64, copy=True).astype(np.float64)
    if others.size < FEWEST_OTHERS:
        raise Refusal(
            "no_others",
            f"The {kind.label} of {block} cannot be placed: {WERE_READ[others.size]} where it was, "
            f"and at least {FEWEST_OTHERS} are needed.",
        )
    return BlockAndOthers(value=float(table[block]), others=others, unit=unit)
