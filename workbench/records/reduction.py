"""Readings to cells: one portable statement, sums of whole gauge steps, exact on any engine.

A reading is `k` whole steps of its quantity and unit, a step being 10**-d with d the most decimals
written (at most 6, and so that k stays within ten million). Sums of whole numbers do not depend on
the order they are added in, so every engine, thread count and file order gives the same bits.
"""
# ruff: noqa: S608 -- statements are put together from our own names, never from a user's text

from __future__ import annotations

from fractions import Fraction
from typing import Any

import numpy as np
import pandas as pd

from workbench.records.numbers import MICRO
from workbench.records.units import exact_factor

Whole = np.ndarray[tuple[int], np.dtype[np.int64]]
Numbers = np.ndarray[tuple[int], np.dtype[np.float64]]

CELL_KEY = (
    "family",
    "block",
    "bore",
    "station",
    "depth",
    "quantity",
    "unit",
    "gauge",
    "calibration",
    "operator",
    "sampling",
    "contact",
)
SUMS = ("n", "s1", "s2", "kmin", "kmax")
STEPS_LIMIT = 10_000_000
DECIMALS_LIMIT = 6
_ROOM = 2**62

KEY = ", ".join(CELL_KEY)


def decimals_kept(written: int, largest_micro: int) -> int:
    """Give the decimals of a step: those written, as far as `k` stays within its limit.

    >>> decimals_kept(2, 5_230_000), decimals_kept(9, 5_230_000), decimals_kept(6, 105_230_000)
    (2, 6, 4)
    """
    decimals = min(written, DECIMALS_LIMIT)
    while decimals > 0 and largest_micro * 10**decimals > STEPS_LIMIT * MICRO:
        decimals -= 1
    return decimals


def steps_sql(accepted: str) -> str:
    """Give, for each quantity and unit, the most decimals written and the largest size."""
    return (
        "select quantity, unit, max(decimals) as written, max(abs(micro)) as largest"
        f" from {accepted} group by quantity, unit order by quantity, unit"
    )


def stepped_sql(accepted: str, steps: str) -> str:
    """Give the accepted readings as whole steps `k`; `steps` has `decimals` and `size` (micro).

    A reading finer than the step is rounded to it, halves away from zero.
    """
    # Exact in floating point: `k` is within ten million and its fraction no finer than a millionth.
    return (
        f"select {', '.join(f'a.{name}' for name in CELL_KEY)}, s.decimals,"
        " cast(round(cast(a.micro as double) / s.size) as bigint) as k"
        f" from {accepted} a join {steps} s on a.quantity = s.quantity and a.unit = s.unit"
    )


def cells_sql(stepped: str) -> str:
    """Give the cells: for each key the count, sum, sum of squares, least and greatest of `k`.

    Their order is that of `CELL_KEY`, and is left to who keeps them.
    """
    return (
        f"select {KEY}, decimals, cast(count(*) as bigint) as n, cast(sum(k) as bigint) as s1,"
        " cast(sum(k * k) as bigint) as s2, min(k) as kmin, max(k) as kmax"
        f" from {stepped} group by {KEY}, decimals"
    )


def values_sql(stepped: str) -> str:
    """Give the distinct values of each cell with their counts."""
    return (
        f"select {KEY}, decimals, k, cast(count(*) as bigint) as n"
        f" from {stepped} group by {KEY}, decimals, k"
    )


def moments(cells: pd.DataFrame, unit: str) -> pd.DataFrame:
    """Give count, mean and sum of squares of each cell, in `unit`.

    Parameters
    ----------
    cells
        Cells of the reduction, of one quantity or of several in units that fit.
    unit
        The unit of the answer; every cell must be convertible to it.

    Returns
    -------
    pandas.DataFrame
        The columns of `CELL_KEY` (with `unit` now the unit asked for), `n`, `mean`, `ss` (the sum
        of squares about the cell's own mean), `low`, `high` and `step`. The sums are of whole
        numbers and exact; each answer is rounded once or twice at its end.

    Raises
    ------
    Refusal
        `unit_mismatch` or `hardness_scale` where a unit of the cells does not fit `unit`.
    """
    answer = cells.loc[:, list(CELL_KEY)].reset_index(drop=True)
    scale_up, scale_down = _scales(cells, unit)
    n, s1, s2, kmin, kmax = (cells[name].to_numpy(np.int64) for name in SUMS)
    answer["unit"] = pd.Series(unit, index=answer.index, dtype=answer["unit"].dtype)
    answer["n"] = n
    answer["mean"] = _ratio(_times(s1, scale_up), _times(n, scale_down))
    answer["ss"] = _squares(n, s1, s2) * (scale_up.astype(float) / scale_down.astype(float)) ** 2
    answer["low"] = _ratio(_times(kmin, scale_up), scale_down)
    answer["high"] = _ratio(_times(kmax, scale_up), scale_down)
    answer["step"] = _ratio(scale_up, scale_down)
    return answer


def squares_about_mean(n: int, s1: int, s2: int) -> Fraction:
    """Give the exact sum of squares about the mean from count, sum and sum of squares.

    >>> squares_about_mean(3, 6, 14)
    Fraction(2, 1)
    """
    return Fraction(n * s2 - s1 * s1, n)


def _scales(cells: pd.DataFrame, unit: str) -> tuple[Whole, Whole]:
    """Give each cell the whole numbers whose ratio turns its steps into `unit`."""
    unit_of, units = pd.factorize(cells["unit"])
    step_of, steps = pd.factorize(cells["step"])
    kinds, found = pd.factorize(unit_of * len(steps) + step_of)
    ups, downs = np.ones(len(found), np.int64), np.ones(len(found), np.int64)
    for at, kind in enumerate(found):
        own, step = str(units[int(kind) // len(steps)]), steps[int(kind) % len(steps)]
        ratio = exact_factor(own, unit) / 10 ** round(-np.log10(step))
        ups[at], downs[at] = ratio.numerator, ratio.denominator
    return ups[kinds], downs[kinds]


def _times(left: Whole, right: Whole) -> Any:
    """Multiply whole numbers exactly: in Python's own where 64 bits do not hold them."""
    if len(left) and float(np.abs(left).max()) * float(np.abs(right).max()) > _ROOM:
        return left.astype(object) * right.astype(object)
    return left * right


def _ratio(over: Any, under: Any) -> Numbers:
    """Divide whole numbers, rounded once where both are below 2**53."""
    if over.dtype == object or under.dtype == object:
        pairs = zip(over.tolist(), under.tolist(), strict=True)
        return np.array([top / bottom for top, bottom in pairs], np.float64)
    return np.asarray(over / under, np.float64)


def _squares(n: Whole, s1: Whole, s2: Whole) -> Numbers:
    """Give the sum of squares about the mean, in steps: (n s2 - s1 s1) / n, rounded once.

    With s1 = q n + r the sum about q is s2 - q s1 - q r, which 64 bits hold whenever they hold s2;
    what is left of the mean takes r r / n off it.
    """
    q = s1 // n
    r = s1 - q * n
    about = s2 - q * s1 - q * r
    large = about.astype(float) * n > _ROOM
    small_n = np.where(large, 1, n)
    answer = (np.where(large, 0, about) * small_n - np.where(large, 0, r * r)) / small_n
    for at in np.flatnonzero(large):
        answer[at] = float(squares_about_mean(int(n[at]), int(s1[at]), int(s2[at])))
    return answer
