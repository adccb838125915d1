"""Nested variance components by REML, and differences of fixed levels judged against them."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pandas as pd

from workbench.inference.kenward_roger import (
    adjusted_covariance,
    covariance_slopes,
    inverse_information,
)
from workbench.inference.nested_cells import Cells, code_cells
from workbench.inference.nested_columns import Columns, code_columns
from workbench.inference.nested_reml import Maximum, maximise
from workbench.inference.nested_result import NestedFit
from workbench.inference.nested_sums import NestedSums, nested_sums

__all__ = ["NestedFit", "nested_fit"]


def nested_fit(
    data: pd.DataFrame, *, response: str, fixed: Sequence[str], nesting: Sequence[str]
) -> NestedFit:
    """Fit fixed factors and nested groups by restricted maximum likelihood.

    How large are the differences between families, with readings in bores in blocks counted as the
    dependent things they are? Model: response = fixed factors + outer group + inner group +
    residual, all three normal with constant variance. Unbalanced data and variances of zero are
    fine. Work and memory grow with the number of inner groups.

    Parameters
    ----------
    data : pandas.DataFrame
        One row a reading; or cells, one row a group of alike readings, with columns `n` (count),
        `mean` and `ss` (sum of squares about the cell mean) and ``response="mean"``.
    response : str
        The column of readings.
    fixed : sequence of str
        Factor columns, read as text; none gives an intercept alone.
    nesting : sequence of str
        None, one or two grouping columns, outermost first; inner labels need only be unique within
        their outer group.

    Returns
    -------
    NestedFit
        Variances in the unit of the response, squared.

    Raises
    ------
    Refusal
        Missing columns or labels, numbers that are not finite, no spread, or groups that the fixed
        factors tell apart one by one.

    References
    ----------
    Patterson and Thompson (1971), Biometrika 58, 545-554; Kenward and Roger (1997), Biometrics 53,
    983-997.

    Examples
    --------
    >>> rows = [("a", "1", 10.1), ("a", "1", 10.3), ("a", "2", 10.8), ("a", "2", 10.9),
    ...         ("b", "3", 12.0), ("b", "3", 12.2), ("b", "4", 11.1), ("b", "4", 11.5)]
    >>> table = pd.DataFrame(rows, columns=["family", "block", "wall"])
    >>> fit = nested_fit(table, response="wall", fixed=["family"], nesting=["block"])
    >>> difference = fit.contrast("family", candidate="b", reference="a")
    >>> round(difference.estimate, 3), round(difference.degrees_of_freedom, 3)
    (1.175, 2.0)
    """
    cells = code_cells(data, response=response, fixed=fixed, nesting=nesting)
    columns = code_columns(cells)
    sums = nested_sums(cells, columns, nesting)
    return _assembled(cells, columns, sums, maximise(sums), nesting)


def _assembled(
    cells: Cells, columns: Columns, sums: NestedSums, maximum: Maximum, nesting: Sequence[str]
) -> NestedFit:
    """Bring the maximum back to the unit of the response, with all that contrasts need."""
    at, scale = maximum.at, cells.scale
    free = at.theta > 0
    everywhere = np.ones_like(free)
    of_all = inverse_information(at.expected, everywhere)
    variances = dict(zip(sums.components, (at.theta * scale**2).tolist(), strict=True))
    coefficients = (at.coefficients + sums.removed) * scale
    coefficients[0] += cells.centre  # the intercept is always kept, and first
    return NestedFit(
        variance_components={
            name: variances[name] for name in (*nesting, "residual") if name in variances
        },
        boundary=tuple(name for name in nesting if variances.get(name) == 0),
        merged=sums.merged,
        aliased=columns.aliased,
        counts=sums.counts,
        reml_criterion=at.criterion + 2 * (sums.readings - sums.fixed) * math.log(scale),
        converged=maximum.converged,
        steps=maximum.steps,
        levels=cells.levels,
        columns=columns.names,
        kept=columns.kept,
        ties=columns.ties,
        coefficients=coefficients,
        covariance=at.covariance * scale**2,
        adjusted=adjusted_covariance(at, of_all) * scale**2,
        slopes=covariance_slopes(at),
        component_covariances={
            "all": of_all * scale**4,
            "expected": inverse_information(at.expected, free) * scale**4,
            "observed": inverse_information(at.observed, free) * scale**4,
        },
    )
