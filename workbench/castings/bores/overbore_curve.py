"""The wall left after any overbore: the curve between the sizes a list gives."""

from __future__ import annotations

import numpy as np
import pandas as pd

from workbench.castings.bores.boring import BoringAllowance
from workbench.castings.bores.boring_room import NO_OFFSET
from workbench.castings.bores.boring_together import least_left, offsets_for, sure
from workbench.records.units import factor

POINTS = 25
BEYOND = 1.2  # of the furthest overbore of interest
LEAST = 1.0  # mm: the curve is drawn to here even where there is no room


def overbore_curve(found: BoringAllowance, furthest: float | None = None) -> pd.DataFrame:
    """Give the least wall left in the block by overbore, about the best centres and the bores' own.

    Parameters
    ----------
    found
        The room for boring.
    furthest
        The largest overbore of interest, on the diameter; where left out, the largest size of the
        list or the room there is. The curve goes a little beyond it.

    Returns
    -------
    pandas.DataFrame
        A row an overbore: `overbore`; for `best` and `own` centres the median (`best`, `own`) and
        the wall that stays with the confidence (`best_sure`, `own_sure`), one-sided.
    """
    if furthest is None:
        furthest = max(size.oversize for size in found.sizes) if found.sizes else 0.0
        furthest = max(furthest, found.one_size, LEAST * factor("mm", found.unit))
    rows = []
    none = dict.fromkeys(found.rooms, NO_OFFSET)
    for overbore in np.linspace(0.0, BEYOND * furthest, POINTS).tolist():
        cut = overbore / 2
        moved = offsets_for(found.rooms, cut, found.offset_limit, found.clean_up, found.confidence)
        row = {"overbore": overbore}
        for name, offsets in (("best", moved), ("own", none)):
            left = least_left(found.rooms, cut, offsets)
            row |= {name: float(np.median(left)), f"{name}_sure": sure(left, found.confidence)}
        rows.append(row)
    return pd.DataFrame(rows)
