"""The measuring error two families share or do not share, as it enters their difference.

Every calibration, reference piece, speed and gauge may be off by one unknown amount, the same in
all readings made with it. Such an error does not average out with more readings. In a difference
of families it cancels as far as both were read alike; what is left is the budget's combined
uncertainty (JCGM 100, 5.1.2): for each calibration from its line's errors, for each gauge of
readings without one from the uncertainty the study states for it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from workbench.castings.calibration import Calibrations
from workbench.inference.budget import Budget, Component
from workbench.inference.calibration_line import LineCovariance
from workbench.inference.correction_budget import CorrectedPart, correction_budget
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
    sums = pd.Series(weights[shown]).groupby(cells["gauge"].to_numpy()[shown], sort=True).sum()
    net = {
        str(gauge): 0.0 if gauges_told or abs(weight) < NO_WEIGHT else float(weight)
        for gauge, weight in sums.items()
    }
    stated = {gauge: _stated(gauges.get(gauge), unit) for gauge in net}
    components = [
        *(correction_budget(parts).components if parts else ()),
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


def _parts(
    cells: pd.DataFrame,
    weights: np.ndarray,
    unit: str,
    calibrations: Calibrations,
    blocks_vary: bool,
) -> tuple[CorrectedPart, ...]:
    """Sum up the corrected values of each calibration, with the line that corrected them."""
    parts = []
    for name, at in cells.groupby("corrected_by", sort=True).indices.items():
        line = calibrations.line_for(str(name), "", unit) if name else None
        if line is None:
            continue
        mine = cells.iloc[at]
        if blocks_vary and len(mine["block"].unique()) == 1:
            line = replace(line, scatter_covariance=LineCovariance())
        parts.append(CorrectedPart.of(str(name), line, weights[at], mine["mean"].to_numpy()))
    return tuple(parts)


def _stated(gauge: Gauge | None, unit: str) -> float | None:
    """Give the stated standard uncertainty in `unit`, or None where the study states none."""
    if gauge is None or gauge.uncertainty is None:
        return None
    return gauge.uncertainty * factor(gauge.unit or unit, unit)
