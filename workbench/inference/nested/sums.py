"""The readings of a nested design drawn together into what its likelihood needs.

Take one inner group (a bore) with n readings. Deviations about its mean vary by the residual
variance alone, so all of them enter through one cross-product matrix. Its mean, scaled by the root
of n, has variance s2 + n * v_inner, and shares with the other means of its outer group (a block)
the covariance v_outer * sqrt(n_j * n_k): a diagonal and one product of a vector with itself, whose
inverse is known. No matrix over readings, blocks or bores is ever formed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from workbench.errors import Refusal
from workbench.inference.nested.cells import Cells, Codes, Floats
from workbench.inference.nested.columns import Columns, cross_counts, fitted_means, level_sums

SPANNED = 1e-9  # share of a group's indicator outside the fixed columns, below which it is inside
NO_RESIDUAL = 1e-13  # residual sum of squares over the total one, below which it is rounding


@dataclass(frozen=True, slots=True, kw_only=True)
class NestedSums:
    """The fixed columns and the response (last) by residual deviations and by inner group.

    `within` is their cross-product over `deviations` residual directions; `means` has one row an
    inner group, divided by the root of its count `n`; `starts` is the first row of each outer
    group, or None with fewer than two levels. `components` names the variances, residual first,
    then from the inside out; `merged` those that the readings cannot tell from another. `removed`
    are the coefficients already taken out of the response.
    """

    within: Floats
    deviations: float
    means: Floats
    n: Floats
    starts: Codes | None
    components: tuple[str, ...]
    merged: tuple[str, ...]
    removed: Floats
    counts: dict[str, int]

    @property
    def readings(self) -> float:
        """The number of readings."""
        return self.deviations + len(self.n)

    @property
    def fixed(self) -> int:
        """The number of fixed columns."""
        return len(self.within) - 1


def nested_sums(cells: Cells, columns: Columns, nesting: Sequence[str]) -> NestedSums:
    """Draw the cells together by group, after leaving out the levels they cannot tell apart.

    Raises
    ------
    Refusal
        No outer group is repeated beyond the fixed columns, or the readings within the inner
        groups do not differ at all.
    """
    grouped = _grouped(cells, columns, nesting)
    left, removed = _without_fit(cells, columns, grouped)
    sums = _finished(left, columns, grouped, removed)
    check_sums(sums)
    return sums


def sums_of_part(
    left: Cells, columns: Columns, nesting: Sequence[str], removed: Floats
) -> NestedSums:
    """Draw together a part of the cells, of whose response `removed` is already taken out.

    All fixed columns stay, also those that do not vary in the part.
    """
    grouped = _grouped(left, columns, nesting)
    return _finished(left, columns, grouped, removed)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Grouped:
    """The fixed columns about the means of inner groups (`xx`), in all (`gram`), by group."""

    levels: list[tuple[str, Codes]]
    merged: tuple[str, ...]
    counts: dict[str, int]
    xx: Floats
    gram: Floats
    totals: Floats
    n: Floats

    @property
    def inner(self) -> Codes | None:
        return self.levels[-1][1] if self.levels else None


def _grouped(cells: Cells, columns: Columns, nesting: Sequence[str]) -> _Grouped:
    levels, merged = _separable(cells, nesting)
    kept = columns.kept
    gram = cross_counts(cells, slice(None), cells.n)[np.ix_(kept, kept)]
    xx, totals, n = _by_group(cells, kept, gram, levels[-1][1] if levels else None)
    return _Grouped(
        levels=levels,
        merged=merged,
        counts={
            name: int(groups.max()) + 1 for name, groups in zip(nesting, cells.groups, strict=True)
        },
        xx=xx,
        gram=gram,
        totals=totals,
        n=n,
    )


def _finished(cells: Cells, columns: Columns, grouped: _Grouped, removed: Floats) -> NestedSums:
    levels, n = grouped.levels, grouped.n
    xy, yy, response = _response(cells, columns.kept, grouped.inner, n)
    root = np.sqrt(n)
    return NestedSums(
        within=np.block([[grouped.xx, xy[:, None]], [xy[None, :], np.array([[yy]])]]),
        deviations=cells.readings - len(n),
        means=np.column_stack([grouped.totals / root[:, None], response * root]),
        n=n,
        starts=_starts(levels[1][1], levels[0][1]) if len(levels) == 2 else None,
        components=("residual", *(name for name, _ in reversed(levels))),
        merged=grouped.merged,
        removed=removed,
        counts={**grouped.counts, "reading": round(cells.readings)},
    )


def _separable(
    cells: Cells, nesting: Sequence[str]
) -> tuple[list[tuple[str, Codes]], tuple[str, ...]]:
    """Leave out a level whose groups hold one reading each, or are alone in their outer group."""
    levels = list(zip(nesting, cells.groups, strict=True))
    merged = []
    while levels:
        name, inner = levels[-1]
        alone = len(levels) > 1 and levels[-2][1].max() == inner.max()
        if not alone and np.bincount(inner, cells.n).max() > 1:
            break
        merged.append(name)
        levels.pop()
    return levels, tuple(merged)


def _by_group(
    cells: Cells, kept: Codes, gram: Floats, inner: Codes | None
) -> tuple[Floats, Floats, Floats]:
    """Give X'X about the means of the inner groups, the columns' sums by group, and the counts."""
    if inner is None:
        return gram, np.zeros((0, len(kept))), np.zeros(0)
    count = int(inner.max()) + 1
    n: Floats = np.bincount(inner, cells.n, count).astype(float)
    totals = level_sums(cells, inner, count, cells.n)[:, kept]
    shares = totals / n[:, None]
    xx = gram - totals.T @ shares
    constant = np.flatnonzero(((shares == 0) | (shares == 1)).all(axis=0))
    xx[constant, :] = 0.0  # exactly, where a column does not vary within any group
    xx[:, constant] = 0.0
    return xx, totals, n


def _without_fit(cells: Cells, columns: Columns, grouped: _Grouped) -> tuple[Cells, Floats]:
    """Take a first fit out of the response, that large differences do not drown small variances.

    The likelihood does not depend on it. Columns that vary within inner groups are fitted there,
    free of what the groups share; the others by least squares on what is left.
    """
    xx, gram = grouped.xx, grouped.gram
    xy = _response(cells, columns.kept, grouped.inner, grouped.n)[0]
    removed: Floats = np.linalg.lstsq(xx, xy, rcond=SPANNED)[0].astype(np.float64)
    left = replace(cells, mean=cells.mean - fitted_means(cells, columns, removed))
    constant = np.flatnonzero(np.diag(xx) == 0)
    sums = _response(left, columns.kept, None, grouped.n)[0]
    removed[constant] = np.linalg.solve(gram[np.ix_(constant, constant)], sums[constant])
    mean = cells.mean - fitted_means(cells, columns, removed)
    return replace(cells, mean=mean), removed


def _response(
    cells: Cells, kept: Codes, inner: Codes | None, n: Floats
) -> tuple[Floats, float, Floats]:
    """Give X'y and y'y about the means of the inner groups, and these means."""
    means, deviation = np.zeros(0), cells.mean
    if inner is not None:
        means = np.bincount(inner, cells.n * cells.mean, len(n)) / n
        deviation = cells.mean - means[inner]
    together = np.zeros(len(deviation), dtype=np.int64)
    xy = level_sums(cells, together, 1, cells.n * deviation)[0, kept]
    return xy, float(cells.ss.sum() + cells.n @ deviation**2), means


def _starts(inner: Codes, outer: Codes) -> Codes:
    """Give the first inner group of each outer group; inner groups come in the outer's order."""
    outer_of = np.empty(int(inner.max()) + 1, dtype=np.int64)
    outer_of[inner] = outer
    return np.flatnonzero(np.diff(outer_of, prepend=-1))


