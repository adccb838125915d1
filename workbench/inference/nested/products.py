"""The products a nested design gives its likelihood, without any matrix over its readings.

Deviations about the means of inner groups (bores) enter by residual variance alone; the scaled
means of the bores of one outer group (block) have V_0 = I, V_1 = diag(n) and
V_2 = sqrt(n) sqrt(n)'.

There, with a_j = s2 + n_j v_inner, d_j = sqrt(n_j) / a_j, q = sum n_j / a_j,
omega = 1 / (1 + v_outer q) and kappa = v_outer omega, W = diag(1/a) - kappa d d',
W sqrt(n) = omega d and sqrt(n)'W sqrt(n) = omega q.

References
----------
Searle, S. R., Casella, G. and McCulloch, C. E. (1992). Variance Components. Wiley. Chapter 6.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from workbench.inference.nested.cells import Floats
from workbench.inference.nested.likelihood import Products
from workbench.inference.nested.sums import NestedSums, residual_squares

TRACE = 0.01  # share of what a sum of squares holds already, that a start at least adds to it


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NestedDesign:
    """Nested sums, asked for what a likelihood needs."""

    sums: NestedSums

    @property
    def components(self) -> tuple[str, ...]:
        """The names of the variances, residual first."""
        return self.sums.components

    @property
    def residuals(self) -> tuple[int, ...]:
        """The places of the variances that cannot be zero."""
        return (0,)

    @property
    def readings(self) -> float:
        """The number of readings."""
        return self.sums.readings

    @property
    def fixed(self) -> int:
        """The number of fixed columns."""
        return self.sums.fixed

    def start(self) -> Floats:
        """Give variances to start from."""
        return _start(self.sums)

    def products(self, theta: Floats) -> Products:
        """Give the products at the variances `theta`."""
        return _products(self.sums, theta)


def _products(sums: NestedSums, theta: Floats) -> Products:
    """Sum all products over deviations and groups; see the head of this file for the symbols."""
    many, wide = len(theta), len(sums.within)
    s2 = float(theta[0])
    one, two = np.zeros((many, wide, wide)), np.zeros((many, many, wide, wide))
    one[0], two[0, 0] = sums.within / s2**2, sums.within / s2**3
    trace_one, trace_two = np.zeros(many), np.zeros((many, many))
    trace_one[0], trace_two[0, 0] = sums.deviations / s2, sums.deviations / s2**2
    log_determinant = sums.deviations * math.log(s2)
    if many > 1:
        groups = GroupAlgebra(sums, theta)
        solved = groups.times_w(sums.means)
        varied = [groups.times_v(r, solved) for r in range(many)]
        for r in range(many):
            one[r] += solved.T @ varied[r]
            back = groups.times_w(varied[r])
            for s in range(r):
                two[s, r] = varied[s].T @ back
                two[r, s] = two[s, r].T
            two[r, r] += varied[r].T @ back
        groups.add_traces(trace_one, trace_two)
        log_determinant += groups.log_determinant()
    return Products(
        zero=np.einsum("r,rij->ij", theta, one),  # W V W = W, a sum of parts none of which cancels
        one=one,
        two=two,
        trace_one=trace_one,
        trace_two=trace_two,
        log_determinant=log_determinant,
    )


def _start(sums: NestedSums) -> Floats:
    """Equate the nested sums of squares to their expectations, all variances above zero.

    The fixed columns are taken as fitted already; the first scoring step puts that right.
    """
    n, y = sums.n, sums.means[:, -1]
    left, free = residual_squares(sums)
    residual = left / free if free > 0 else float(y @ y) / len(y)
    if not len(n):
        return np.array([residual])
    least = TRACE * residual * len(n) / n.sum()
    if sums.starts is None:
        return np.array([residual, max((y @ y - residual * len(n)) / n.sum(), least)])
    size = np.add.reduceat(n, sums.starts)
    between = float((np.add.reduceat(y * np.sqrt(n), sums.starts) ** 2 / size).sum())
    inside = float((np.add.reduceat(n**2, sums.starts) / size).sum())
    groups = len(size)
    inner = (y @ y - between - residual * (len(n) - groups)) / (n.sum() - inside)
    inner = max(inner, least)
    below = residual * groups + inner * inside
    return np.array([residual, inner, max(between - below, TRACE * below) / n.sum()])


class GroupAlgebra:
    """W and V_r over the scaled means of the inner groups, as operators on rows."""

    def __init__(self, sums: NestedSums, theta: Floats) -> None:
        self.n, self.starts = sums.n, sums.starts
        self.root = np.sqrt(self.n)
        self.a = theta[0] + self.n * theta[1]
        _require_positive(self.a)
        self.weights = np.ones((len(self.n), 2))
        self.weights[:, 1] = self.n
        if self.starts is not None:
            self.first = self.starts
            self.sizes = np.diff(self.starts, append=len(self.n))
            self.d = self.root / self.a
            self.q = self.by_outer(self.n / self.a)
            _require_positive(1 + theta[2] * self.q)
            self.omega = 1 / (1 + theta[2] * self.q)
            self.kappa = theta[2] * self.omega

    def by_outer(self, rows: Floats) -> Floats:
        """Sum rows over each outer group."""
        return np.asarray(np.add.reduceat(rows, self.first, axis=0), dtype=np.float64)

    def times_w(self, rows: Floats) -> Floats:
        """Give W rows: less what outer groups share, which is their weighted mean shrunken."""
        if self.starts is not None:
            mean = self.by_outer(rows * self.d[:, None]) / self.q[:, None]
            shared = np.repeat(mean * (1 - self.omega)[:, None], self.sizes, axis=0)
            rows = rows - shared * self.root[:, None]
        solved: Floats = rows / self.a[:, None]
        return solved

    def times_v(self, r: int, rows: Floats) -> Floats:
        """Give V_r rows."""
        if r < self.weights.shape[1]:
            return rows * self.weights[:, r, None]
        total = self.by_outer(rows * self.root[:, None])
        return np.repeat(total, self.sizes, axis=0) * self.root[:, None]

    def log_determinant(self) -> float:
        """Give log |V|."""
        own = float(np.log(self.a).sum())
        return own if self.starts is None else own - float(np.log(self.omega).sum())

    def add_traces(self, one: Floats, two: Floats) -> None:
        """Add tr(W V_r) and tr(W V_r W V_s)."""
        part = self.weights / self.a[:, None]
        one[:2] += part.sum(axis=0)
        two[:2, :2] += part.T @ part
        if self.starts is None:
            return
        omega, kappa = self.omega, self.kappa
        shared = part * part[:, 1:]  # the diagonal of V_r times d squared
        m = self.by_outer(shared)
        one[:2] -= kappa @ m
        two[:2, :2] += (kappa[:, None] ** 2 * m).T @ m
        two[:2, :2] -= 2 * (np.repeat(kappa, self.sizes)[:, None] * shared).T @ part
        two[:2, 2] = two[2, :2] = omega**2 @ m
        outer = self.q * omega
        one[2] += outer.sum()
        two[2, 2] += outer @ outer


def _require_positive(part: Floats) -> None:
    """Refuse variances so far below zero that the readings would have no covariance."""
    if not (part > 0).all():
        raise np.linalg.LinAlgError
