"""The measuring error two families share or do not share, as it enters their difference.

Each gauge may read off by one unknown amount, the same for all its readings, with the standard
uncertainty the study states for it. That error does not average out with more readings. In a
difference of families it cancels as far as both were read with the same gauges; what is left is
the sum over the gauges of (stated uncertainty times net weight of the gauge) squared
(JCGM 100, 5.1.2, for independent gauges).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from workbench.records.settings import Gauge
from workbench.records.units import factor

NO_WEIGHT = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class SharedError:
    """The standard uncertainty of a difference from the gauges alone, in the claim's unit.

    `net_weights` says how far each gauge's unknown offset moves the difference: 0 where it
    cancels, 1 where only the candidate was read with it, -1 where only the reference was.
    `unstated` names the gauges for which the study states no uncertainty; they add nothing.
    """

    uncertainty: float
    net_weights: dict[str, float]
    unstated: tuple[str, ...]

    @property
    def cancels(self) -> bool:
        """Tell whether every gauge's offset drops out of the difference."""
        return all(weight == 0 for weight in self.net_weights.values())


def shared_error(
    cells: pd.DataFrame, weights: np.ndarray, gauges: Mapping[str, Gauge], unit: str
) -> SharedError:
    """Answer how much the gauges' stated uncertainty leaves in a weighted sum of cell means.

    `weights` has one number a row of `cells`, in order: the weight of its mean in the difference.
    """
    sums = pd.Series(weights).groupby(cells["gauge"].to_numpy(), sort=True).sum()
    net = {
        str(gauge): 0.0 if abs(weight) < NO_WEIGHT else float(weight)
        for gauge, weight in sums.items()
    }
    stated = {gauge: _stated(gauges.get(gauge), unit) for gauge in net}
    return SharedError(
        uncertainty=math.sqrt(sum((net[name] * (u or 0.0)) ** 2 for name, u in stated.items())),
        net_weights=net,
        unstated=tuple(name for name, u in stated.items() if u is None),
    )


def _stated(gauge: Gauge | None, unit: str) -> float | None:
    """Give the stated standard uncertainty in `unit`, or None where the study states none."""
    if gauge is None or gauge.uncertainty is None:
        return None
    return gauge.uncertainty * factor(gauge.unit or unit, unit)
