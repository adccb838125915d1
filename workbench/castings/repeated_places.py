"""Readings at places read more than once: what gauges and operators can be compared by."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from workbench.castings.calibration import Calibrations
from workbench.castings.correction import corrected_values, reached
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
    cells = records.cells
    sound = (cells["sampling"] == "grid") & (cells["contact"] == "good")
    mine = cells[sound & (cells["quantity"] == quantity)]
    read = mine.groupby(PLACE, as_index=False)["n"].sum()
    again = read.loc[read["n"] > 1, PLACE]
    values = records.values(quantity, by=KEYS)
    values = values[(values["sampling"] == "grid") & (values["contact"] == "good")]
    values = values[reached(values, unit, calibrations)].merge(again, on=PLACE)
    if values.empty:
        return values.assign(part=0, value=0.0)
    found = corrected_values(values, unit, calibrations, quantity)
    found["part"] = found.groupby(PLACE).ngroup()
    return found.loc[found.index.repeat(found["n"])].reset_index(drop=True)
