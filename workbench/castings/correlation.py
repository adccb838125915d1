"""A study's own correlation of two hardness scales: fitted to its pairs, or refused with its row.

Hardness scales have no common factor, and no published table holds for grey iron: ASTM E140 and
ISO 18265 cover steels, cast steel and alloys other than grey iron (their scopes; ISO 18265:2013).
What converts is a relation found on iron like that read, with the same gauge, and only as surely as
its pairs tell. It works as a calibration does: shown = zero + slope x value. Its readings are taken
as shown, for the gauge's own error is in the pairs already.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from workbench.castings.calibration_fit import require_rise
from workbench.errors import Refusal
from workbench.inference.measuring.calibration_fit import line
from workbench.inference.measuring.calibration_line import CalibrationLine, LineCovariance
from workbench.inference.measuring.errors_in_variables import york
from workbench.inference.samples import Values
from workbench.records.allowance_table import StatedCorrelation
from workbench.records.columns import CORRELATIONS_FILE
from workbench.records.faults import Fault
from workbench.records.setting_faults import key_fault
from workbench.records.tomlfile import toml_key

LEAST_PAIRS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Correlation:
    """What `gauge` shows on the scale `shown`, against values on the scale `to`.

    `line` is None where it cannot be used, and `why` says why not. `spanned` are the ends of the
    values it was found on. `weighed` tells that the fit counts errors of both scales.
    """

    name: str
    gauge: str
    shown: str
    to: str
    note: str
    line: CalibrationLine | None = None
    why: str = ""
    spanned: tuple[float, float] = (math.nan, math.nan)
    weighed: bool = False


def fit_correlations(
    frame: pd.DataFrame, stated: Mapping[str, StatedCorrelation]
) -> tuple[dict[str, Correlation], tuple[Fault, ...]]:
    """Fit each correlation of a study to its pairs; `frame` is `Records.correlations`.

    Where every pair states both uncertainties, the line is that of York, its covariance widened by
    the scatter beyond them; otherwise it is that of least squares, shown on value, and the values
    count as exact. One that cannot be used has a fault, and the others are not touched by it.
    """
    found: dict[str, Correlation] = {}
    faults: list[Fault] = []
    for name, table in stated.items():
        rows = frame[frame["correlation"] == name]
        bare = Correlation(
            name=name, gauge=table.gauge, shown=table.shown, to=table.to, note=table.note
        )
        if rows.empty:
            sentence = f"There is no sound row of it in {CORRELATIONS_FILE}."
            key = toml_key(("correlations", name))
            faults.append(key_fault(key, "", "no_correlation_data", sentence))
            found[name] = replace(bare, why=sentence)
            continue
        try:
            found[name] = _fitted(bare, rows)
        except Refusal as refusal:
            faults.append(
                Fault(
                    file=CORRELATIONS_FILE,
                    row=int(rows["row"].iloc[0]),
                    column="correlation",
                    value=name,
                    code=refusal.code,
                    sentence=str(refusal),
                )
            )
            found[name] = replace(bare, why=str(refusal))
    return found, tuple(faults)


def _fitted(bare: Correlation, rows: pd.DataFrame) -> Correlation:
    value, shown = rows["value"].to_numpy(float), rows["shown"].to_numpy(float)
    if len(np.unique(value)) < LEAST_PAIRS:
        raise Refusal(
            "too_few_pairs",
            f"A correlation needs {LEAST_PAIRS} different values or more, and has "
            f"{len(np.unique(value))}.",
        )
    u_value, u_shown = (rows[f"{of}_uncertainty"].to_numpy(float) for of in ("value", "shown"))
    weighed = bool(np.all(u_value > 0) and np.all(u_shown > 0))
    if weighed:
        fitted = _weighed(value, shown, u_value, u_shown)
    else:
        fitted = line(value, shown, pieces=[str(at) for at in range(len(value))])
    fitted = replace(fitted, method=f"correlation of {len(value)} pairs")
    require_rise(fitted)
    ends = (float(value.min()), float(value.max()))
    return replace(bare, line=fitted, spanned=ends, weighed=weighed)


def _weighed(value: Values, shown: Values, u_value: Values, u_shown: Values) -> CalibrationLine:
    """Fit by both uncertainties; pairs that scatter more than these allow widen what it leaves."""
    found = york(value, shown, u_value, u_shown)
    widened = max(1.0, found.chi_square / found.degrees_of_freedom)
    residual = shown - found.intercept - found.slope * value
    freedom = found.degrees_of_freedom
    sd = math.sqrt(float(residual @ residual) / freedom)
    return replace(
        found.calibration(sd),
        scatter_covariance=LineCovariance(
            zero=found.covariance.zero * widened,
            slope=found.covariance.slope * widened,
            both=found.covariance.both * widened,
        ),
        reference_errors=(),
        degrees_of_freedom=float(freedom),
    )
