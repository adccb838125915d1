"""The calibrations of a study: each fitted to its line, or refused with its row.

A calibration is never guessed at: readings under one that cannot be used stay as shown, carry the
gauge's stated uncertainty, and every verdict on them says so.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import pandas as pd

from workbench.castings.allowances import Allowances, allowances_of
from workbench.castings.calibration_findings import (
    Finding,
    drift_finding,
    findings_of,
    speed_finding,
)
from workbench.castings.calibration_fit import line_of, piece_readings, speed_line
from workbench.castings.correlation import Correlation, fit_correlations
from workbench.errors import Refusal
from workbench.inference.measuring.calibration_line import CalibrationLine
from workbench.records.calibration_table import StatedCalibration
from workbench.records.columns import CALIBRATIONS_FILE
from workbench.records.faults import Fault
from workbench.records.settings import SETTINGS_FILE, Settings
from workbench.records.tomlfile import toml_key
from workbench.records.units import factor

if TYPE_CHECKING:
    from workbench.records.store import Records

UNSTATED = StatedCalibration()


@dataclass(frozen=True, slots=True, kw_only=True)
class Calibration:
    """One calibration of `gauge`: its line in `unit`, or None where `why` says why not.

    `findings` are what speaks against it; `middle` is the middle of what its gauge showed.
    """

    name: str
    gauge: str
    unit: str = ""
    line: CalibrationLine | None = None
    why: str = ""
    findings: tuple[Finding, ...] = ()
    middle: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Calibrations:
    """All that corrects the readings of a study, and the faults found in fitting it.

    Calibrations and correlations by name, no name being both; allowances for missing parts.
    """

    by_name: Mapping[str, Calibration] = field(default_factory=dict)
    correlations: Mapping[str, Correlation] = field(default_factory=dict)
    allowances: Allowances = field(default_factory=Allowances)
    faults: tuple[Fault, ...] = ()

    def correlation_for(self, gauge: str, own: str, unit: str) -> Correlation | None:
        """Give the usable correlation that turns readings by `gauge` in `own` into `unit`."""
        return next(
            (
                found
                for found in self.correlations.values()
                if found.line and (found.gauge, found.shown, found.to) == (gauge, own, unit)
            ),
            None,
        )

    def reaches(self, gauge: str, own: str, unit: str) -> bool:
        """Tell whether readings by `gauge` in `own` can be given in `unit`."""
        try:
            factor(own, unit)
        except Refusal:
            return self.correlation_for(gauge, own, unit) is not None
        return True

    def line_used(self, name: str, unit: str) -> CalibrationLine | None:
        """Give the line that corrected what is `corrected_by` this name, in `unit`."""
        if name in self.correlations:
            return self.correlations[name].line
        return self.line_for(name, "", unit) if name else None

    def line_for(self, name: str, gauge: str, unit: str) -> CalibrationLine | None:
        """Give the line, in `unit`, that corrects readings by `gauge` under calibration `name`.

        None where there is no such line; `why_not` says why. Readings that name a calibration and
        no gauge are taken to be of the calibration's.
        """
        known = self.by_name.get(name)
        if known is None or known.line is None or self.why_not(name, gauge, unit):
            return None
        return known.line.rescaled(factor(known.unit, unit))

    def why_not(self, name: str, gauge: str, unit: str) -> str:
        """Say why readings by `gauge` under the calibration are not corrected; "" if they are."""
        known = self.by_name.get(name)
        if known is None:
            return "it is not among the calibrations of the study"
        if known.line is None:
            return known.why
        if gauge not in ("", known.gauge):
            return f"it is one of {known.gauge}, and the readings are by {gauge}"
        try:
            factor(known.unit, unit)
        except Refusal:
            return f"it was made in {known.unit}, and the readings are in {unit}"
        return ""


class _Unusable(Exception):
    """A calibration that cannot be used: the fault that says where and why."""

    def __init__(self, fault: Fault) -> None:
        self.fault = fault
        super().__init__(fault.sentence)


def calibrations_of(records: Records, settings: Settings) -> Calibrations:
    """Fit all that corrects the readings of a study: its calibrations and its correlations."""
    fitted = fit_calibrations(records.calibrations, settings)
    correlations, faults = fit_correlations(records.correlations, settings.correlations)
    return replace(
        fitted,
        correlations=correlations,
        allowances=allowances_of(records.blocks, settings.parts),
        faults=(*fitted.faults, *faults),
    )


def fit_calibrations(frame: pd.DataFrame, settings: Settings) -> Calibrations:
    """Answer what each calibration's gauge does to a value, and what speaks against it.

    Parameters
    ----------
    frame
        The sound rows of `calibrations.csv`, as `Records.calibrations` holds them.
    settings
        The study's: its `[calibrations]` and the resolutions of its gauges.

    Returns
    -------
    Calibrations
        Every calibration met in either. One that cannot be used has no line but a fault, at its
        first row or its key; the others are not touched by it.
    """
    by_name: dict[str, Calibration] = {}
    faults: list[Fault] = []
    rows_of = {str(name): rows for name, rows in frame.groupby("calibration", sort=False)}
    for name in dict.fromkeys([*rows_of, *settings.calibrations]):
        rows = rows_of.get(name, frame.iloc[:0])
        stated = settings.calibrations.get(name, UNSTATED)
        try:
            by_name[name] = _fit(name, rows, stated, settings)
        except _Unusable as unusable:
            faults.append(unusable.fault)
            by_name[name] = Calibration(
                name=name,
                gauge=str(rows["gauge"].iloc[0]) if len(rows) else stated.gauge or "",
                why=unusable.fault.sentence,
            )
    faults += _pair_faults(by_name, settings)
    return Calibrations(by_name=_drifting(by_name, settings), faults=tuple(faults))


def _fit(
    name: str, rows: pd.DataFrame, stated: StatedCalibration, settings: Settings
) -> Calibration:
    if rows.empty:
        return _by_speed(name, stated)
    if stated.method == "speed":
        raise _Unusable(
            _key_fault(
                name,
                "method",
                "two_methods",
                "It has readings on pieces and a known speed; only one can make the line.",
            )
        )
    gauge = str(rows["gauge"].iloc[0])
    other = rows[rows["gauge"] != gauge]
    if len(other):
        sentence = f"Calibration “{name}” is of “{gauge}” in an earlier row; it can be of one only."
        raise _Unusable(_row_fault(other, "gauge", "two_gauges", sentence))
    if stated.gauge not in (None, gauge):
        sentence = f"The readings on pieces say “{gauge}”."
        raise _Unusable(_key_fault(name, "gauge", "two_gauges", sentence))
    try:
        readings = piece_readings(name, rows, settings.gauges.get(gauge))
        fitted = line_of(readings, stated)
    except Refusal as refusal:
        raise _Unusable(_row_fault(rows, "calibration", refusal.code, str(refusal))) from None
    return Calibration(
        name=name,
        gauge=gauge,
        unit=readings.unit,
        line=fitted,
        findings=tuple(findings_of(readings, fitted, stated)),
        middle=float(readings.indicated.mean()),
    )


def _by_speed(name: str, stated: StatedCalibration) -> Calibration:
    """Make a calibration that has no readings on pieces: it must state a speed, and its gauge."""
    if stated.method != "speed":
        raise _Unusable(
            _key_fault(
                name,
                "",
                "no_reference_readings",
                f"There is no sound row of it in {CALIBRATIONS_FILE}, and no known speed.",
            )
        )
    if stated.gauge is None:
        sentence = "A known speed needs the “gauge” that was set."
        raise _Unusable(_key_fault(name, "gauge", "missing_key", sentence))
    assert stated.true_speed is not None
    return Calibration(
        name=name,
        gauge=stated.gauge,
        unit=stated.unit or "mm",
        line=speed_line(name, stated),
        findings=tuple(speed_finding(stated.metres_per_second(stated.true_speed))),
    )


def _pair_faults(by_name: Mapping[str, Calibration], settings: Settings) -> Iterator[Fault]:
    for name, stated in settings.calibrations.items():
        if stated.pair_of is not None and stated.pair_of not in by_name:
            sentence = f"There is no calibration “{stated.pair_of}” to compare it with."
            yield _key_fault(name, "pair_of", "unknown_calibration", sentence)


def _drifting(by_name: Mapping[str, Calibration], settings: Settings) -> Mapping[str, Calibration]:
    """Add to each calibration what one made after it says of its drift."""
    answer = dict(by_name)
    for name, stated in settings.calibrations.items():
        before, after = answer.get(stated.pair_of or ""), answer.get(name)
        if not (before and after and before.line and after.line):
            continue
        try:
            then = after.line.rescaled(factor(after.unit, before.unit))
        except Refusal:
            continue
        found = drift_finding(before.line, then, before.middle, before.unit)
        answer[before.name] = replace(before, findings=(*before.findings, *found))
    return answer


def _row_fault(rows: pd.DataFrame, column: str, code: str, sentence: str) -> Fault:
    return Fault(
        file=CALIBRATIONS_FILE,
        row=int(rows["row"].iloc[0]),
        column=column,
        value=str(rows[column].iloc[0]),
        code=code,
        sentence=sentence,
    )


def _key_fault(name: str, key: str, code: str, sentence: str) -> Fault:
    place = ("calibrations", name, key) if key else ("calibrations", name)
    return Fault(
        file=SETTINGS_FILE,
        row=None,
        column=toml_key(place),
        value="",
        code=code,
        sentence=sentence,
    )
