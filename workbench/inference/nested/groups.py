"""What each group of a fitted nested model contributes: its products with the readings.

Write z for the indicator of one group over all readings. The predicted effect of the group, its
error and its standardised form need only z'Wz, z'WX, z'Py and z'Pz, with V, W and P as in the
likelihood; how well they are known when the variances are estimated needs z'W V_r W z,
z'W V_r W X and the same with two V. As V is made of blocks, all of them are sums inside the block.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from workbench.inference.nested.cells import Floats
from workbench.inference.nested.likelihood import Likelihood
from workbench.inference.nested.products import GroupAlgebra
from workbench.inference.nested.sums import NestedSums


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GroupProducts:
    """One row a group: z'Wz (`own`), z'WX (`fixed`), z'Py (`along`) and z'Pz (`free`)."""

    own: Floats
    fixed: Floats
    along: Floats
    free: Floats

    @property
    def standardised(self) -> Floats:
        """The predicted effect over its own standard deviation: near standard normal."""
        alike = np.zeros_like(self.along)
        return np.divide(self.along, np.sqrt(np.maximum(self.free, 0)), out=alike, where=self.told)

    @property
    def told(self) -> np.ndarray:
        """Which groups the fixed columns leave something to be seen of."""
        free: np.ndarray = self.free > 1e-9 * self.own
        return free


def inner_products(sums: NestedSums, at: Likelihood) -> GroupProducts:
    """Give the products of the inner groups, in the order of `sums.n`."""
    groups = GroupAlgebra(sums, at.theta)
    own = 1 / groups.a
    if groups.starts is not None:
        own = own - np.repeat(groups.kappa, groups.sizes) * groups.d**2
    return _products(at, sums.n * own, groups.root[:, None] * groups.times_w(sums.means))


def outer_products(sums: NestedSums, at: Likelihood) -> GroupProducts:
    """Give the products of the outermost groups."""
    groups = GroupAlgebra(sums, at.theta)
    if groups.starts is None:
        return inner_products(sums, at)
    solved = groups.by_outer(groups.root[:, None] * groups.times_w(sums.means))
    return _products(at, groups.q * groups.omega, solved)


def _products(at: Likelihood, own: Floats, solved: Floats) -> GroupProducts:
    fixed = solved[:, :-1]
    return GroupProducts(
        own=own,
        fixed=fixed,
        along=solved[:, -1] - fixed @ at.coefficients,
        free=own - np.einsum("gi,ij,gj->g", fixed, at.covariance, fixed),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bordered:
    """For each outermost group the products of (X, z): X first, its indicator z as last column.

    `zero` is (X, z)'W (X, z), one matrix a group; `one` and `two` the same with W V_r W and
    W V_r W V_s W between.
    """

    zero: Floats
    one: Floats
    two: Floats


def bordered(sums: NestedSums, at: Likelihood) -> Bordered:
    """Border the products of the fixed columns by the indicator of each outermost group."""
    groups = GroupAlgebra(sums, at.theta)
    many, wide = len(at.theta), sums.fixed
    by_outer = (lambda rows: rows) if groups.starts is None else groups.by_outer
    root = groups.root[:, None]
    z = groups.times_w(root)
    x = groups.times_w(sums.means[:, :-1])
    varied_z = [groups.times_v(r, z) for r in range(many)]
    varied_x = [groups.times_v(r, x) for r in range(many)]
    back = [groups.times_w(varied) for varied in varied_z]
    count = len(by_outer(root))
    zero = np.empty((count, wide + 1, wide + 1))
    one = np.empty((count, many, wide + 1, wide + 1))
    two = np.empty((count, many, many, wide + 1, wide + 1))
    products = at.products
    _fill(zero, products.zero, by_outer(root * x), None, by_outer(root * z)[:, 0])
    for r in range(many):
        own, along = by_outer(varied_z[r] * z)[:, 0], by_outer(varied_z[r] * x)
        _fill(one[:, r], products.one[r], along, None, own)
        for s in range(many):
            own = by_outer(varied_z[s] * back[r])[:, 0]
            row = by_outer(back[r] * varied_x[s])
            column = by_outer(back[s] * varied_x[r])
            _fill(two[:, r, s], products.two[r, s], row, column, own)
    return Bordered(zero=zero, one=one, two=two)


def _fill(
    target: Floats, whole: Floats, row: Floats, column: Floats | None, corner: Floats
) -> None:
    target[:, :-1, :-1] = whole[:-1, :-1]
    target[:, -1, :-1] = row
    target[:, :-1, -1] = row if column is None else column
    target[:, -1, -1] = corner