def check_sums(sums: NestedSums) -> None:
    """Refuse sums that no spread can be judged by, between the outer groups or of readings."""
    if len(sums.components) > 1:
        _check_replication(sums)
    _check_residual(sums)


def _check_replication(sums: NestedSums) -> None:
    """Refuse where the fixed columns explain every outer group: no spread between them is left."""
    x = sums.means[:, :-1]
    gram = sums.within[:-1, :-1] + x.T @ x
    rows, size, name = x * np.sqrt(sums.n)[:, None], sums.n, sums.components[-1]
    if sums.starts is not None:
        rows = np.add.reduceat(rows, sums.starts, axis=0)
        size = np.add.reduceat(size, sums.starts)
    explained = np.einsum("ij,ij->i", rows, np.linalg.solve(gram, rows.T).T) / size
    if (1 - explained).max() < SPANNED:
        raise Refusal(
            "no_replication",
            f"The fixed factors tell every {name} apart (one {name} a level): how much one {name} "
            f"differs from the next cannot be seen, and no difference can be judged without it.",
        )


def _check_residual(sums: NestedSums) -> None:
    """Refuse where nothing is left to vary, or the left-over readings do not vary at all."""
    if sums.readings <= sums.fixed:
        raise Refusal(
            "no_replication",
            f"{sums.readings:.0f} readings for {sums.fixed} fixed columns leave none to judge "
            "the spread by.",
        )
    check_residual_spread(sums)


def check_residual_spread(sums: NestedSums) -> None:
    """Refuse where readings of one group, their fixed columns taken out, do not differ at all."""
    left, free = residual_squares(sums)
    total = sums.within[-1, -1] + sums.means[:, -1] @ sums.means[:, -1]
    nothing = total <= sums.readings * NO_RESIDUAL**2  # of a response scaled to a spread of 1
    if nothing or (free > 0 and left <= NO_RESIDUAL * total):
        raise no_residual_spread(sums.readings)


def no_residual_spread(readings: float) -> Refusal:
    """Say that a residual spread of zero gives no likelihood."""
    return Refusal(
        "no_residual_spread",
        f"Beyond the fixed factors and the groups, the {readings:.0f} readings do not differ "
        "at all: there is no repeat spread to judge by.",
    )


def residual_squares(sums: NestedSums) -> tuple[float, float]:
    """Give the sum of squares within inner groups less the fixed columns, and its freedom."""
    xx, xy, yy = sums.within[:-1, :-1], sums.within[:-1, -1], sums.within[-1, -1]
    coefficients, _, rank, _ = np.linalg.lstsq(xx, xy, rcond=SPANNED)
    return float(yy - coefficients @ xy), sums.deviations - int(rank)
