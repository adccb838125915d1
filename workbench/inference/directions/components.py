"""Scatter of vectors split by level: between outer groups, between inner groups, and what is left.

Each level adds a random vector of its own with its own covariance. The covariances are found by
equating the nested mean squares (2 x 2 matrices) to what is expected of them, level by level from
the inside; a difference of mean squares that is no covariance loses its negative part, measured
against the level inside it, so that the answer turns with the axes and scales with the unit.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import fdtrc

from workbench.errors import Refusal
from workbench.inference.directions.hotelling import clean_vectors

Values = NDArray[np.float64]
Codes = NDArray[np.int64]

NOTHING = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True)
class VectorTest:
    """Wilks' lambda of a level against the level inside it, as its F; exact when balanced."""

    statistic: float
    upper_degrees_of_freedom: float
    lower_degrees_of_freedom: float
    p_value: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class VectorComponents:
    """Covariances (2 x 2) of the levels, by name: outer, inner, then `residual`.

    Attributes
    ----------
    covariances
        By level. A level of which each group holds one vector only is not told from the level
        inside it and is left out; `merged` names it.
    boundary
        Levels whose covariance lost a negative part.
    tests
        By level but the residual: 'this level adds nothing'.
    counts
        Groups by level; vectors under `residual`.
    """

    covariances: dict[str, Values]
    boundary: tuple[str, ...]
    merged: tuple[str, ...]
    tests: dict[str, VectorTest]
    counts: dict[str, int]

    def standard_deviation(self, level: str) -> float:
        """Give the root mean square of a level's two axes: its scatter along any one direction."""
        return math.sqrt(float(np.trace(self.covariances[level])) / 2)

    def share(self, level: str) -> float:
        """Give the share of the whole scatter (mean squared length) that a level makes, 0 to 1."""
        whole = sum(float(np.trace(part)) for part in self.covariances.values())
        return float(np.trace(self.covariances[level])) / whole if whole > 0 else math.nan


def vector_components(vectors: ArrayLike, levels: dict[str, ArrayLike]) -> VectorComponents:
    """Answer which level makes vectors differ.

    Parameters
    ----------
    vectors : array_like
        Rows (x, y).
    levels : dict of str to array_like
        One or two levels, outermost first: the group of each vector. Inner labels need only be
        unique within their outer group.

    Raises
    ------
    Refusal
        `bad_levels`; `one_group` where there is one outer group only; `no_replication` where no
        level repeats; `not_vectors`, `not_finite`, `unequal_lengths`.

    References
    ----------
    Searle, S. R., Casella, G., McCulloch, C. E. (1992). Variance Components, section 5.6 (the
    coefficients of unbalanced nested mean squares); Amemiya, Y. (1985). What should be done when an
    estimated between-group covariance matrix is not nonnegative definite? American Statistician
    39, 112-117. Both from memory.

    Examples
    --------
    >>> found = vector_components([[0.1, 0.2], [0.3, 0.1], [1.1, 0.9], [1.2, 1.3]],
    ...                           {"block": ["a", "a", "b", "b"]})
    >>> f"{found.standard_deviation('block'):.3f}, {found.standard_deviation('residual'):.3f}"
    '0.668, 0.166'
    """
    rows = clean_vectors(vectors)
    groups = _codes(levels, len(rows))
    kept, merged = _replicated(groups)
    if not kept:
        raise Refusal("no_replication", "Every group holds one vector; no level can be told apart.")
    if int(next(iter(kept.values())).max()) == 0:
        raise Refusal("one_group", f"There is one {next(iter(kept))} only; two are needed.")
    squares, df = _mean_squares(rows, list(kept.values()))
    coefficients = _coefficients(list(kept.values()))
    names = [*kept, "residual"]
    found, boundary = _from_inside(names, squares, coefficients)
    tests = {
        name: _wilks(squares[at], df[at], squares[at + 1], df[at + 1])
        for at, name in enumerate(names[:-1])
        if df[at + 1] > 1
    }
    counts = {name: int(codes.max()) + 1 for name, codes in kept.items()}
    return VectorComponents(
        covariances={name: found[name] for name in names},
        boundary=tuple(boundary),
        merged=merged,
        tests=tests,
        counts=counts | {"residual": len(rows)},
    )


def _codes(levels: dict[str, ArrayLike], count: int) -> dict[str, Codes]:
    """Give each level its group numbers, inner groups told apart by their outer one."""
    if not 1 <= len(levels) <= 2:
        raise Refusal("bad_levels", f"Give one level or two, not {len(levels)}.")
    answer: dict[str, Codes] = {}
    outer = np.zeros(count, dtype=np.int64)
    for name, labels in levels.items():
        of = np.asarray(labels).astype(str)
        if of.shape != (count,):
            raise Refusal(
                "unequal_lengths", f"There are {count} vectors and {of.size} labels of {name}."
            )
        _, own = np.unique(of, return_inverse=True)
        _, codes = np.unique(outer * (own.max() + 1) + own, return_inverse=True)
        answer[name] = outer = codes.astype(np.int64)
    return answer


