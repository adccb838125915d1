"""The measuring error two families share or do not share, as it enters their difference.

Every calibration, reference piece, speed and gauge may be off by one unknown amount, the same in
all readings made with it. Such an error does not average out with more readings. In a difference
of families it cancels as far as both were read alike; what is left is the budget's combined
uncertainty (JCGM 100, 5.1.2): for each calibration or correlation from its line's errors, for each
gauge of readings without one from the uncertainty the study states for it, for each kind of part
that blocks were weighed without from that of its stated mass.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import cast

import numpy as np
import pandas as pd

from workbench.castings.calibration import Calibrations
from workbench.errors import Refusal
from workbench.inference.grouping import rows_of
from workbench.inference.measuring.budget import Budget, Component
from workbench.inference.measuring.calibration_line import LineCovariance
from workbench.inference.measuring.correction_budget import CorrectedPart, correction_budget
from workbench.inference.samples import Values
from workbench.records.settings import Gauge
from workbench.records.units import factor

NO_WEIGHT = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class SharedError:
    """The standard uncertainty of a difference from measuring alone, in the claim's unit.

    `budget` lists its components, None where nothing is left of any; `parts` are the corrected
    values that enter, one part a calibration. `net_weights` says how far the unknown offset of
    each gauge of uncorrected readings moves the difference: 0 where it cancels, 1 where only the
    candidate was read with it, -1 where only the reference was. `unstated` names those of them
    for which the study states no uncertainty; they add nothing.
    """

    uncertainty: float
    degrees_of_freedom: float
    budget: Budget | None
    parts: tuple[CorrectedPart, ...]
    net_weights: dict[str, float]
    unstated: tuple[str, ...]

    def by_name(self) -> tuple[tuple[str, float], ...]:
        """Give each component of the budget with its share in the difference, as an uncertainty."""
        found = self.budget.components if self.budget else ()
        return tuple((part.name, abs(part.contribution)) for part in found)

    @property
    def cancels(self) -> bool:
        """Tell whether the offset of every gauge without calibration drops out."""
        return all(weight == 0 for weight in self.net_weights.values())


def shared_error(
    cells: pd.DataFrame,
    weights: np.ndarray,
    gauges: Mapping[str, Gauge],
    unit: str,
    calibrations: Calibrations,
    *,
    gauges_told: bool = False,
    blocks_vary: bool = False,
) -> SharedError:
    """Answer how much measuring leaves in a weighted sum of cell means.

    Parameters
    ----------
    cells
        The columns `gauge`, `corrected_by`, `block` and `mean`.
    weights
        One number a row of `cells`, in order: the weight of its mean in the difference.
    gauges, unit, calibrations
        What the study states and has fitted; the unit of the means.
    gauges_told
        The analysis tells gauges of uncorrected readings from families, so none of their offsets
        moves the difference.
    blocks_vary
        The spread between blocks counts as error already. The scatter of a calibration used on
        one block only is part of that spread, and is not counted again.
    """
    parts = _parts(cells, weights, unit, calibrations, blocks_vary)
    shown = (cells["corrected_by"] == "").to_numpy()
    moved = {gauge: weights[shown][at].sum() for gauge, at in rows_of(cells["gauge"][shown])}
    net = {
        gauge: 0.0 if gauges_told or abs(weight) < NO_WEIGHT else float(weight)
        for gauge, weight in moved.items()
    }
    stated = {gauge: _stated(gauges.get(gauge), unit) for gauge in net}
    components = [
        *(correction_budget(parts).components if parts else ()),
        *(() if blocks_vary else _about_correlations(cells, weights, calibrations)),
        *calibrations.allowances.components(_completed(cells), weights, unit),
        *(
            Component(name=f"gauge {name}", kind="B", stated=u, sensitivity=net[name], shared=name)
            for name, u in stated.items()
            if u is not None
        ),
    ]
    scale = NO_WEIGHT * float(np.abs(cells["mean"]).max())
    left = tuple(part for part in components if abs(part.contribution) > scale)
    budget = Budget(components=left) if left else None
    return SharedError(
        uncertainty=budget.combined if budget else 0.0,
        degrees_of_freedom=budget.degrees_of_freedom if budget else math.inf,
        budget=budget,
        parts=parts,
        net_weights=net,
        unstated=tuple(name for name, u in stated.items() if u is None),
    )


def reading_errors(
    cells: pd.DataFrame, gauges: Mapping[str, Gauge], unit: str, calibrations: Calibrations
) -> tuple[Values, Values] | None:
    """Give the standard deviation of one reading of each cell, and its degrees of freedom.

    That of a corrected reading is the scatter its gauge showed on the pieces; of a converted one 0,
    for what is left of a correlation is counted by `shared_error`; of any other the uncertainty
    stated for its gauge. None where one of these is stated by nothing.
    """
    deviations, freedoms = np.zeros(len(cells)), np.full(len(cells), math.inf)
    for key, at in cells.groupby(["corrected_by", "gauge"], sort=True).indices.items():
        name, gauge = cast("tuple[str, str]", key)
        line = calibrations.line_used(name, unit)
        if name in calibrations.correlations:
            continue
        if line is None:
            stated = _stated(gauges.get(gauge), unit)
            if stated is None:
                return None
            deviations[at] = stated
        elif line.reading_sd is None:
            return None
        else:
            deviations[at], freedoms[at] = line.reading_sd / line.slope, line.degrees_of_freedom
    return deviations, freedoms


def resolutions(cells: pd.DataFrame, gauges: Mapping[str, Gauge], unit: str) -> Values:
    """Give the step of each reading: as written, or as stated for its gauge where that is wider."""
    steps = cells["step"].to_numpy(float, copy=True)
    for name, at in rows_of(cells["gauge"]):
        gauge = gauges.get(name)
        if gauge is not None and gauge.resolution is not None and fits(gauge, unit):
            steps[at] = np.maximum(steps[at], gauge.resolution * factor(gauge.unit or unit, unit))
    return steps


def fits(gauge: Gauge, unit: str) -> bool:
    """Tell whether what is stated for a gauge can be given in `unit`."""
    try:
        factor(gauge.unit or unit, unit)
    except Refusal:
        return False
    return True


def _parts(
    cells: pd.DataFrame,
    weights: np.ndarray,
    unit: str,
    calibrations: Calibrations,
    blocks_vary: bool,
) -> tuple[CorrectedPart, ...]:
    """Sum up the corrected values of each calibration, with the line that corrected them."""
    parts = []
    means = cells["mean"].to_numpy()
    for name, at in rows_of(cells["corrected_by"]):
        line = calibrations.line_used(name, unit)
        if line is None:
            continue
        if blocks_vary and len(cells["block"].iloc[at].unique()) == 1:
            line = replace(line, scatter_covariance=LineCovariance())
        parts.append(CorrectedPart.of(name, line, weights[at], means[at]))
    return tuple(parts)


def _about_correlations(
    cells: pd.DataFrame, weights: np.ndarray, calibrations: Calibrations
) -> Iterator[Component]:
    """Give what each block may lie off a correlation: its iron is not that of the pairs.

    The pairs scatter about the line by reading error too, so this errs wide. In a claim on families
    the spread between blocks holds it already.
    """
    for name, at in rows_of(cells["corrected_by"]):
        known = calibrations.correlations.get(name)
        if known is None or known.line is None or known.line.reading_sd is None:
            continue
        of_blocks = pd.Series(weights[at]).groupby(cells["block"].to_numpy()[at]).sum()
        yield Component(
            name=f"iron unlike that of {name}",
            kind="A",
            stated=known.line.reading_sd / known.line.slope,
            sensitivity=math.sqrt(float((of_blocks**2).sum())),
            degrees_of_freedom=known.line.degrees_of_freedom,
            shared=name,
        )


def _completed(cells: pd.DataFrame) -> pd.Series[str]:
    """Give the block whose missing parts were added to each mean, "" where none were."""
    return cells["completed"] if "completed" in cells else pd.Series("", index=cells.index)


def _stated(gauge: Gauge | None, unit: str) -> float | None:
    """Give the stated standard uncertainty in `unit`, or None where the study states none."""
    if gauge is None or gauge.uncertainty is None:
        return None
    return gauge.uncertainty * factor(gauge.unit or unit, unit)
