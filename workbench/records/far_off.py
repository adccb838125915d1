"""Readings that lie far from all others of their quantity: most likely a slip of unit or mark.

A wall of 46 mm among walls of 4.6 mm may be written in the wrong unit, or without its decimal mark.
Nobody but the one who read it can say, so such a reading is kept and told of.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from workbench.records.columns import BELOW
from workbench.records.notice import Notice
from workbench.records.quantity_table import Quantity
from workbench.records.units import factor, kind_of

TIMES = 3.0  # slips of unit or mark are at least tenfold; a thin spot is hardly a third of a wall
SPREADS = 10.0
TO_NORMAL = 1.4826  # of the median absolute deviation, to a standard deviation of normal readings
LEAST = 10
SEARCH = "search"
SHOWN = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class FarOff:
    """Cells of one quantity with a reading far from all others.

    `cells` are rows of the reduction; `furthest` gives for each the reading furthest off, in
    `unit`; `middle` is the median reading of the quantity.
    """

    label: str
    unit: str
    middle: float
    cells: pd.DataFrame
    furthest: np.ndarray[tuple[int], np.dtype[np.float64]]

    @property
    def sentence(self) -> str:
        """Say which they are, and what they may be."""
        keys = self.cells[["block", "bore", "station", "depth"]].itertuples(index=False)
        places = [
            f"{' '.join(str(part) for part in key if part)} ({value:.5g} {self.unit})"
            for key, value in zip(keys, self.furthest, strict=True)
        ]
        more = f" and {len(places) - SHOWN} more" if len(places) > SHOWN else ""
        return (
            f"Readings of {self.label} lie over {TIMES:g} times above, or under a third of, the "
            f"middle of all ({self.middle:.3g} {self.unit}): "
            f"{', '.join(places[:SHOWN])}{more}. A slip of the unit or of the decimal mark? They "
            "are counted as they stand."
        )


def far_off(cells: pd.DataFrame, quantities: Mapping[str, Quantity]) -> tuple[FarOff, ...]:
    """Find the cells of the reduction that hold a reading far from all others of the quantity.

    Far off is over three times the median of the quantity, or under a third of it, and ten standard
    deviations from it too (judged by the median deviation, which such readings do not move). Fewer
    than ten readings show no such thing, nor do quantities that may be zero or negative.
    """
    return tuple(_found(cells, quantities))


def far_off_notices(cells: pd.DataFrame, quantities: Mapping[str, Quantity]) -> Iterator[Notice]:
    """Give a notice for each quantity with readings far off."""
    for found in far_off(cells, quantities):
        yield Notice(file="readings", code="far_off", sentence=found.sentence)


def _found(cells: pd.DataFrame, quantities: Mapping[str, Quantity]) -> Iterator[FarOff]:
    for name in sorted(cells["quantity"].unique()):
        quantity = quantities[str(name)]
        if quantity.kind == "feature" or quantity.signed:
            continue
        of_one = cells[(cells["quantity"] == name) & (cells["contact"] != BELOW)]
        for unit, alike in _alike(of_one, quantity):
            codes, met = pd.factorize(alike["unit"])
            units = np.array([_scale(str(one), unit) for one in met])
            scale = units[codes] * alike["step"].to_numpy(float)
            n = alike["n"].to_numpy(float)
            if n.sum() < LEAST:
                continue
            mean = alike["s1"].to_numpy(float) / n * scale
            low, high = (alike[end].to_numpy(float) * scale for end in ("kmin", "kmax"))
            middle = _median(mean, n)
            spread = max(TO_NORMAL * _median(np.abs(mean - middle), n), float(scale.min()))
            over = (high > TIMES * middle) & (high > middle + SPREADS * spread)
            under = (low < middle / TIMES) & (low < middle - SPREADS * spread)
            under &= (alike["sampling"] != SEARCH).to_numpy()  # hunted for because it is thin
            if (over | under).any():
                yield FarOff(
                    label=quantity.label,
                    unit=unit,
                    middle=middle,
                    cells=alike[over | under],
                    furthest=np.where(over, high, low)[over | under],
                )


def _alike(cells: pd.DataFrame, quantity: Quantity) -> Iterator[tuple[str, pd.DataFrame]]:
    """Give the cells whose numbers compare: of one unit, or of units with a common factor."""
    if kind_of(quantity.unit) in ("length", "mass"):
        met = [str(unit) for unit in cells["unit"].unique()]
        fit = [unit for unit in met if kind_of(unit) == kind_of(quantity.unit)]
        yield quantity.unit, cells if fit == met else cells[cells["unit"].isin(fit)]
    else:
        for unit, own in cells.groupby("unit", sort=True):
            yield str(unit), own


def _scale(unit: str, wanted: str) -> float:
    return 1.0 if unit == wanted else factor(unit, wanted)


def _median(
    values: np.ndarray[tuple[int], np.dtype[np.float64]],
    weights: np.ndarray[tuple[int], np.dtype[np.float64]],
) -> float:
    order = np.argsort(values)
    total = np.cumsum(weights[order])
    return float(values[order][np.searchsorted(total, total[-1] / 2)])
