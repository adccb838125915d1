"""Many p-values asked at once: adjusted so that the whole list keeps its error rate.

Each function takes p-values in any order and gives the adjusted ones in the same order: a claim
stands at level alpha when its adjusted p is below alpha.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from workbench.errors import Refusal

Values = NDArray[np.float64]


def holm(p_values: Sequence[float] | Values) -> Values:
    """Adjust by Holm's step-down: the chance of any false claim stays below the level.

    Holds whatever the dependence between the claims.

    References
    ----------
    Holm, S. (1979). A simple sequentially rejective multiple test procedure. Scandinavian
    Journal of Statistics 6, 65-70 (from memory).

    Examples
    --------
    >>> holm([0.01, 0.04, 0.03]).round(3).tolist()
    [0.03, 0.06, 0.06]
    """
    p, order = _sorted(p_values)
    return _step_down(p * np.arange(p.size, 0, -1), order)


def hochberg(p_values: Sequence[float] | Values) -> Values:
    """Adjust by Hochberg's step-up: sharper than Holm, for independent or alike-moving claims.

    References
    ----------
    Hochberg, Y. (1988). A sharper Bonferroni procedure for multiple tests of significance.
    Biometrika 75, 800-802 (from memory).

    Examples
    --------
    >>> hochberg([0.01, 0.04, 0.03]).round(3).tolist()
    [0.03, 0.04, 0.04]
    """
    p, order = _sorted(p_values)
    return _step_up(p * np.arange(p.size, 0, -1), order)


def benjamini_hochberg(p_values: Sequence[float] | Values) -> Values:
    """Adjust for the expected share of false claims among those made (false discovery rate).

    For independent or positively dependent claims.

    References
    ----------
    Benjamini, Y., Hochberg, Y. (1995). Controlling the false discovery rate. Journal of the Royal
    Statistical Society B 57, 289-300.

    Examples
    --------
    >>> benjamini_hochberg([0.01, 0.04, 0.03]).round(3).tolist()
    [0.03, 0.04, 0.04]
    """
    p, order = _sorted(p_values)
    return _step_up(p * p.size / np.arange(1, p.size + 1), order)


def benjamini_yekutieli(p_values: Sequence[float] | Values) -> Values:
    """Adjust the false discovery rate whatever the dependence between the claims.

    References
    ----------
    Benjamini, Y., Yekutieli, D. (2001). The control of the false discovery rate in multiple
    testing under dependency. Annals of Statistics 29, 1165-1188 (from memory).

    Examples
    --------
    >>> benjamini_yekutieli([0.01, 0.04, 0.03]).round(3).tolist()
    [0.055, 0.073, 0.073]
    """
    p, order = _sorted(p_values)
    ranks = np.arange(1, p.size + 1)
    return _step_up(p * p.size * (1 / ranks).sum() / ranks, order)


def _sorted(p_values: Sequence[float] | Values) -> tuple[Values, NDArray[np.intp]]:
    p = np.asarray(p_values, dtype=float)
    if p.ndim != 1:
        raise Refusal("bad_p_value", f"p-values come as one list, not as a table of {p.shape}.")
    wrong = p[~((p >= 0) & (p <= 1))]
    if wrong.size:
        raise Refusal("bad_p_value", f"A p-value lies from 0 to 1, not at {wrong[0]}.")
    order = np.argsort(p, kind="stable")
    return p[order], order


def _step_down(scaled: Values, order: NDArray[np.intp]) -> Values:
    return _unsorted(np.maximum.accumulate(scaled), order)


def _step_up(scaled: Values, order: NDArray[np.intp]) -> Values:
    return _unsorted(np.minimum.accumulate(scaled[::-1])[::-1], order)


def _unsorted(adjusted: Values, order: NDArray[np.intp]) -> Values:
    back = np.empty_like(adjusted)
    back[order] = np.minimum(adjusted, 1.0)
    return back
