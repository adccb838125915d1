"""Readings at places read more than once: what gauges and operators can be compared by."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from workbench.castings.calibration import Calibrations
from workbench.castings.correction import corrected_values, reached
from workbench.inference.grouping import group_codes
from workbench.records.settings import Settings

if TYPE_CHECKING:
    from workbench.records.store import Records

PLACE = ["block", "bore", "station", "depth"]
KEYS = [*PLACE, "gauge", "calibration", "operator", "sampling", "contact"]


def repeated_readings(
    records: Records, settings: Settings, calibrations: Calibrations
) -> dict[str, pd.DataFrame]:
    """Give by quantity the readings at places read more than once, one a row, corrected.

    The columns are `part` (a number for each place), the columns of the place, `gauge`, `operator`,
    `value` and `step`; grid places and good contact only. Features are seen by eye and have none.
    """
    met = set(records.cells["quantity"])
    return {
        name: _of_quantity(records, name, known.unit, calibrations)
        for name, known in settings.quantities.items()
        if name in met and known.kind != "feature"
    }


def _of_quantity(
    records: Records, quantity: str, unit: str, calibrations: Calibrations
) -> pd.DataFrame:
    values = records.values(quantity, by=KEYS)
    values = values[(values["sampling"] == "grid") & (values["contact"] == "good")]
    place, _ = group_codes(values, PLACE)
    again = np.bincount(place, values["n"].to_numpy(float))[place] > 1
    values = values[again].assign(part=place[again])
    values = values[reached(values, unit, calibrations)]
    if values.empty:
        return values.assign(value=0.0)
    values["part"] = np.unique(values["part"], return_inverse=True)[1]
    found = corrected_values(values, unit, calibrations, quantity)
    return found.loc[found.index.repeat(found["n"])].reset_index(drop=True)
