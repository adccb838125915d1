"""The fixed columns of a nested model: which there are, and which add something."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from workbench.errors import Refusal
from workbench.inference.nested.cells import Cells, Codes, Floats, first_rows, join

MOST_COLUMNS = 200
ALIASED = 1e-9  # share of a column left over by the columns before it, below which it adds nothing


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
    combination: Codes = np.zeros(len(cells.n), dtype=np.int64)
    for codes in cells.level_codes:
        combination = join(combination, codes)
    first = first_rows(combination)
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
    blocks: list[tuple[Codes, int, int]] = [(np.zeros(len(weights), dtype=np.int64), 1, 0)]
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


def fitted_means(cells: Cells, columns: Columns, coefficients: Floats) -> Floats:
    """Give X b for each cell, from the coefficients of the kept columns."""
    full = np.zeros(len(columns.names))
    full[columns.kept] = coefficients
    fitted, place = np.full(len(cells.n), full[0]), 1
    for codes, levels in zip(cells.level_codes, cells.levels.values(), strict=True):
        more = len(levels) - 1
        fitted += np.append(0.0, full[place : place + more])[codes]
        place += more
    return fitted


def laid_out(cells: Cells, columns: Columns) -> Floats:
    """Write X out, one row a cell, one column a kept column."""
    parts = [np.ones((len(cells.n), 1))]
    for codes, levels in zip(cells.level_codes, cells.levels.values(), strict=True):
        parts.append((codes[:, None] == np.arange(1, len(levels))).astype(float))
    written: Floats = np.hstack(parts)[:, columns.kept]
    return written
