"""From the readings of one calibration, and what the study states of it, to its line."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from workbench.errors import Refusal
from workbench.inference.measuring.calibration_fit import known_speed, line, ratio
from workbench.inference.measuring.calibration_line import (
    CalibrationLine,
    LineCovariance,
    ReferenceError,
)
from workbench.inference.measuring.errors_in_variables import york
from workbench.records.calibration_table import StatedCalibration, Temperature
from workbench.records.settings import Gauge
from workbench.records.units import factor

UNEVEN = 3.0  # uncertainties of pieces that differ more are weighed by the fit
LEAST_FOR_UNEVEN = 3

Values = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PieceReadings:
    """What one calibration's gauge showed on its pieces, all in `unit`, one entry a reading.

    `pieces` names the piece of each reading; an uncertainty not stated is 0. `step` is the
    resolution of the gauge, or else the finest decimal the readings are written with.
    `piece_named` tells that the table names the pieces itself.
    """

    name: str
    unit: str
    reference: Values
    indicated: Values
    uncertainty: Values
    pieces: tuple[str, ...]
    part: tuple[str, ...]
    step: float
    piece_named: bool
    uncertainty_stated: bool

    def only(self, kept: NDArray[np.bool_]) -> PieceReadings:
        """Give some of the readings."""
        at = np.flatnonzero(kept)
        return replace(
            self,
            reference=self.reference[at],
            indicated=self.indicated[at],
            uncertainty=self.uncertainty[at],
            pieces=tuple(self.pieces[i] for i in at),
            part=tuple(self.part[i] for i in at),
        )

    @property
    def references(self) -> int:
        """How many different references were read."""
        return int(np.unique(self.reference).size)


def piece_readings(name: str, rows: pd.DataFrame, gauge: Gauge | None) -> PieceReadings:
    """Bring the rows of one calibration to the unit of the first.

    A piece is known by its name, else by its material; with its reference, because a step piece
    has several. A piece without either belongs to this calibration alone.

    Raises
    ------
    Refusal
        `unit_mismatch` or `hardness_scale` where the rows are not of one kind.
    """
    units, labels, iron = (rows[name].tolist() for name in ("unit", "piece", "material"))
    unit = str(units[0])
    scales = {own: factor(own, unit) for own in dict.fromkeys(units)}
    scale = np.array([scales[own] for own in units])
    references = rows["reference"].tolist()
    pieces = tuple(
        f"piece {label or material or f'of {name}'}, {reference:.9g} {own}"
        for label, material, reference, own in zip(labels, iron, references, units, strict=True)
    )
    given = rows["reference_uncertainty"].to_numpy(float) * scale
    known: dict[str, float] = {}
    for piece, u in zip(pieces, given, strict=True):
        if not math.isnan(u):
            known[piece] = max(u, known.get(piece, 0.0))
    filled = [known.get(piece, 0.0) for piece in pieces]
    step = float((rows["step"].to_numpy(float) * scale).min())
    if gauge is not None and gauge.resolution is not None:
        step = gauge.resolution * factor(gauge.unit or unit, unit)
    return PieceReadings(
        name=name,
        unit=unit,
        reference=np.array(references) * scale,
        indicated=rows["indicated"].to_numpy(float) * scale,
        uncertainty=np.where(np.isnan(given), filled, given),
        pieces=pieces,
        part=tuple(rows["part"]),
        step=step,
        piece_named=all(labels),
        uncertainty_stated=all(piece in known for piece in pieces),
    )


def line_of(readings: PieceReadings, stated: StatedCalibration) -> CalibrationLine:
    """Fit the line of one calibration: a ratio to one reference, a line through several.

    Raises
    ------
    Refusal
        `one_reference` where one reference is repeated and nothing says that a ratio is meant;
        `several_references` for a ratio to more than one; `zero_not_assumed` for the uncertainty
        of an assumed zero where the line finds it; `slope_not_positive`, `bad_uncertainty`.
    """
    if _is_ratio(readings, stated):
        fitted = _ratio(readings, stated, None)
        least = least_scatter(readings)
        if fitted.reading_sd is None or fitted.reading_sd < least:
            fitted = _ratio(readings, stated, least)
    else:
        if stated.zero_uncertainty is not None:
            raise Refusal(
                "zero_not_assumed",
                "Several references find the zero; no uncertainty of an assumed one belongs to it.",
            )
        fitted = _line(readings)
    require_rise(fitted)
    return warmed(fitted, readings.name, stated.temperature)


def speed_line(name: str, stated: StatedCalibration) -> CalibrationLine:
    """Give the line of a gauge set to one speed of sound where the true one is known."""
    assert stated.set_speed is not None
    assert stated.true_speed is not None
    known = known_speed(
        set_to=stated.set_speed,
        true=stated.true_speed,
        true_uncertainty=stated.speed_uncertainty or 0.0,
        zero_uncertainty=stated.zero_uncertainty or 0.0,
        speed=f"speed of {name}",
        zero=f"zero of {name}",
    )
    return warmed(known, name, stated.temperature)


def least_scatter(readings: PieceReadings) -> float:
    """Give the least a reading scatters: a uniform error of one step (JCGM 100, F.2.2.1)."""
    return readings.step / math.sqrt(12)


def warmed(fitted: CalibrationLine, name: str, temperature: Temperature | None) -> CalibrationLine:
    """Carry a line to iron of another temperature than that of the pieces.

    Time of flight is what the gauge measures, so a thickness is shown smaller by as much as sound
    is faster: the slope is divided by the change of speed, as are its errors. The zero stays.
    """
    if temperature is None:
        return fitted
    change = temperature.change
    degrees = temperature.read_at - temperature.calibrated_at
    error = math.hypot(
        temperature.coefficient * temperature.uncertainty,
        degrees * temperature.coefficient_uncertainty,
    )
    scatter = fitted.scatter_covariance
    return replace(
        fitted,
        slope=fitted.slope / change,
        scatter_covariance=None
        if scatter is None
        else LineCovariance(
            zero=scatter.zero, slope=scatter.slope / change**2, both=scatter.both / change
        ),
        reference_errors=(
            *(replace(of, slope=of.slope / change) for of in fitted.reference_errors),
            ReferenceError(
                source=f"temperature of {name}", zero=0.0, slope=-fitted.slope * error / change**2
            ),
        ),
    )


def _is_ratio(readings: PieceReadings, stated: StatedCalibration) -> bool:
    """Tell a ratio from a line; one reference read again could be either with a slip of the pen."""
    references, count = readings.references, readings.reference.size
    if stated.method == "ratio" and references > 1:
        raise Refusal(
            "several_references", f"A ratio is to one reference; there are {references} of them."
        )
    repeats = readings.piece_named and len(set(readings.pieces)) == 1
    guess = stated.method is None and references == 1 < count and not repeats
    if guess or (stated.method == "line" and references == 1):
        raise Refusal(
            "one_reference",
            f"There is one reference only ({readings.reference[0]:g} {readings.unit}), in {count} "
            f"reading{'' if count == 1 else 's'}; a slope and a zero need two. Where one piece "
            "was read, name it in the column “piece”, or state method = “ratio”.",
        )
    return stated.method == "ratio" or (stated.method is None and references == 1)


def require_rise(fitted: CalibrationLine) -> None:
    """Refuse a slope within twice its standard uncertainty of 0: it says nothing of a reading."""
    error = math.sqrt(fitted.covariance().slope)
    if fitted.slope <= 2 * error:
        raise Refusal(
            "slope_not_positive",
            f"The indicated values must rise with the reference; their slope is "
            f"{fitted.slope:.3g} with a standard uncertainty of {error:.3g}.",
        )


def _ratio(
    readings: PieceReadings, stated: StatedCalibration, repeatability: float | None
) -> CalibrationLine:
    of_zero = stated.zero_uncertainty or 0.0
    return ratio(
        float(readings.reference[0]),
        readings.indicated,
        reference_uncertainty=float(readings.uncertainty.max()),
        zero_uncertainty=of_zero * factor(stated.unit or readings.unit, readings.unit),
        repeatability=repeatability,
        piece=readings.pieces[0],
        zero=f"zero of {readings.name}",
    )


def _line(readings: PieceReadings) -> CalibrationLine:
    """Fit slope and zero; by both coordinates' uncertainties where those of the pieces differ."""

    def fit(repeatability: float | None) -> CalibrationLine:
        return line(
            readings.reference,
            readings.indicated,
            reference_uncertainty=readings.uncertainty,
            repeatability=repeatability,
            pieces=readings.pieces,
        )

    fitted, least = fit(None), least_scatter(readings)
    if fitted.reading_sd is None or fitted.reading_sd < least:
        fitted = fit(least)
    u = readings.uncertainty
    uneven = float(u.max()) > UNEVEN * float(u.min())
    if not uneven or fitted.pieces < LEAST_FOR_UNEVEN:
        return fitted
    assert fitted.reading_sd is not None
    return _weighed(readings, fitted.reading_sd, fitted.low, fitted.high)


def _weighed(readings: PieceReadings, sd: float, low: float, high: float) -> CalibrationLine:
    """Fit to the means of the pieces, each weighed by its own uncertainty and its repeats."""
    _, first, piece, count = np.unique(
        np.array(readings.pieces), return_index=True, return_inverse=True, return_counts=True
    )
    means = np.bincount(piece, readings.indicated) / count
    found = york(readings.reference[first], means, readings.uncertainty[first], sd / np.sqrt(count))
    fitted = found.calibration(sd)
    return replace(
        fitted,
        reference_errors=tuple(
            replace(error, source=f"{error.source} of {readings.name}")
            for error in fitted.reference_errors
        ),
        low=low,
        high=high,
        readings=readings.indicated.size,
    )
