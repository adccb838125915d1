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

Values = NDArray[np.float64]

PLACE = ["bore", "station", "depth"]
SHARED = 0.9  # of a block's places another must have for its thinnest to be compared


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
    """Give a figure of a block beside that of its family's other blocks.

    A mean is taken over places after the family's mean of each place is removed (and their common
    mean put back), so that a place left out moves nothing. The thinnest is the least over the
    block's own grid places, of the blocks that share nine in ten of them. The shift is the length
    of the mean shift of a block's bores.

    Raises
    ------
    Refusal
        `no_readings`, `no_shift` where the block has no such figure.
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
    table = _means(grid) if kind.taken == "mean" else _least(grid, block)
    return _split(table, block, kind, places.unit)


def _means(grid: pd.DataFrame) -> pd.Series[float]:
    at_place = grid.groupby(PLACE)["mean"].transform("mean")
    apart = (grid["mean"] - at_place).groupby(grid["block"]).mean()
    return apart + float(grid.groupby(PLACE)["mean"].mean().mean())


def _least(grid: pd.DataFrame, block: str) -> pd.Series[float]:
    own = grid.loc[grid["block"] == block, PLACE].drop_duplicates()
    shared = grid.merge(own, on=PLACE)
    found = shared.groupby("block")["mean"].agg(["min", "size"])
    return found.loc[found["size"] >= SHARED * len(own), "min"]


def _split(table: pd.Series[float], block: str, kind: FigureKind, unit: str) -> BlockAndOthers:
    if block not in table.index:
        raise Refusal("no_readings", f"There is no {kind.label} of {block}.")
    others = table.drop(block).to_numpy(np.float64, copy=True)
    return BlockAndOthers(value=float(table[block]), others=others.astype(np.float64), unit=unit)
