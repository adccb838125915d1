"""The likelihood of readings under several chance factors, and how it bends, from sums of levels.

Work grows with the number of levels, not of readings: only counts and sums per level enter.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.linalg import solve_triangular

from workbench.inference.samples import Values


@dataclass(frozen=True, slots=True, kw_only=True)
class Sums:
    """What the likelihood needs: cross-counts of levels, and sums of the centred readings."""

    n: int
    counts: Values
    level_counts: Values
    level_sums: Values
    squares: float
    widths: tuple[int, ...]
    centre: float


def sums_of(codes: Sequence[np.ndarray], y: Values) -> Sums:
    """Give the sums of the readings `y`, whose levels of each factor are numbered in `codes`."""
    z = np.concatenate(
        [(code[:, None] == np.arange(code.max() + 1)).astype(float) for code in codes], axis=1
    )
    centred = y - y.mean()
    return Sums(
        n=y.size,
        counts=z.T @ z,
        level_counts=z.sum(axis=0),
        level_sums=z.T @ centred,
        squares=float(centred @ centred),
        widths=tuple(int(code.max()) + 1 for code in codes),
        centre=float(y.mean()),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Parts:
    """What a criterion is made of, in units of the residual, V being the readings' covariance.

    `log_v` is log|V|, `of_mean` 1'V^-1 1, `of_both` 1'V^-1 y, `rest` y'Py. `traces` and `lengths`
    belong to each factor, Z being its levels: the trace of Z'PZ (Z'V^-1 Z where the mean costs
    nothing), and |Z'Py|^2. The slope of a criterion is their difference. Of all levels together,
    Z'V^-1 Z is `counts` less `levels`' `levels`, Z'V^-1 1 is `ones` and Z'Py `along`.
    """

    log_v: float
    of_mean: float
    of_both: float
    rest: float
    traces: Values
    lengths: Values
    levels: Values
    ones: Values
    along: Values


def parts_at(sums: Sums, ratios: Values, restricted: bool) -> Parts:
    """Give the parts at the variances of the factors, each over that of the residual."""
    root = np.sqrt(np.repeat(ratios, sums.widths))
    m = np.eye(root.size) + root[:, None] * sums.counts * root
    lower = np.linalg.cholesky(m)
    columns = np.column_stack([sums.level_counts, sums.level_sums, sums.counts])
    solved = solve_triangular(lower, root[:, None] * columns, lower=True, check_finite=False)
    ones, data, levels = solved[:, 0], solved[:, 1], solved[:, 2:]
    of_mean = sums.n - float(ones @ ones)
    of_both = -float(ones @ data)
    rest = sums.squares - float(data @ data) - of_both**2 / of_mean
    ones_at = sums.level_counts - levels.T @ ones
    data_at = sums.level_sums - levels.T @ data - ones_at * of_both / of_mean
    traces = np.diag(sums.counts) - np.einsum("ij,ij->j", levels, levels)
    if restricted:
        traces = traces - ones_at**2 / of_mean
    starts = np.concatenate([[0], np.cumsum(sums.widths)[:-1]])
    return Parts(
        log_v=2 * float(np.log(np.diag(lower)).sum()),
        of_mean=of_mean,
        of_both=of_both,
        rest=rest,
        traces=np.add.reduceat(traces, starts),
        lengths=np.add.reduceat(data_at**2, starts),
        levels=levels,
        ones=ones_at,
        along=data_at,
    )


def at_residual(
    sums: Sums, parts: Parts, ratios: Values, residual: float, restricted: bool
) -> tuple[float, Values]:
    """Give the criterion and its slope where the parts are known and the residual is given."""
    freedom = sums.n - restricted
    criterion = (
        freedom * math.log(2 * math.pi * residual)
        + parts.log_v
        + (math.log(parts.of_mean) if restricted else 0.0)
        + parts.rest / residual
    )
    of_factors = (parts.traces - parts.lengths / residual) / residual
    # a common scale moves the criterion by `freedom` less the rest: what factors leave of that
    whole = freedom - parts.rest / residual
    of_residual = whole / residual - float(ratios @ of_factors)
    return criterion, np.append(of_factors, of_residual)


def curved_at(
    sums: Sums, variances: Values, restricted: bool, *, scaled: bool = False
) -> tuple[float, Values, Values]:
    """Give the criterion, its slope and its curvature in the logarithms of the variances.

    With `scaled` it is that at their best common scale.
    """
    ratios = variances[:-1] / variances[-1]
    parts = parts_at(sums, ratios, restricted)
    residual = parts.rest / (sums.n - restricted) if scaled else float(variances[-1])
    there = np.append(ratios, 1.0) * residual
    criterion, slope = at_residual(sums, parts, ratios, residual, restricted)
    curvature = _curvature(sums, parts, there, slope, restricted)
    slope = slope * there
    curvature = curvature * np.outer(there, there) + np.diag(slope)
    if scaled:
        along = curvature.sum(axis=1)
        curvature = curvature - np.outer(along, along) / along.sum()
    return criterion, slope, curvature


def _curvature(
    sums: Sums, parts: Parts, variances: Values, slope: Values, restricted: bool
) -> Values:
    """Give the second derivatives in the variances: 2 y'P V_r P V_s P y - tr(P V_r P V_s).

    Those in that of the residual follow from the others: the slopes, each times its variance, add
    up to the degrees of freedom less y'Py, whose own slopes are known.
    """
    s2, factors = float(variances[-1]), variances[:-1]
    starts = np.concatenate([[0], np.cumsum(sums.widths)[:-1]])

    def by_factors(levels: Values) -> Values:
        return np.add.reduceat(np.add.reduceat(levels, starts, axis=0), starts, axis=1)

    free = sums.counts - parts.levels.T @ parts.levels
    held = free - np.outer(parts.ones, parts.ones) / parts.of_mean
    traces = by_factors((held if restricted else free) ** 2) / s2**2
    inner = 2 * by_factors(held * np.outer(parts.along, parts.along)) / s2**3 - traces
    lengths = parts.lengths / s2**2
    lengths = np.append(lengths, (parts.rest / s2 - factors @ lengths) / s2)
    cross = (lengths[:-1] - slope[:-1] - inner @ factors) / s2
    corner = (lengths[-1] - slope[-1] - cross @ factors) / s2
    return np.block([[inner, cross[:, None]], [cross, np.array([corner])]])
