"""Several hardness readings at a place: how many there are, and how they scatter about its mean."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import cast

import numpy as np
import pandas as pd

from workbench.records.settings import Settings

PLACE = ["block", "bore", "station", "depth"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ImpressionSpread:
    """The readings of one gauge on one scale, place by place.

    `fewest` and `most` are readings a place; `sd` is the standard deviation of one reading about
    its place, pooled on `degrees_of_freedom` (NaN where nothing was repeated), `least_sd` and
    `largest_sd` those of single places.
    """

    quantity: str
    gauge: str
    unit: str
    places: int
    fewest: int
    most: int
    sd: float
    degrees_of_freedom: int
    least_sd: float
    largest_sd: float


def impression_spreads(cells: pd.DataFrame, settings: Settings) -> tuple[ImpressionSpread, ...]:
    """Reduce the hardness readings among `cells` (grid, good contact) place by place."""
    kinds = [name for name, known in settings.quantities.items() if known.kind == "hardness"]
    mine = cells[cells["quantity"].isin(kinds)]
    mine = mine[(mine["contact"] == "good") & (mine["sampling"] == "grid")]
    return tuple(
        _spread(cast("tuple[str, str, str, float]", key), rows)
        for key, rows in mine.groupby(["quantity", "gauge", "unit", "step"])
    )


def _spread(key: tuple[str, str, str, float], rows: pd.DataFrame) -> ImpressionSpread:
    quantity, gauge, unit, step = key
    place = rows.groupby(PLACE)
    n, s1, s2 = (place[column].sum().to_numpy(float) for column in ("n", "s1", "s2"))
    squares = np.maximum(0.0, s2 - s1**2 / n) * step**2
    freedom, again = int((n - 1).sum()), n > 1
    own = np.sqrt(squares[again] / (n[again] - 1))
    return ImpressionSpread(
        quantity=quantity,
        gauge=gauge,
        unit=unit,
        places=n.size,
        fewest=int(n.min()),
        most=int(n.max()),
        sd=math.sqrt(float(squares.sum()) / freedom) if freedom else math.nan,
        degrees_of_freedom=freedom,
        least_sd=float(own.min()) if own.size else math.nan,
        largest_sd=float(own.max()) if own.size else math.nan,
    )
