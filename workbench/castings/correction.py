"""Readings corrected by their calibrations; those without one stay as shown.

Cells and their exact sums are never changed: what is corrected are the means, ends and values made
from them, so a calibration applied and undone gives back what the gauge showed.
"""

from __future__ import annotations

from typing import cast

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from workbench.castings.calibration import Calibrations
from workbench.inference.calibration_line import CalibrationLine
from workbench.records.reduction import moments

AT = ("mean", "low", "high", "value")  # places on the scale: (shown - zero) / slope
WIDTHS = {"step": 1, "ss": 2}  # and the power of the slope they are divided by
ROUNDING = 1e-9  # of a number: what turning units may have done to its last digits


def corrected_moments(cells: pd.DataFrame, unit: str, calibrations: Calibrations) -> pd.DataFrame:
    """Give the moments of cells in `unit`, corrected: see `corrected` and `reduction.moments`."""
    return corrected(moments(cells, unit), unit, calibrations)


def corrected(shown: pd.DataFrame, unit: str, calibrations: Calibrations) -> pd.DataFrame:
    """Turn what gauges showed into the values behind it.

    Parameters
    ----------
    shown
        The columns `calibration` and `gauge`, and any of `mean`, `low`, `high` and `value` (in
        `unit`), `step` (in `unit`) and `ss` (in its square).
    unit
        The unit of the numbers.
    calibrations
        The study's.

    Returns
    -------
    pandas.DataFrame
        A copy with the numbers corrected. `corrected_by` names the calibration, "" where a number
        stands as shown; `extrapolated` tells where a corrected one lies beyond the pieces.
    """
    there = [column for column in AT if column in shown]
    numbers = {name: shown[name].to_numpy(float, copy=True) for name in there}
    widths = {name: shown[name].to_numpy(float, copy=True) for name in WIDTHS if name in shown}
    names, beyond = shown["calibration"].to_numpy(copy=True), np.zeros(len(shown), dtype=bool)
    for key, at in shown.groupby(["calibration", "gauge"], sort=False).indices.items():
        name, gauge = cast("tuple[str, str]", key)
        line = calibrations.line_for(name, gauge, unit)
        if line is None:
            names[at] = ""
            continue
        for column in there:
            beyond[at] |= beyond_pieces(line, numbers[column][at])
            numbers[column][at] = line.corrected(numbers[column][at])
        for column in widths:
            widths[column][at] /= line.slope ** WIDTHS[column]
    return shown.assign(
        **numbers,
        **widths,
        corrected_by=pd.Series(names, index=shown.index, dtype=shown["calibration"].dtype),
        extrapolated=beyond,
    )


def beyond_pieces(line: CalibrationLine, shown: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Tell which of the values a gauge showed lie outside what its calibration covers."""
    slack = ROUNDING * np.abs(shown)
    return np.asarray((shown + slack < line.low) | (shown - slack > line.high))
