"""A table of readings, or of cells, coded for the nested model: counts, means and whole numbers.

Readings that share every fixed level and every group weigh alike, so they are first drawn
together into cells (count, mean, sum of squares about the mean); all that follows costs cells.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from workbench.errors import Refusal

Floats = npt.NDArray[np.float64]
Codes = npt.NDArray[np.int64]

MOST_COLUMNS = 200
MOST_LEVELS_OF_NESTING = 2
ALIASED = 1e-9  # share of a column left over by the columns before it, below which it adds nothing
ROUNDING = 8 * np.finfo(float).eps


@dataclass(frozen=True, slots=True, kw_only=True)
class Cells:
    """Counts, centred and scaled means, their sums of squares, and where each cell belongs.

    `level_codes` holds one array a fixed factor, numbers into `levels`; `groups` one array a
    nesting level, outermost first, numbered so that inner groups of one outer group are adjacent.
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

    @property
    def readings(self) -> float:
        """The number of readings in all cells."""
        return float(self.n.sum())


@dataclass(frozen=True, slots=True, kw_only=True)
class Columns:
    """The fixed columns: an intercept, then every level of a factor but its first.

    `kept` numbers the columns that add something to those before them; each row of `ties` says
    how one of the others hangs together with them, so that `ties @ weights == 0` exactly for
    those combinations of the columns that the readings can tell.
    """

    names: tuple[str, ...]
    kept: Codes
    ties: Floats

    @property
    def aliased(self) -> tuple[str, ...]:
        """The names of the columns that add nothing to those before them."""
        kept = set(self.kept.tolist())
        return tuple(name for place, name in enumerate(self.names) if place not in kept)


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
    _check_table(data, response, fixed, nesting)
    levels, level_codes = {}, []
    for name in fixed:
        levels[name], codes = _fixed_codes(data[name], name)
        level_codes.append(codes)
    groups: list[Codes] = []
    for name in nesting:
        codes = _labels(data[name], name)[0]
        outer = groups[-1] if groups else np.zeros(len(codes), dtype=np.int64)
        groups.append(join(outer, codes))
    if response == "mean" and {"n", "ss"} <= set(data.columns):
        n, mean, ss = (_numbers(data[name], name) for name in ("n", "mean", "ss"))
        _check_cells(n, ss)
        centre = float(n @ mean / n.sum())
        mean = mean - centre
    else:
        values = _numbers(data[response], response)
        centre = float(values.mean())
        n, mean, ss, first = _reduced(values - centre, [*groups[-1:], *level_codes])
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
        level_codes=tuple(level_codes),
        groups=tuple(groups),
    )


def code_columns(cells: Cells) -> Columns:
    """Name the fixed columns and find those that add nothing to the ones before them.

    Whether a column adds something depends on which combinations of levels were read, never on
    how often, so each combination counts once here.
    """
    names = ["intercept"]
    for factor, levels in cells.levels.items():
        names += [f"{factor}={level}" for level in levels[1:]]
    if len(names) > MOST_COLUMNS:
        raise Refusal(
            "too_many_levels",
            f"The fixed factors have {len(names) - 1} levels beyond their first; "
            f"at most {MOST_COLUMNS - 1} can be fitted.",
        )
    combination = np.zeros(len(cells.n), dtype=np.int64)
    for codes in cells.level_codes:
        combination = join(combination, codes)
    first = _first_rows(combination)
    gram = cross_counts(cells, first, np.ones(len(first)))
    kept: list[int] = []
    ties = []
    for place in range(len(names)):
        weights = np.linalg.solve(gram[np.ix_(kept, kept)], gram[kept, place])
        left = gram[place, place] - weights @ gram[kept, place]
        if left > ALIASED * gram[place, place]:
            kept.append(place)
        else:
            tie = np.zeros(len(names))
            tie[kept], tie[place] = -weights, 1.0
            ties.append(tie)
    return Columns(
        names=tuple(names),
        kept=np.array(kept, dtype=np.int64),
        ties=np.array(ties).reshape(-1, len(names)),
    )