def _replicated(groups: dict[str, Codes]) -> tuple[dict[str, Codes], tuple[str, ...]]:
    """Leave out a level that repeats nothing inside it, or is alone in each outer group."""
    kept, merged = dict(groups), []
    for name in reversed(groups):
        codes = list(kept.values())
        sizes = np.bincount(kept[name])
        alone = len(codes) > 1 and name != next(iter(kept)) and codes[0].max() == kept[name].max()
        if sizes.max() == 1 or alone:
            merged.append(name)
            del kept[name]
    return kept, tuple(reversed(merged))


def _mean_squares(rows: Values, groups: list[Codes]) -> tuple[list[Values], list[int]]:
    """Give the mean square of each level about the level outside it, the residual last."""
    fitted = [np.broadcast_to(rows.mean(axis=0), rows.shape), *(_means(rows, g) for g in groups)]
    fitted.append(rows)
    counts = [1, *(int(g.max()) + 1 for g in groups), len(rows)]
    squares, df = [], []
    for at in range(len(groups) + 1):
        between = fitted[at + 1] - fitted[at]
        df.append(counts[at + 1] - counts[at])
        squares.append(between.T @ between / df[-1])
    return squares, df


def _means(rows: Values, groups: Codes) -> Values:
    sizes = np.bincount(groups)
    sums = np.stack([np.bincount(groups, weights=column) for column in rows.T], axis=1)
    means: Values = (sums / sizes[:, None])[groups]
    return means


def _coefficients(groups: list[Codes]) -> list[list[float]]:
    """Give what each level (columns) adds to the expected mean square of each level (rows).

    Row and column run outermost first, without the residual, which adds 1 everywhere.
    """
    total = groups[0].size
    everything = np.zeros(total, dtype=np.int64)
    chain = [everything, *groups]
    counts = [int(g.max()) + 1 for g in chain]
    answer = []
    for row in range(len(groups)):
        df = counts[row + 1] - counts[row]
        answer.append(
            [
                (_spread(groups[column], chain[row + 1]) - _spread(groups[column], chain[row])) / df
                if column >= row
                else 0.0
                for column in range(len(groups))
            ]
        )
    return answer


def _spread(inner: Codes, outer: Codes) -> float:
    """Sum over outer groups of the squared sizes of the inner groups in them over their size."""
    sizes = np.bincount(inner).astype(float)
    first = np.zeros(sizes.size, dtype=np.int64)
    first[inner] = outer
    return float((np.bincount(first, weights=sizes**2) / np.bincount(outer)).sum())


def _from_inside(
    names: list[str], squares: list[Values], coefficients: list[list[float]]
) -> tuple[dict[str, Values], list[str]]:
    found, boundary = {"residual": squares[-1]}, []
    for at in range(len(names) - 2, -1, -1):
        inside = squares[-1] + sum(
            coefficients[at][inner] * found[names[inner]] for inner in range(at + 1, len(names) - 1)
        )
        difference, cut = _nonnegative(squares[at] - inside, inside)
        found[names[at]] = difference / coefficients[at][at]
        if cut:
            boundary.append(names[at])
    return found, boundary[::-1]


def _nonnegative(difference: Values, inside: Values) -> tuple[Values, bool]:
    """Take the negative part off a difference of mean squares, in the measure of `inside`."""
    values, axes = np.linalg.eigh(inside)
    if values[0] <= NOTHING * max(values[1], float(np.abs(difference).max())):
        root, back = np.eye(2), np.eye(2)
    else:
        root = axes * np.sqrt(values) @ axes.T
        back = axes / np.sqrt(values) @ axes.T
    parts, turned = np.linalg.eigh(back @ difference @ back)
    cut = bool(parts[0] < 0)
    shaped = root @ turned
    return shaped * np.maximum(parts, 0) @ shaped.T, cut


def _wilks(upper: Values, df: int, lower: Values, free: int) -> VectorTest:
    """Turn Wilks' lambda of two 2 x 2 mean squares into F; with df = 1 it is Hotelling's."""
    within, both = lower * free, lower * free + upper * df
    whole = float(np.linalg.det(both))
    ratio = float(np.linalg.det(within)) / whole if whole > 0 else math.nan
    if df == 1:
        above, below = 2.0, free - 1.0
        statistic = (1 - ratio) / ratio * below / above if ratio > 0 else math.inf
    else:
        root = math.sqrt(ratio) if ratio >= 0 else math.nan
        above, below = 2.0 * df, 2.0 * (free - 1)
        statistic = (1 - root) / root * below / above if root > 0 else math.inf
    return VectorTest(
        statistic=statistic,
        upper_degrees_of_freedom=above,
        lower_degrees_of_freedom=below,
        p_value=float(fdtrc(above, below, statistic)),
    )
