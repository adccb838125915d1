"""Which readings each calibration corrects: how many, and from where to where."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

from workbench.castings.calibration import Calibrations
from workbench.records.reduction import moments

if TYPE_CHECKING:
    from workbench.records.store import Records


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """The readings one calibration corrects: their number, least and greatest as shown, in `unit`.

    `low` and `high` are of one unit of those the readings are in: that of the calibration.
    """

    name: str
    unit: str
    readings: int
    low: float
    high: float


def calibration_uses(records: Records, calibrations: Calibrations) -> tuple[Use, ...]:
    """Give the use of each calibration, the most used first; one that corrects nothing has none."""
    found: dict[str, Use] = {}
    for key, cells in records.cells.groupby(["calibration", "gauge", "unit"]):
        name, gauge, unit = cast("tuple[str, str, str]", key)
        if calibrations.line_for(name, gauge, unit) is None:
            continue
        known = calibrations.by_name[name]
        shown = moments(cells, known.unit)
        low, high, n = shown["low"].min(), shown["high"].max(), int(shown["n"].sum())
        before = found.get(name)
        if before is not None:
            low, high, n = min(low, before.low), max(high, before.high), n + before.readings
        found[name] = Use(name=name, unit=known.unit, readings=n, low=float(low), high=float(high))
    return tuple(sorted(found.values(), key=lambda use: (-use.readings, use.name)))