def cross_counts(cells: Cells, rows: Codes | slice, weights: Floats) -> Floats:
    """Give X'WX of the fixed columns over `rows` by counting, without laying out X."""
    blocks = [(np.zeros(len(weights), dtype=np.int64), 1, 0)]
    for codes, levels in zip(cells.level_codes, cells.levels.values(), strict=True):
        blocks.append((codes[rows], len(levels), 1))
    return np.block(
        [
            [
                np.bincount(first * more + second, weights, many * more).reshape(many, more)[
                    skip:, skip_more:
                ]
                for second, more, skip_more in blocks
            ]
            for first, many, skip in blocks
        ]
    )


def level_sums(cells: Cells, groups: Codes, count: int, weights: Floats) -> Floats:
    """Sum `weights` by group for each fixed column: `count` rows, one column a fixed column."""
    sums = [np.bincount(groups, weights, count)[:, None]]
    for codes, levels in zip(cells.level_codes, cells.levels.values(), strict=True):
        many = len(levels)
        table = np.bincount(groups * many + codes, weights, count * many)
        sums.append(table.reshape(count, many)[:, 1:])
    return np.hstack(sums)


def join(outer: Codes, inner: Codes) -> Codes:
    """Give a number to each pair of codes that occurs, in the order of outer, then of inner."""
    many = int(inner.max()) + 1
    size = (int(outer.max()) + 1) * many
    pairs = outer * many + inner if size > many else inner
    if size <= 4 * len(pairs) + 1024:
        present = np.zeros(size, dtype=bool)
        present[pairs] = True
        if present.all():
            return pairs
        numbers: Codes = (np.cumsum(present) - 1)[pairs]
        return numbers
    return pd.factorize(pairs, sort=True)[0].astype(np.int64, copy=False)


def _first_rows(codes: Codes) -> Codes:
    """Give one row for each code."""
    rows = np.empty(int(codes.max()) + 1, dtype=np.int64)
    rows[codes] = np.arange(len(codes))
    return rows


def _reduced(values: Floats, keys: Sequence[Codes]) -> tuple[Floats, Floats, Floats, Codes]:
    """Draw readings with equal keys together: count, mean, sum of squares, one row of each."""
    cell = np.zeros(len(values), dtype=np.int64)
    for codes in reversed(keys):  # the factors first: few levels, and mostly all their pairs
        cell = join(codes, cell)
    n = np.bincount(cell).astype(float)
    mean = np.bincount(cell, values) / n
    ss: Floats = np.bincount(cell, (values - mean[cell]) ** 2).astype(float)
    return n, mean, ss, _first_rows(cell)


def _fixed_codes(column: pd.Series, name: str) -> tuple[tuple[str, ...], Codes]:
    """Code the levels that occur, in the order of their text."""
    codes, labels = _labels(column, name)
    occurring = np.flatnonzero(np.bincount(codes, minlength=len(labels))).tolist()
    texts = {place: str(labels[place]) for place in occurring}
    levels = sorted(set(texts.values()))
    number = {text: place for place, text in enumerate(levels)}
    renumber = np.zeros(len(labels), dtype=np.int64)
    for place, text in texts.items():
        renumber[place] = number[text]
    return tuple(levels), renumber[codes]


def _labels(column: pd.Series, name: str) -> tuple[Codes, pd.Index]:
    """Code a column by its labels, refusing a missing one."""
    if isinstance(column.dtype, pd.CategoricalDtype):
        codes, labels = column.cat.codes.to_numpy(), column.cat.categories
    else:
        codes, found = pd.factorize(column)
        labels = pd.Index(found)
    missing = np.flatnonzero(codes < 0)
    if len(missing):
        raise Refusal(
            "missing_label",
            f"Column {name!r} has no label in {len(missing)} of {len(codes)} rows; "
            f"the first is row {missing[0]}, counted from 0.",
        )
    return codes.astype(np.int64, copy=False), labels


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


def _check_table(
    data: pd.DataFrame, response: str, fixed: Sequence[str], nesting: Sequence[str]
) -> None:
    if len(nesting) > MOST_LEVELS_OF_NESTING:
        raise Refusal(
            "too_many_nesting_levels",
            f"{len(nesting)} nesting levels were named; at most {MOST_LEVELS_OF_NESTING} fit.",
        )
    named = [response, *fixed, *nesting]
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
