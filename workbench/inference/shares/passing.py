"""The share of a normal family that passes all of several limits at once, with its uncertainty."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr, ndtri

from workbench.errors import Refusal
from workbench.inference.estimates import Estimate
from workbench.inference.results import check_confidence

Values = NDArray[np.float64]

DRAWS = 2000
POINTS = 200
LEAST = 1e-15


def passing_share(
    figures: ArrayLike,
    lower: ArrayLike,
    upper: ArrayLike,
    *,
    generator: np.random.Generator,
    confidence: float = 0.95,
) -> Estimate:
    """Answer which share of a family passes, from a sample of its blocks; as `passing_draws`.

    The estimate is the middle of the draws, the interval leaves equal chance out on either side.

    Raises
    ------
    Refusal
        `bad_confidence`, and as `passing_draws`.
    """
    check_confidence(confidence)
    return share_of_draws(passing_draws(figures, lower, upper, generator=generator), confidence)


def share_of_draws(draws: Values, confidence: float = 0.95) -> Estimate:
    """Give the middle of drawn shares with its interval."""
    check_confidence(confidence)
    tail = (1 - confidence) / 2
    low, middle, high = np.quantile(draws, [tail, 0.5, 1 - tail])
    return Estimate(
        estimate=float(middle),
        low=float(low),
        high=float(high),
        confidence=confidence,
        method="normal family, parameters drawn",
    )


def passing_draws(
    figures: ArrayLike,
    lower: ArrayLike,
    upper: ArrayLike,
    *,
    generator: np.random.Generator,
    shifts: ArrayLike | None = None,
) -> Values:
    """Draw the share of a family that passes as it may be, given a sample of its blocks.

    Figures are taken as jointly normal. Mean and covariance are drawn as they may be given the
    sample (Student's t and inverse Wishart, no prior knowledge); each draw gives a share, by
    formula for one figure, by `box_chances` for several.

    Parameters
    ----------
    figures : array_like
        A row a block, a column a figure.
    lower, upper : array_like
        The limits of each figure; infinite for none.
    shifts : array_like, optional
        What all figures may be out by together, as measured less true: a row a draw (`DRAWS`), a
        column a figure. It shifts the mean of the family and does not lessen with its blocks.

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
    rows, low, high = _checked(figures, lower, upper)
    n, p = rows.shape
    middle = rows.mean(axis=0)
    scale = np.linalg.cholesky((rows - middle).T @ (rows - middle))
    roots = _covariance_roots(scale, n - 1, generator, DRAWS)
    means = middle + np.einsum("dij,dj->di", roots, generator.standard_normal((DRAWS, p))) / n**0.5
    if shifts is not None:
        means = means - _checked_shifts(shifts, p)
    lower_roots: Values = np.linalg.cholesky(roots @ roots.transpose(0, 2, 1)).astype(float)
    return box_chances(low - means, high - means, lower_roots, generator)


def box_chances(low: Values, high: Values, roots: Values, generator: np.random.Generator) -> Values:
    """Give the chance that normal figures of mean 0 lie in a box, for each of many boxes.

    `low` and `high` have a row a box, `roots` its lower Cholesky factor. One figure after another
    is drawn inside its limits and weighed with the chance of that, so that small chances are never
    taken for none; for one figure it is the formula.

    References
    ----------
    Genz, A. (1992). Numerical computation of multivariate normal probabilities. Journal of
    Computational and Graphical Statistics 1, 141-149 (from memory).
    """
    boxes, p = low.shape
    uniform = _even_points(p - 1, generator)[:, None, :]
    drawn: list[Values] = []
    chances = np.ones((boxes, 1))
    for figure in range(p):
        known = sum(
            (roots[:, figure, one, None] * drawn[one] for one in range(figure)),
            start=np.zeros((boxes, 1)),
        )
        own = roots[:, figure, figure, None]
        below = ndtr((low[:, figure, None] - known) / own)
        above = ndtr((high[:, figure, None] - known) / own)
        chances = chances * (above - below)
        if figure < p - 1:
            inside = below + uniform[figure] * (above - below)
            drawn.append(ndtri(np.clip(inside, LEAST, 1 - LEAST)))
    answer: Values = chances.mean(axis=1)
    return answer


def _even_points(dimensions: int, generator: np.random.Generator) -> Values:
    """Give points spread evenly over a unit cube, a row a dimension, shifted at random.

    Steps of the powers of 1/x, x the root of x^(d + 1) = x + 1, leave no gaps and no clusters (an
    additive recurrence; Niederreiter, H. (1992). Random Number Generation and Quasi-Monte Carlo
    Methods, section 3, from memory).
    """
    root = 2.0
    for _ in range(64):
        root = (1 + root) ** (1 / (dimensions + 1))
    steps = root ** -np.arange(1.0, dimensions + 1)
    shift = generator.random((dimensions, 1))
    points: Values = (shift + steps[:, None] * np.arange(POINTS)) % 1.0
    return points


def _covariance_roots(scale: Values, df: int, generator: np.random.Generator, count: int) -> Values:
    """Give roots of covariances drawn from the inverse Wishart, by Bartlett's decomposition."""
    p = len(scale)
    bartlett = np.tril(generator.standard_normal((count, p, p)), -1)
    each = np.arange(p)
    bartlett[:, each, each] = np.sqrt(generator.chisquare(df - each, (count, p)))
    # W = A A' with A lower triangular is Wishart(I); scale W^-1 scale' has the root scale A'^-1.
    turned = np.linalg.solve(bartlett, np.broadcast_to(scale.T, (count, p, p)))
    roots: Values = turned.transpose(0, 2, 1).astype(float)
    return roots


def _checked_shifts(shifts: ArrayLike, figures: int) -> Values:
    drawn = np.asarray(shifts, dtype=float)
    if drawn.shape != (DRAWS, figures):
        raise Refusal(
            "unequal_lengths",
            f"Shifts come in {DRAWS} draws of {figures} figures, not in the shape {drawn.shape}.",
        )
    if not np.isfinite(drawn).all():
        raise Refusal("not_finite", "Every shift must be a finite number.")
    return drawn


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
