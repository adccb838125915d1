"""A table of readings, or of cells, coded for the nested model: counts, means and whole numbers.

Readings that share every fixed level and every group weigh alike, so they are first drawn
together into cells (count, mean, sum of squares about the mean); all that follows costs cells.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from workbench.errors import Refusal

Floats = npt.NDArray[np.float64]
Codes = npt.NDArray[np.integer[Any]]

MOST_LEVELS_OF_NESTING = 2
ROUNDING = 8 * np.finfo(float).eps


@dataclass(frozen=True, slots=True, kw_only=True)
class Cells:
    """Counts, centred and scaled means, their sums of squares, and where each cell belongs.

    `level_codes` holds one array a fixed factor, numbers into `levels`; `groups` one array a
    nesting level, outermost first, numbered so that inner groups of one outer group are adjacent;
    `group_rows` gives one row of the table for each group of a level.
    `centre + scale * mean` gives back the unit of the response.
    """

    n: Floats
    mean: Floats
    ss: Floats
    centre: float
    scale: float
    levels: dict[str, tuple[str, ...]]
    level_codes: tuple[Codes, ...]
    groups: tuple[Codes, ...]
    group_rows: tuple[Codes, ...]

    @property
    def readings(self) -> float:
        """The number of readings in all cells."""
        return float(self.n.sum())


def code_cells(
    data: pd.DataFrame, *, response: str, fixed: Sequence[str], nesting: Sequence[str]
) -> Cells:
    """Check the table and code it; raw readings are reduced to cells on the way.

    Raises
    ------
    Refusal
        A column is missing, the table is empty, a label is missing, a number is not finite, or all
        readings are equal.
    """
    if len(nesting) > MOST_LEVELS_OF_NESTING:
        raise Refusal(
            "too_many_nesting_levels",
            f"{len(nesting)} nesting levels were named; at most {MOST_LEVELS_OF_NESTING} fit.",
        )
    _check_table(data, [response, *fixed, *nesting])
    groups: list[Codes] = []
    for name in nesting:
        codes = _labels(data[name], name)[0]
        outer = groups[-1] if groups else np.zeros(len(codes), dtype=np.int8)
        groups.append(join(outer, codes))
    return _coded(data, response, fixed, groups, innermost=1)


def code_crossed_cells(
    data: pd.DataFrame,
    *,
    response: str,
    fixed: Sequence[str],
    random: Mapping[str, Sequence[str]],
) -> Cells:
    """Check and code a table whose groups need not lie in each other.

    `random` names each grouping and the columns whose labels together tell its groups apart.
    """
    used = dict.fromkeys(name for names in random.values() for name in names)
    _check_table(data, [response, *fixed, *(name for name in used if name not in fixed)])
    coded = {name: _labels(data[name], name)[0] for name in used}
    groups = []
    for names in random.values():
        codes: Codes = np.zeros(len(data), dtype=np.int8)
        for name in names:
            codes = join(codes, coded[name])
        groups.append(codes)
    return _coded(data, response, fixed, groups, innermost=len(groups))


def _coded(
    data: pd.DataFrame,
    response: str,
    fixed: Sequence[str],
    groups: list[Codes],
    innermost: int,
) -> Cells:
    """Code the fixed factors and the numbers; the last `innermost` groups tell the cells apart."""
    levels, level_codes = {}, []
    for name in fixed:
        levels[name], codes = _fixed_codes(data[name], name)
        level_codes.append(codes)
    group_rows = tuple(first_rows(codes) for codes in groups)
    if response == "mean" and {"n", "ss"} <= set(data.columns):
        n, mean, ss = (_numbers(data[name], name) for name in ("n", "mean", "ss"))
        _check_cells(n, ss)
        centre = float(n @ mean / n.sum())
        mean = mean - centre
    else:
        values = _numbers(data[response], response)
        centre = float(values.mean())
        n, mean, ss, first = _reduced(values - centre, [*groups[-innermost:], *level_codes])
        level_codes = [codes[first] for codes in level_codes]
        groups = [codes[first] for codes in groups]
    scale = float(np.sqrt((ss.sum() + n @ mean**2) / n.sum()))
    if scale <= ROUNDING * abs(centre):
        raise Refusal(
            "no_spread",
            f"All {n.sum():.0f} readings equal {centre:.6g}: there is no spread to judge by.",
        )
    return Cells(
        n=n,
        mean=mean / scale,
        ss=ss / scale**2,
        centre=centre,
        scale=scale,
        levels=levels,
        level_codes=tuple(codes.astype(np.int64) for codes in level_codes),
        groups=tuple(codes.astype(np.int64) for codes in groups),
        group_rows=group_rows,
    )


def join(outer: Codes, inner: Codes) -> Codes:
    """Give a number to each pair of codes that occurs, in the order of outer, then of inner."""
    many = int(inner.max()) + 1
    size = (int(outer.max()) + 1) * many
    pairs = outer.astype(np.int64)
    pairs *= many
    pairs += inner
    if size > 4 * len(pairs) + 1024:
        return narrow(pd.factorize(pairs, sort=True)[0])
    present = np.zeros(size, dtype=bool)
    present[pairs] = True
    if present.all():
        return narrow(pairs)
    return narrow(np.cumsum(present) - 1)[pairs]


def narrow(codes: Codes) -> Codes:
    """Keep codes in half the memory where they fit, as those of ten million readings do."""
    return codes.astype(np.int32) if len(codes) < np.iinfo(np.int32).max else codes


def first_rows(codes: Codes) -> Codes:
    """Give one row for each code."""
    rows = np.empty(int(codes.max()) + 1, dtype=np.int64)
    rows[codes] = np.arange(len(codes))
    return rows


def _reduced(values: Floats, keys: Sequence[Codes]) -> tuple[Floats, Floats, Floats, Codes]:
    """Draw readings with equal keys together: count, mean, sum of squares, one row of each."""
    cell: Codes = np.zeros(len(values), dtype=np.int8)
    for codes in reversed(keys):  # the factors first: few levels, and mostly all their pairs
        cell = join(codes, cell)
    n = np.bincount(cell).astype(float)
    mean = np.bincount(cell, values) / n
    ss: Floats = np.bincount(cell, (values - mean[cell]) ** 2).astype(float)
    return n, mean, ss, first_rows(cell)


def _fixed_codes(column: pd.Series, name: str) -> tuple[tuple[str, ...], Codes]:
    """Code the levels that occur, in the order of their text."""
    codes, labels = _labels(column, name)
    occurring = np.flatnonzero(np.bincount(codes, minlength=len(labels))).tolist()
    texts = {place: str(labels[place]) for place in occurring}
    levels = sorted(set(texts.values()))
    number = {text: place for place, text in enumerate(levels)}
    renumber = np.zeros(len(labels), dtype=np.int32)
    for place, text in texts.items():
        renumber[place] = number[text]
    return tuple(levels), renumber[codes]


def _labels(column: pd.Series, name: str) -> tuple[Codes, pd.Index]:
    """Code a column by its labels, refusing a missing one."""
    codes: Codes
    if isinstance(column.dtype, pd.CategoricalDtype):
        codes, labels = column.cat.codes.to_numpy(), column.cat.categories
    else:
        numbers, found = pd.factorize(column)
        codes, labels = narrow(numbers), pd.Index(found)
    missing = np.flatnonzero(codes < 0)
    if len(missing):
        raise Refusal(
            "missing_label",
            f"Column {name!r} has no label in {len(missing)} of {len(codes)} rows; "
            f"the first is row {missing[0]}, counted from 0.",
        )
    return codes, labels


def _numbers(column: pd.Series, name: str) -> Floats:
    """Give a column as floats, refusing what is not a finite number."""
    try:
        values = column.to_numpy(dtype=float, na_value=np.nan)
    except (TypeError, ValueError):
        raise Refusal("not_a_number", f"Column {name!r} holds text where numbers belong.") from None
    bad = np.flatnonzero(~np.isfinite(values))
    if len(bad):
        raise Refusal(
            "not_finite",
            f"Column {name!r} is {values[bad[0]]} in row {bad[0]}, counted from 0; "
            f"{len(bad)} of {len(values)} rows hold no finite number.",
        )
    return values


def _check_table(data: pd.DataFrame, named: Sequence[str]) -> None:
    absent = [name for name in named if name not in data.columns]
    if absent:
        raise Refusal("no_column", f"The table has no column {', '.join(map(repr, absent))}.")
    if len(set(named)) < len(named):
        raise Refusal("column_twice", f"A column is named twice among {', '.join(named)}.")
    if data.empty:
        raise Refusal("no_readings", "The table holds no readings.")


def _check_cells(n: Floats, ss: Floats) -> None:
    bad = np.flatnonzero((n < 1) | (n != np.floor(n)))
    if len(bad):
        raise Refusal(
            "bad_count",
            f"Column 'n' is {n[bad[0]]:g} in row {bad[0]}, counted from 0; "
            "a cell holds 1 reading or more, in whole numbers.",
        )
    bad = np.flatnonzero((ss < 0) | ((n == 1) & (ss != 0)))
    if len(bad):
        raise Refusal(
            "bad_sum_of_squares",
            f"Column 'ss' is {ss[bad[0]]:g} with n = {n[bad[0]]:g} in row {bad[0]}, counted "
            "from 0; a sum of squares is 0 or more, and 0 for a single reading.",
        )
