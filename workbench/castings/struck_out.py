"""What became of every row read: rejected, kept out of the means and why, corrected or as shown."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from workbench.castings.calibration import Calibrations
from workbench.castings.correction import reached
from workbench.records.columns import BELOW
from workbench.records.settings import Settings

if TYPE_CHECKING:
    from workbench.records.store import Records


@dataclass(frozen=True, slots=True, kw_only=True)
class Fate:
    """How many readings met one fate, and why; together they are all rows read."""

    name: str
    readings: int
    why: str


def fates(records: Records, settings: Settings, calibrations: Calibrations) -> tuple[Fate, ...]:
    """Count every row once, under the first reason that holds for it."""
    cells = records.cells
    conditions = (
        (
            "doubtful contact",
            ~cells["contact"].isin(["good", BELOW]),
            "the contact was doubtful: in no mean and no thinnest place",
        ),
        (
            "not above what was written",
            cells["contact"] == BELOW,
            "at the lower limit of the gauge, or written with “<”: in no mean",
        ),
        ("searched", cells["sampling"] == "search", "the place was hunted for: in no mean"),
        (
            "on another hardness scale",
            _other_scale(cells, settings, calibrations),
            "kept on its own scale, for no conversion holds for grey iron: in no mean of the other",
        ),
    )
    left = np.ones(len(cells), dtype=bool)
    n = cells["n"].to_numpy()
    found = [Fate(name="rejected", readings=records.rejected, why="the row has a fault")]
    for name, where, why in conditions:
        met = where.to_numpy() & left
        found.append(Fate(name=name, readings=int(n[met].sum()), why=why))
        left &= ~met
    corrected = _corrected(cells, settings, calibrations) & left
    as_shown = int(n[left & ~corrected].sum())
    found += [
        Fate(
            name="in the means, corrected",
            readings=int(n[corrected].sum()),
            why="by a calibration, or by a correlation of the study's own",
        ),
        Fate(name="in the means, as shown", readings=as_shown, why="under no usable calibration"),
    ]
    return tuple(found)


def _other_scale(
    cells: pd.DataFrame, settings: Settings, calibrations: Calibrations
) -> pd.Series[bool]:
    """Mark the readings of a hardness off its scale, where others are on it."""
    marked = pd.Series(False, index=cells.index)
    for name, known in settings.quantities.items():
        mine = cells[cells["quantity"] == name]
        if known.kind == "hardness" and len(mine):
            on_scale = reached(mine, known.unit, calibrations)
            if on_scale.any():
                marked[mine.index[~on_scale]] = True
    return marked


def _corrected(cells: pd.DataFrame, settings: Settings, calibrations: Calibrations) -> np.ndarray:
    """Mark the readings that a calibration or a correlation corrects."""
    marked = np.zeros(len(cells), dtype=bool)
    units = {name: known.unit for name, known in settings.quantities.items()}
    keys = ["quantity", "calibration", "gauge", "unit"]
    for key, at in cells.groupby(keys, sort=False).indices.items():
        quantity, calibration, gauge, unit = (str(part) for part in key)  # type: ignore[attr-defined]
        marked[at] = (
            calibrations.line_for(calibration, gauge, unit) is not None
            or calibrations.correlation_for(gauge, unit, units.get(quantity, unit)) is not None
        )
    return marked
