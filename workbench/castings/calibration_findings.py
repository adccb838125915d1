"""What speaks against a fitted calibration: drift, a bend, an odd reading, a speed unlike iron.

A study has many calibrations and each is looked at several ways, so an alarm is raised at 1 in 100
rather than 1 in 20. What is said always gives the size, which matters more than the p.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from workbench.castings.calibration_fit import PieceReadings, line_of
from workbench.errors import Refusal
from workbench.inference.measuring.calibration_checks import (
    curvature,
    drift,
    furthest_reading,
    lack_of_fit,
)
from workbench.inference.measuring.calibration_line import CalibrationLine
from workbench.inference.measuring.errors_in_variables import york
from workbench.records.calibration_table import StatedCalibration
from workbench.records.rounding import p_text, quantity_text

ALARM = 0.01
# Twice as much squared is Fieller's g of 0.04: from about 0.05 on the interval of a corrected value
# is no longer even about it (Finney 1978, from memory), and what is added to it is too little.
HARDLY_KNOWN = 0.1
# Sound in cast iron, m/s: published figures run from about 4 000 to 5 500 (from memory).
SLOWEST, FASTEST = 3_500.0, 5_600.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """Something a reader of corrected values should know: said after the calibration's name."""

    code: str
    sentence: str


def findings_of(
    readings: PieceReadings, fitted: CalibrationLine, stated: StatedCalibration
) -> Iterator[Finding]:
    """Give what speaks against one calibration made on pieces."""
    if fitted.pieces == 1 and not stated.zero_uncertainty:
        yield Finding(
            code="one_piece_calibration",
            sentence="made on one piece, so the zero is taken on trust; “zero_uncertainty” would "
            "say how far",
        )
    if not _repeated(readings, fitted):
        yield Finding(
            code="calibration_not_repeated",
            sentence="nothing was read again, so only the gauge's step "
            f"({quantity_text(readings.step, unit=readings.unit)}) stands for the scatter",
        )
    if not readings.uncertainty_stated:
        yield Finding(
            code="reference_taken_as_exact",
            sentence="no uncertainty is given for the pieces, and they are taken as exact",
        )
    yield from _slope(fitted)
    yield from _bend(readings)
    yield from _odd(readings)
    yield from _within(readings, stated)
    if stated.set_speed is not None:
        yield from speed_finding(stated.metres_per_second(stated.set_speed) / fitted.slope)


def _slope(fitted: CalibrationLine) -> Iterator[Finding]:
    """Warn of pieces too close together, or read too unevenly, to tell the slope."""
    try:
        share = math.sqrt(fitted.covariance().slope) / fitted.slope
    except Refusal:
        return
    if share > HARDLY_KNOWN:
        yield Finding(
            code="slope_hardly_known",
            sentence=f"the slope ({quantity_text(fitted.slope, share * fitted.slope)}) is known to "
            f"{100 * share:.0f}% only (standard uncertainty): the pieces are too alike, or were "
            "read too unevenly, to correct values away from them",
        )


def speed_finding(speed: float) -> Iterator[Finding]:
    """Warn of a speed of sound, in m/s, that no iron is known for."""
    if not SLOWEST <= speed <= FASTEST:
        yield Finding(
            code="unlikely_speed",
            sentence=f"the speed of sound would be {speed:.0f} m/s, outside the "
            f"{SLOWEST:.0f} to {FASTEST:.0f} m/s of cast iron",
        )


def drift_finding(
    before: CalibrationLine, after: CalibrationLine, indicated: float, unit: str
) -> Iterator[Finding]:
    """Warn where a reading of `indicated` means another value after than before."""
    try:
        moved = drift(before, after, indicated)
    except Refusal:
        return
    if moved.p_value() < ALARM:
        size = quantity_text(abs(moved.estimate), moved.standard_error, unit)
        way = "more" if moved.estimate > 0 else "less"
        shown = quantity_text(float(f"{indicated:.3g}"), unit=unit)
        yield Finding(
            code="calibration_drift",
            sentence=f"drifted: a reading of {shown} stands for {size} {way} after than before "
            f"({p_text(moved.p_value())})",
        )


def _repeated(readings: PieceReadings, fitted: CalibrationLine) -> bool:
    """Tell whether there are more readings than the line has unknowns."""
    return readings.indicated.size > min(fitted.pieces, 2)


def _bend(readings: PieceReadings) -> Iterator[Finding]:
    """Warn where a straight line misses the pieces by more than repeats and their errors allow."""
    bent = "the pieces do not lie on a straight line"
    try:
        found = lack_of_fit(readings.reference, readings.indicated)
        if found.p_value < ALARM and not _explained(readings, found.repeat_sd):
            size = quantity_text(found.fitted_sd, found.fitted_sd, readings.unit)
            yield Finding(
                code="bent_calibration",
                sentence=f"{bent}: they scatter by {size} about it ({p_text(found.p_value)})",
            )
        return
    except Refusal:
        pass
    try:
        curve = curvature(readings.reference, readings.indicated)
    except Refusal:
        return
    half = float(np.ptp(readings.reference)) / 2
    if curve.p_value < ALARM:
        size = quantity_text(abs(curve.coefficient) * half**2, unit=readings.unit)
        yield Finding(
            code="bent_calibration",
            sentence=f"{bent}: the middle bends by about {size} ({p_text(curve.p_value)})",
        )


def _explained(readings: PieceReadings, repeat_sd: float) -> bool:
    """Tell whether the stated errors of the pieces allow for how they miss a line."""
    _, first, piece, count = np.unique(
        np.array(readings.pieces), return_index=True, return_inverse=True, return_counts=True
    )
    means = np.bincount(piece, readings.indicated) / count
    u = readings.uncertainty[first]
    if not bool(np.any(u > 0)):
        return False
    try:
        fitted = york(readings.reference[first], means, u, repeat_sd / np.sqrt(count))
    except Refusal:
        return False
    return fitted.p_value >= ALARM


def _odd(readings: PieceReadings) -> Iterator[Finding]:
    """Warn of one reading far from the line through the others, and by more than a step."""
    try:
        odd = furthest_reading(readings.reference, readings.indicated)
    except Refusal:
        return
    if odd.p_value < ALARM and abs(odd.residual) > readings.step:
        shown = quantity_text(float(readings.indicated[odd.position]), unit=readings.unit)
        piece = quantity_text(float(readings.reference[odd.position]), unit=readings.unit)
        yield Finding(
            code="odd_reference_reading",
            sentence=f"one reading ({shown} on the piece of {piece}) lies far from the line "
            f"through the others ({p_text(odd.p_value)})",
        )


def _within(readings: PieceReadings, stated: StatedCalibration) -> Iterator[Finding]:
    """Compare the readings made before with those made after, where the table tells them apart."""
    part = np.array(readings.part)
    if not {"before", "after"} <= set(part.tolist()):
        return
    try:
        before, after = (
            line_of(readings.only(part == side), stated) for side in ("before", "after")
        )
    except Refusal:
        return
    yield from drift_finding(before, after, float(readings.indicated.mean()), readings.unit)
