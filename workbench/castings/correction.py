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
from workbench.castings.correlation import Correlation
from workbench.inference.grouping import distinct
from workbench.inference.measuring.calibration_line import CalibrationLine
from workbench.records.reduction import moments
from workbench.records.units import factor

AT = ("mean", "low", "high", "value")  # places on the scale: (shown - zero) / slope
ENDS = ("low", "high")
WIDTHS = {"step": 1, "ss": 2}  # and the power of the slope they are divided by
ROUNDING = 1e-9  # of a number: what turning units may have done to its last digits


def corrected_moments(cells: pd.DataFrame, unit: str, calibrations: Calibrations) -> pd.DataFrame:
    """Give the moments of cells in `unit`, corrected: see `corrected` and `reduction.moments`.

    Cells on a scale that has no factor to `unit` go through the study's correlation. Masses have
    the missing parts of their block added; `completed` names that block.

    Raises
    ------
    Refusal
        `unit_mismatch` or `hardness_scale` where a cell can be given in `unit` in no way.
    """
    through = correlated_by(cells, unit, calibrations)
    if not (through != "").any():
        found = corrected(moments(cells, unit), unit, calibrations)
    else:
        parts = []
        for name, at in cells.groupby(through, sort=False).indices.items():
            mine = cells.iloc[at]
            known = calibrations.correlations.get(str(name))
            if known is None:
                part = corrected(moments(mine, unit), unit, calibrations)
            else:
                part = converted(moments(mine, known.shown), known)
            parts.append(part.set_axis(at, axis="index"))
        found = pd.concat(parts).sort_index()
    return calibrations.allowances.added(found, unit)


def corrected_values(
    values: pd.DataFrame, unit: str, calibrations: Calibrations, quantity: str
) -> pd.DataFrame:
    """Give distinct values in `unit`, corrected as `corrected_moments` corrects.

    `values` are those of `Records.values` by `gauge`, `calibration` and, where masses lack parts,
    `block`; all must be `reached`. `low` and `high`, where they are there, are ends in the unit of
    their row. What comes back has `value`, `step` and these ends in `unit`: the step is that of the
    display, of what is read off it and not of what it means.
    """
    through = correlated_by(values, unit, calibrations)
    scale = np.ones(len(values))
    plain = (through == "").to_numpy()
    for own in values.loc[plain, "unit"].unique():
        scale[plain & (values["unit"] == own).to_numpy()] = factor(own, unit)
    whole = (1 / values["step"]).round()  # steps are 10**-d: k / 10**d is nearer than k * step
    ends = {name: values[name] * scale for name in ENDS if name in values}
    shown = values.assign(value=values["k"] / whole * scale, step=values["step"] * scale, **ends)
    parts = [corrected(shown[plain], unit, calibrations).assign(step=shown.loc[plain, "step"])]
    parts += [
        converted(shown[through == name], calibrations.correlations[name])
        for name in through[~plain].unique()
    ]
    found = pd.concat([part for part in parts if len(part)] or parts).sort_index()
    if "block" not in found:
        return found
    return calibrations.allowances.added(found.assign(quantity=quantity), unit)


def reached(shown: pd.DataFrame, unit: str, calibrations: Calibrations) -> pd.Series[bool]:
    """Tell for each row (`gauge`, `unit`) whether its readings can be given in `unit`."""
    answer = pd.Series(True, index=shown.index)
    for gauge, own in distinct(shown, ("gauge", "unit")):
        if not calibrations.reaches(gauge, own, unit):
            answer &= (shown["gauge"] != gauge) | (shown["unit"] != own)
    return answer


def correlated_by(shown: pd.DataFrame, unit: str, calibrations: Calibrations) -> pd.Series[str]:
    """Name for each row (`gauge`, `unit`) the correlation that turns it into `unit`, or ""."""
    names = pd.Series("", index=shown.index, dtype=shown["unit"].dtype)
    if not calibrations.correlations:
        return names
    for gauge, own in distinct(shown, ("gauge", "unit")):
        known = calibrations.correlation_for(gauge, own, unit)
        if known is not None and own != unit:
            names[(shown["gauge"] == gauge) & (shown["unit"] == own)] = known.name
    return names


def converted(shown: pd.DataFrame, by: Correlation) -> pd.DataFrame:
    """Turn readings as shown on one hardness scale into values on another; see `corrected`."""
    assert by.line is not None
    there = {name: by.line.corrected(shown[name].to_numpy(float)) for name in AT if name in shown}
    beyond = np.zeros(len(shown), dtype=bool)
    for name in there:
        beyond |= beyond_pieces(by.line, shown[name].to_numpy(float))
    widths = {
        name: shown[name].to_numpy(float) / by.line.slope**power
        for name, power in WIDTHS.items()
        if name in shown
    }
    names = pd.Series(by.name, index=shown.index, dtype=shown["gauge"].dtype)
    unit = {"unit": by.to} if "unit" in shown else {}
    return shown.assign(**there, **widths, **unit, corrected_by=names, extrapolated=beyond)


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
    """Tell which of the values a gauge showed lie outside what its calibration covers.

    An end that is open was not shown.
    """
    known = np.isfinite(shown)
    at = np.where(known, shown, line.low)
    slack = ROUNDING * np.abs(at)
    return np.asarray(known & ((at + slack < line.low) | (at - slack > line.high)))
