"""Nested variance components by REML, and differences of fixed levels judged against them."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from workbench.inference.nested.model import nested_model
from workbench.inference.nested.result import NestedFit

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
    return nested_model(data, response=response, fixed=fixed, nesting=nesting).fit
