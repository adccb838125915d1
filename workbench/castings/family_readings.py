"""Every reading of a quantity as the interval it stands for, corrected, family by family.

A gauge that shows 4.57 in steps of 0.01 says "between 4.565 and 4.575"; a value written with "<",
or at the lower limit of its gauge, says "not above". Both ends go through the calibration, so that
a fit sees what was learnt of the iron and no more. So do the ends of what a gauge or the study
keeps at all.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import cast

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from workbench.castings.calibration import Calibrations
from workbench.castings.correction import corrected_values, reached
from workbench.castings.kept import kept_of
from workbench.errors import Refusal
from workbench.inference.distributions.readings import EVERYWHERE, Readings, Window
from workbench.records.columns import BELOW
from workbench.records.settings import Gauge, Settings
from workbench.records.store import Records
from workbench.records.truncation_table import Truncation, truncations_of
from workbench.records.units import factor

Values = NDArray[np.float64]

COLUMNS = ["block", "bore", "value", "low", "high", "n"]
KEPT = ["kept_low", "kept_high"]
ROUNDING = 1e-6  # of a step: what correcting may have done to an end
BY = ("family", "block", "bore", "station", "depth", "gauge", "calibration", "sampling", "contact")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FamilyReadings:
    """The readings of one quantity in one family, in `unit`.

    `table` has a row a distinct value of a bore: `block, bore, value, low, high, n`; `low` is minus
    infinity where the value is only known not to lie above `high`. `step` is the widest interval.
    Where the study states that not all was kept, `kept_low` and `kept_high` are the ends of what
    would have been of each, corrected as they are, and `why` holds what is stated.
    """

    quantity: str
    family: str
    unit: str
    table: pd.DataFrame
    step: float
    why: tuple[Truncation, ...] = ()

    @property
    def readings(self) -> Readings:
        """Give all readings together; refused where they are too few for a shape."""
        table = self.table
        window = table[KEPT].to_numpy(float) if self.truncated else EVERYWHERE
        return Readings.between(table["low"], table["high"], table["n"], window=window)

    @property
    def truncated(self) -> bool:
        """Tell whether some readings would not have been kept."""
        return "kept_low" in self.table

    @property
    def window(self) -> Window:
        """The range outside of which none of them would have been kept."""
        if not self.truncated or self.table.empty:
            return EVERYWHERE
        return float(self.table["kept_low"].min()), float(self.table["kept_high"].max())

    @property
    def shared(self) -> tuple[pd.DataFrame, Window]:
        """Give the rows within the range in which all of them would have been kept, and the range.

        What one gauge or calibration could show and another not is left out.
        """
        table = self.table
        if not self.truncated or table.empty:
            return table, EVERYWHERE
        window = float(table["kept_low"].max()), float(table["kept_high"].min())
        slack = ROUNDING * self.step
        low, high = table["low"].to_numpy(float), table["high"].to_numpy(float)
        inside = (low >= window[0] - slack) | np.isinf(low)
        inside &= (high <= window[1] + slack) & (high > window[0])
        return table[inside], window

    @property
    def size(self) -> int:
        """The number of readings."""
        return int(self.table["n"].sum())

    @property
    def censored(self) -> int:
        """The number of readings that are only known not to lie above their value."""
        return int(self.table.loc[np.isinf(self.table["low"]), "n"].sum())

    @property
    def blocks(self) -> int:
        """The number of blocks."""
        return int(self.table["block"].nunique())

    @property
    def nesting(self) -> tuple[str, ...]:
        """The groups that hold more than one reading, outermost first."""
        if self.size == self.blocks:
            return ()
        bores = self.table.groupby(["block", "bore"])["n"].sum()
        several = len(bores) > self.blocks and len(bores) < self.size
        return ("block", "bore") if several else ("block",)


def family_readings(
    records: Records, settings: Settings, calibrations: Calibrations, quantity: str, unit: str
) -> dict[str, FamilyReadings]:
    """Give the readings at places chosen before looking, with good contact, by family.

    Parameters
    ----------
    records, settings, calibrations
        The study's.
    quantity
        Its name.
    unit
        The unit of the answer; readings on a scale that does not reach it are left out.
    """
    values = records.values(quantity, by=BY)
    grid = (values["sampling"] == "grid") & values["contact"].isin(["good", BELOW])
    values = values[grid & reached(values, unit, calibrations)]
    if values.empty:
        return {}
    ends = _ends(values, settings.gauges)
    table = corrected_values(values.assign(**ends), unit, calibrations, quantity)
    kept = kept_of(values.assign(**ends), settings, quantity)
    if kept is not None:  # the ends of what was kept are corrected as readings are
        ranges = corrected_values(values.assign(**kept), unit, calibrations, quantity)
        table = table.assign(kept_low=ranges["low"], kept_high=ranges["high"])
    return {
        str(family): _one_family(str(family), rows, quantity, unit, settings)
        for family, rows in table.groupby("family", sort=True)
    }


def _one_family(
    family: str, rows: pd.DataFrame, quantity: str, unit: str, settings: Settings
) -> FamilyReadings:
    cut = "kept_low" in rows and bool(np.isfinite(rows[KEPT].to_numpy(float)).any())
    mine = rows[[*COLUMNS, *(KEPT if cut else ())]].reset_index(drop=True)
    widths = (mine["high"] - mine["low"]).to_numpy()
    known = np.isfinite(widths)
    return FamilyReadings(
        quantity=quantity,
        family=family,
        unit=unit,
        table=mine,
        step=float(widths[known].max()) if known.any() else float(rows["step"].max()),
        why=truncations_of(settings.truncations, quantity, family),
    )


def _ends(values: pd.DataFrame, gauges: Mapping[str, Gauge]) -> dict[str, Values]:
    """Give the ends of what each value stands for, in its own unit."""
    shown = (values["k"] / (1 / values["step"]).round()).to_numpy(float)
    width = values["step"].to_numpy(float, copy=True)
    for key, at in values.groupby(["gauge", "unit"], sort=False).indices.items():
        name, own = cast("tuple[str, str]", key)
        width[at] = np.maximum(width[at], _resolution(gauges.get(name), own))
    below = (values["contact"] == BELOW).to_numpy()
    return {
        "low": np.where(below, -np.inf, shown - width / 2),
        "high": np.where(below, shown, shown + width / 2),
    }


def _resolution(gauge: Gauge | None, unit: str) -> float:
    """Give the resolution stated for a gauge in `unit`; 0 where none is, or on another scale."""
    if gauge is None or gauge.resolution is None:
        return 0.0
    try:
        return float(gauge.resolution) * factor(gauge.unit or unit, unit)
    except Refusal:
        return 0.0
