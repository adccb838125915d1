"""What each gauge may be out by, under each calibration, and which blocks it was out for.

Such an error does not average out with more readings or more blocks: it shifts every figure of a
family alike, and those of two families read with the same gauge together.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from workbench.castings.calibration import Calibrations
from workbench.castings.places import stated_uncertainty
from workbench.errors import Refusal
from workbench.inference.grouping import group_codes
from workbench.inference.measuring.calibration_line import CalibrationLine
from workbench.inference.samples import Values
from workbench.records.settings import Settings

Draw = Callable[[str, str], Values]


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeError:
    """The standard uncertainty of a gauge under a calibration ("" where none corrects it).

    `shares` is the share of its readings that each family owes to it.
    """

    gauge: str
    calibration: str
    uncertainty: float
    shares: dict[str, float]


def gauge_errors(
    shown: pd.DataFrame, settings: Settings, calibrations: Calibrations, unit: str
) -> tuple[GaugeError, ...]:
    """Gather what the gauges of one quantity may be out by, from its corrected readings.

    Readings without a calibration that can be used, or under one whose scatter is not known, carry
    the uncertainty stated for their gauge; none is taken where none is stated.
    """
    pair, first = group_codes(shown, ("calibration", "gauge"))
    family, families = pd.factorize(shown["family"], sort=True)
    readings = np.zeros((len(first), len(families)))
    np.add.at(readings, (pair, family), shown["n"].to_numpy(float))
    level = np.bincount(pair, weights=shown["mean"].to_numpy(float)) / np.bincount(pair)
    shares = readings / readings.sum(axis=0)
    used = zip(*(shown[name].iloc[first] for name in ("calibration", "gauge")), strict=True)
    found = []
    for at, (name, gauge) in enumerate(used):
        line = calibrations.line_for(name, gauge, unit)
        own = stated_uncertainty(settings.gauges.get(gauge), unit) or 0.0
        uncertainty = own if line is None else _of_line(line, float(level[at]), own)
        read = np.flatnonzero(readings[at])
        mine = {str(families[int(one)]): float(shares[at, one]) for one in read}
        calibration = "" if line is None else name
        found.append(
            GaugeError(gauge=gauge, calibration=calibration, uncertainty=uncertainty, shares=mine)
        )
    return tuple(found)


def _of_line(line: CalibrationLine, level: float, stated: float) -> float:
    """Give what a line shares with all it corrects, or where that is not known what is stated."""
    try:
        return float(line.shared_uncertainty(line.indicated(level)))
    except Refusal:
        return max(stated, line.reading_sd or 0.0)


def shift_of_family(errors: Sequence[GaugeError], family: str, draw: Draw, size: int) -> Values:
    """Give draws of what all readings of a family are out by, in the unit of the errors.

    `draw` gives standard normal numbers for a gauge and a calibration, the same whenever asked:
    one error for all that was read with it.
    """
    shift = np.zeros(size)
    for error in errors:
        share = error.shares.get(family, 0.0)
        if share and error.uncertainty:
            shift += share * error.uncertainty * draw(error.gauge, error.calibration)
    return shift
