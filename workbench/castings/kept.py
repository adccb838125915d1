"""From where to where each reading would have been kept at all, as its own gauge showed it.

A study that keeps nothing under 1.5 mm keeps a reading shown as 1.50, which stands for 1.495 and
more: the range begins with what the first reading kept stands for.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from workbench.errors import Refusal
from workbench.inference.distributions.readings import EVERYWHERE, Window
from workbench.records.rounding import quantity_text
from workbench.records.settings import Settings
from workbench.records.truncation_table import Truncation

Values = NDArray[np.float64]

ROUNDING = 1e-6  # of a step


def kept_of(values: pd.DataFrame, settings: Settings, quantity: str) -> dict[str, Values] | None:
    """Give the ends `low` and `high` of what was kept, in the unit of each row.

    Parameters
    ----------
    values
        Distinct values: `family, gauge, unit, step, low, high`, the ends being those of what each
        stands for.
    settings
        The study's.
    quantity
        What the values are of.

    Returns
    -------
    dict or None
        None where nothing is stated of single readings of these families.
    """
    stated = [
        one for one in settings.truncations if one.of == "readings" and one.quantity == quantity
    ]
    low, high = np.full(len(values), -np.inf), np.full(len(values), np.inf)
    for one in stated:
        mine = np.ones(len(values), dtype=bool)
        if one.family is not None:
            mine &= (values["family"] == one.family).to_numpy()
        if one.gauge is not None:
            mine &= (values["gauge"] == one.gauge).to_numpy()
        for unit in values.loc[mine, "unit"].unique():
            at = np.flatnonzero(mine & (values["unit"] == unit).to_numpy())
            _narrow(one, str(unit), values, at, low, high)
    if np.isinf(low).all() and np.isinf(high).all():
        return None
    return {"low": low, "high": high}


def kept_everywhere(stated: Sequence[Truncation], gauges: Collection[str], unit: str) -> Window:
    """Give the range, in `unit`, outside of which no reading by any of `gauges` could be kept.

    An entry about one gauge binds readings by it alone, so it counts where there is no other.
    """
    low, high = EVERYWHERE
    for one in stated:
        if one.gauge is not None and set(gauges) != {one.gauge}:
            continue
        try:
            ends = one.ends_in(unit)
        except Refusal:  # another hardness scale, of which nothing is stated
            continue
        low = low if ends[0] is None else max(low, float(ends[0]))
        high = high if ends[1] is None else min(high, float(ends[1]))
    return low, high


def check_limit_kept(limit: float, kept: Window, unit: str, whose: str) -> None:
    """Refuse to count what lies below a limit beyond which nothing could be in the records.

    Raises
    ------
    Refusal
        `limit_not_kept`.
    """
    under, over = limit <= kept[0], limit > kept[1]
    if under or over:
        end = quantity_text(kept[0] if under else kept[1], unit=unit)
        raise Refusal(
            "limit_not_kept",
            f"Of {whose} nothing {'below' if under else 'above'} {end} was kept, as the study "
            f"states, so the records cannot tell which share lies below "
            f"{quantity_text(limit, unit=unit)}: {'none' if under else 'all'} of what was kept "
            "does, however many were cast so.",
        )


def _narrow(
    one: Truncation,
    unit: str,
    values: pd.DataFrame,
    at: NDArray[np.intp],
    low: Values,
    high: Values,
) -> None:
    """Narrow the ranges of some rows of one unit to an entry."""
    try:
        ends = one.ends_in(unit)
    except Refusal:  # another hardness scale, of which nothing is stated
        return
    step = values["step"].to_numpy(float)[at]
    width = (values["high"] - values["low"]).to_numpy(float)[at]
    half = np.where(np.isfinite(width), width, step) / 2
    if ends[0] is not None:
        first = np.ceil(float(ends[0]) / step - ROUNDING) * step
        low[at] = np.maximum(low[at], first - half)
    if ends[1] is not None:
        last = np.floor(float(ends[1]) / step + ROUNDING) * step
        high[at] = np.minimum(high[at], last + half)
