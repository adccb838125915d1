"""The core shift of each bore as a reading: a length a claim may ask about.

A shift is a vector, and the length of a vector that was measured is too long on average: errors
point every way, and more of them lead away from the centre than towards it. So the length of each
bore is freed of what its own error adds (`VectorEstimate.size_corrected`); what remains is at most
`LEFT` errors, and that only for bores whose true shift is near 0.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from workbench.castings.bores.core_shift import CoreShifts
from workbench.castings.inspection import CORE_SHIFT
from workbench.records.reduction import CELL_KEY

LEFT = 0.76  # errors: the mean corrected length of a true 0, by simulation
SHORT = 2.0  # errors: beyond this the correction leaves less than 0.02 of one
FINER = 100  # of the walls' step is a step of a shift: it is the mean of many walls


@dataclass(frozen=True, slots=True, kw_only=True)
class ShortShifts:
    """How many of a family's `bores` show a shift within `SHORT` errors of none.

    `too_long` bounds by how much the family's mean can still be too long for it, in `unit`.
    """

    short: int
    bores: int
    too_long: float
    unit: str


def shift_cells(shifts: CoreShifts) -> pd.DataFrame:
    """Give the shift of every bore as a cell of the quantity `core_shift`, one reading each.

    The columns are those of the reduction: `CELL_KEY`, `step`, and whole numbers `n, s1, s2, kmin,
    kmax`. What the gauges share drops out of a shift, so `gauge` and `calibration` are empty.
    """
    known, error = _known(shifts)
    size = np.sqrt(np.maximum(0.0, known["x"] ** 2 + known["y"] ** 2 - error**2))
    step = shifts.step / FINER
    k = np.rint(size / step).astype(np.int64)
    fixed = dict.fromkeys(CELL_KEY, "") | {
        "quantity": CORE_SHIFT,
        "unit": shifts.unit,
        "sampling": "grid",
        "contact": "good",
    }
    text = {
        name: known[name].astype(str)
        if name in ("family", "block", "bore")
        else pd.Series(value, index=known.index, dtype="str")
        for name, value in fixed.items()
    }
    return pd.DataFrame(text).assign(step=step, n=1, s1=k, s2=k**2, kmin=k, kmax=k)


def short_shifts(shifts: CoreShifts) -> Mapping[str, ShortShifts]:
    """Give, by family, how far errors of measuring may still lengthen its mean shift."""
    known, error = _known(shifts)
    short = np.hypot(known["x"], known["y"]) < SHORT * error
    bound = np.where(short, LEFT * error, 0.0)
    table = pd.DataFrame({"family": known["family"], "short": short, "bound": bound})
    return {
        str(family): ShortShifts(
            short=int(own["short"].sum()),
            bores=len(own),
            too_long=float(own["bound"].mean()),
            unit=shifts.unit,
        )
        for family, own in table.groupby("family", sort=True)
    }


def _known(shifts: CoreShifts) -> tuple[pd.DataFrame, pd.Series[float]]:
    """Give the bores with a shift, and the error of its parts."""
    known = shifts.bores[shifts.bores["reason"] == ""].reset_index(drop=True)
    return known, np.sqrt((known["vxx"] + known["vyy"]) / 2)
