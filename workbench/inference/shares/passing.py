"""The share of a normal family that passes all of several limits at once, with its uncertainty."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr

from workbench.errors import Refusal
from workbench.inference.estimates import Estimate
from workbench.inference.results import check_confidence

Values = NDArray[np.float64]

DRAWS = 2000
BLOCKS = 1000


def passing_share(
    figures: ArrayLike,
    lower: ArrayLike,
    upper: ArrayLike,
    *,
    generator: np.random.Generator,
    confidence: float = 0.95,
) -> Estimate:
    """Answer which share of a family passes, from a sample of its blocks.

    Figures are taken as jointly normal. Mean and covariance are drawn as they may be given the
    sample (Student's t and inverse Wishart, no prior knowledge); each draw gives a share, by
    formula for one figure, by simulated blocks for several.

    Parameters
    ----------
    figures : array_like
        A row a block, a column a figure.
    lower, upper : array_like
        The limits of each figure; infinite for none.

    Raises
    ------
    Refusal
        `too_few` below two blocks more than figures; `zero_spread` where a figure does not vary or
        hangs on the others; `not_finite`; `unequal_lengths`.

    References
    ----------
    Gelman, A., et al. (2013). Bayesian Data Analysis, section 3.6: the multivariate normal with
    noninformative prior (from memory). For one figure the interval is the generalized one of
    Weerahandi, close to the exact one by noncentral t.
    """
    check_confidence(confidence)
    rows, low, high = _checked(figures, lower, upper)
    n, p = rows.shape
    middle = rows.mean(axis=0)
    scale = np.linalg.cholesky((rows - middle).T @ (rows - middle))
    roots = np.array([_covariance_root(scale, n - 1, generator) for _ in range(DRAWS)])
    means = middle + np.einsum("dij,dj->di", roots, generator.standard_normal((DRAWS, p))) / n**0.5
    if p == 1:
        sd = roots[:, 0, 0]
        shares = ndtr((high - means[:, 0]) / sd) - ndtr((low - means[:, 0]) / sd)
    else:
        blocks = generator.standard_normal((BLOCKS, p))
        shares = np.empty(DRAWS)
        for at in range(DRAWS):
            drawn = means[at] + blocks @ roots[at].T
            shares[at] = ((drawn >= low) & (drawn <= high)).all(axis=1).mean()
    tail = (1 - confidence) / 2
    ends = np.quantile(shares, [tail, 0.5, 1 - tail])
    return Estimate(
        estimate=float(ends[1]),
        low=float(ends[0]),
        high=float(ends[2]),
        confidence=confidence,
        method="normal family, parameters drawn",
    )


def _covariance_root(scale: Values, df: int, generator: np.random.Generator) -> Values:
    """Give a root of a covariance drawn from the inverse Wishart, by Bartlett's decomposition."""
    p = len(scale)
    bartlett = np.tril(generator.standard_normal((p, p)), -1)
    bartlett[np.diag_indices(p)] = np.sqrt(generator.chisquare(df - np.arange(p)))
    # W = A A' with A lower triangular is Wishart(I); scale W^-1 scale' has the root scale A'^-1.
    return np.linalg.solve(bartlett, scale.T).T.astype(np.float64)


def _checked(
    figures: ArrayLike, lower: ArrayLike, upper: ArrayLike
) -> tuple[Values, Values, Values]:
    rows = np.atleast_2d(np.asarray(figures, dtype=float))
    low, high = (np.atleast_1d(np.asarray(ends, dtype=float)) for ends in (lower, upper))
    n, p = rows.shape
    if not low.size == high.size == p:
        raise Refusal(
            "unequal_lengths", f"{p} figures need as many limits, not {low.size} and {high.size}."
        )
    if not np.isfinite(rows).all():
        raise Refusal("not_finite", "Every figure of every block must be a finite number.")
    if n < p + 2:
        raise Refusal(
            "too_few", f"{n} blocks are too few for {p} figures; {p + 2} or more are needed."
        )
    spread = np.cov(rows.T).reshape(p, p)
    if (np.diag(spread) <= 0).any() or np.linalg.matrix_rank(spread, hermitian=True) < p:
        raise Refusal(
            "zero_spread", "A figure does not vary from block to block, or hangs on others."
        )
    return rows, low, high
