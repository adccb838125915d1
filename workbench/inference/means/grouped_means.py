"""Group means on a common footing: one mean a group, factors shared by all, by least squares.

The groups are absorbed (their means swept out), so the cost grows with rows, not with groups
squared.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from workbench.errors import Refusal
from workbench.inference.grouping import Codes, group_codes

Values = NDArray[np.float64]

ALIASED = 1e-10  # share of the readings below which a direction of the factors was not varied


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Weighing:
    """A contrast of group means written out: its estimate and the weight of every row's mean.

    `like_with_like` is False when the factors differ between the groups in a way the rows cannot
    correct for.
    """

    estimate: float
    weights: Values
    like_with_like: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GroupedMeans:
    """Every group's mean at equal shares of each factor's levels.

    `groups` holds the labels, one row a group, in the order of `means`. `residual_variance` is
    what is left within groups beside the factors, on `residual_df` degrees of freedom (NaN on 0);
    `repeat_variance` is the pooled variance within rows, on `repeat_df`.
    """

    groups: pd.DataFrame
    means: Values
    residual_variance: float
    residual_df: int
    repeat_variance: float
    repeat_df: int
    _codes: Codes
    _n: Values
    _y: Values
    _x: Values
    _within: Values
    _inverse: Values
    _rank: int

    def weigh(self, coefficients: Values) -> Weighing:
        """Write the sum of `coefficients` times the group means as weights of the rows.

        The coefficients, one a group, add up to 0.
        """
        if coefficients.shape != self.means.shape or abs(coefficients.sum()) > 1e-9:
            raise Refusal("bad_contrast", "A contrast has one coefficient a group; they add to 0.")
        share = coefficients[self._codes] * self._n / np.bincount(self._codes, self._n)[self._codes]
        imbalance = share @ self._x
        turned = self._inverse @ imbalance
        weights = share - self._n * (self._within @ turned)
        left = imbalance - (self._within * self._n[:, None]).T @ (self._within @ turned)
        return Weighing(
            estimate=float(weights @ self._y),
            weights=weights,
            like_with_like=bool(np.abs(left).max(initial=0.0) < 1e-6),
        )

    def variance_of(self, weights: Values) -> float:
        """Give the sum of squared weights over counts: the variance for unit error variance."""
        return float((weights**2 / self._n).sum())


def grouped_means(
    data: pd.DataFrame, *, groups: Sequence[str], factors: Sequence[str]
) -> GroupedMeans:
    """Answer what each group's mean would be had all been read at the same levels of the factors.

    Parameters
    ----------
    data : DataFrame
        One row a cell: `n`, `mean`, `ss` (sum of squares about the cell's mean), the columns of
        `groups` (together they name a group) and of `factors` (text).
    groups, factors : sequence of str
        Columns. A factor that does not vary within groups corrects nothing.

    Returns
    -------
    GroupedMeans

    Raises
    ------
    Refusal
        `no_readings` for an empty table.
    """
    if data.empty:
        raise Refusal("no_readings", "There are no readings to take means of.")
    codes, first = group_codes(data, groups)
    labels = pd.DataFrame({name: data[name].array[first] for name in groups})
    n = data["n"].to_numpy(dtype=float)
    y = data["mean"].to_numpy(dtype=float)
    ss = data["ss"].to_numpy(dtype=float)
    total: Values = np.bincount(codes, n).astype(float)
    x = _columns(data, factors)
    centre = float(n @ y / n.sum())
    y0 = y - centre
    within = x - _group_means(x, codes, n, total)[codes]
    y_within = y0 - _group_means(y0[:, None], codes, n, total)[codes, 0]
    inverse, rank = _pseudo_inverse((within * n[:, None]).T @ within, float(n.sum()))
    slope = inverse @ ((within * n[:, None]).T @ y_within)
    rest = y_within - within @ slope
    degrees = round(n.sum()) - len(total) - rank
    repeats = round(n.sum()) - len(n)
    means = _group_means((y0 - x @ slope)[:, None], codes, n, total)[:, 0] + centre
    return GroupedMeans(
        groups=labels,
        means=means,
        residual_variance=float(n @ rest**2 + ss.sum()) / degrees if degrees > 0 else math.nan,
        residual_df=max(degrees, 0),
        repeat_variance=float(ss.sum()) / repeats if repeats > 0 else math.nan,
        repeat_df=repeats,
        _codes=codes,
        _n=n,
        _y=y0,
        _x=x,
        _within=within,
        _inverse=inverse,
        _rank=rank,
    )


def _columns(data: pd.DataFrame, factors: Sequence[str]) -> Values:
    """Code each factor against its first level, centred so that all levels weigh alike."""
    blocks = [np.zeros((len(data), 0))]
    for factor in factors:
        codes, levels = pd.factorize(data[factor], sort=True)
        blocks.append((codes[:, None] == np.arange(1, len(levels))) - 1 / len(levels))
    return np.hstack(blocks)


def _group_means(x: Values, codes: Codes, n: Values, total: Values) -> Values:
    sums = np.empty((len(total), x.shape[1]))
    for column in range(x.shape[1]):
        sums[:, column] = np.bincount(codes, n * x[:, column], minlength=len(total))
    return sums / total[:, None]


def _pseudo_inverse(gram: Values, readings: float) -> tuple[Values, int]:
    """Invert a normal matrix within its range; give the rank beside it."""
    values, vectors = np.linalg.eigh(gram)
    sound = values > ALIASED * readings
    kept = vectors[:, sound]
    return (kept / values[sound]) @ kept.T, int(sound.sum())
