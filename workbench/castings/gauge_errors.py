"""What each gauge may be out by, under each calibration, and which blocks it was out for.

Such an error does not average out with more readings or more blocks: it shifts every figure of a
family alike, and those of two families read with the same gauge together.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import cast

import numpy as np
import pandas as pd

from workbench.castings.calibration import Calibrations
from workbench.castings.places import stated_uncertainty
from workbench.errors import Refusal
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
    totals = _readings(shown)
    return tuple(
        GaugeError(
            gauge=gauge,
            calibration=calibration,
            uncertainty=uncertainty,
            shares={family: n / totals[family] for family, n in _readings(rows).items()},
        )
        for gauge, calibration, uncertainty, rows in _each(shown, settings, calibrations, unit)
    )


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


def _readings(shown: pd.DataFrame) -> dict[str, float]:
    counts = shown.groupby("family")["n"].sum()
    return dict(zip(counts.index.astype(str), counts.to_numpy(float).tolist(), strict=True))


def _each(
    shown: pd.DataFrame, settings: Settings, calibrations: Calibrations, unit: str
) -> Iterator[tuple[str, str, float, pd.DataFrame]]:
    for key, rows in shown.groupby(["calibration", "gauge"], sort=True):
        name, gauge = cast("tuple[str, str]", key)
        line = calibrations.line_for(name, gauge, unit)
        own = stated_uncertainty(settings.gauges.get(gauge), unit) or 0.0
        if line is not None:
            middle = line.indicated(float(rows["mean"].mean()))
            try:
                own = float(line.shared_uncertainty(middle))
            except Refusal:
                own = max(own, line.reading_sd or 0.0)
        yield gauge, "" if line is None else name, own, rows
