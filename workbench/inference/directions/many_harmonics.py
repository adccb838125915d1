"""First harmonics of many circles at once, and of stacks of circles whose harmonic may lean.

A circle is what was read round one bore at one depth; a stack is a bore with its depths. Sums over
readings lead to small normal equations, one set a circle or stack, solved together.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workbench.inference.directions.harmonics import DETERMINED
from workbench.inference.directions.vector import unit_vectors

Values = NDArray[np.float64]
Codes = NDArray[np.int64]

LEAN_DETERMINED = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Circles:
    """Fits of many circles; row i of each array belongs to circle i, NaN where not determined.

    Attributes
    ----------
    mean, cosine, sine
        Of each circle.
    unscaled
        (circles, 2, 2): covariance of cosine and sine for a variance of 1 at weight 1.
    mean_unscaled
        Variance of the mean likewise.
    squares, degrees_of_freedom
        Weighted residual sum of squares, and readings less 3; 0 where not determined.
    determined
        Whether the angles determine the harmonic.
    residuals
        One a reading, NaN where its circle is not determined.
    weight, gram, right
        Sum of the weights, and the normal equations of cosine and sine about the circle's means:
        what stacks are fitted from.
    """

    mean: Values
    cosine: Values
    sine: Values
    unscaled: Values
    mean_unscaled: Values
    squares: Values
    degrees_of_freedom: Codes
    determined: NDArray[np.bool_]
    residuals: Values
    weight: Values
    gram: Values
    right: Values


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stacks:
    """Fits of many stacks: one harmonic for all circles of a stack, and how it leans.

    `cosine`, `sine` with `unscaled` (stacks, 2, 2) are those of one harmonic throughout, each
    circle having its own mean. In the leaning fit it changes in a straight line with the place
    along the stack: `at_centre` (stacks, 2) is the harmonic at the place `centre`, `lean`
    (stacks, 2) its change a unit of place, `lean_unscaled` (stacks, 2, 2) the covariance of `lean`;
    NaN where the places do not determine it.
    """

    cosine: Values
    sine: Values
    unscaled: Values
    determined: NDArray[np.bool_]
    at_centre: Values
    lean: Values
    lean_unscaled: Values
    centre: Values


def fit_circles(
    circle: Codes, degrees: Values, values: Values, weights: Values, circles: int
) -> Circles:
    """Fit mean and first harmonic to each of many circles.

    Parameters
    ----------
    circle : array of int
        The circle of each reading, 0 to `circles` - 1.
    degrees, values, weights : array
        Angle, reading and weight (above 0) of each.
    """
    cosine, sine = unit_vectors(degrees)
    total = _sum(circle, weights, circles)
    with np.errstate(divide="ignore", invalid="ignore"):
        centre = np.stack(
            [_sum(circle, weights * part, circles) / total for part in (cosine, sine, values)], 1
        )
    c, s, y = cosine - centre[circle, 0], sine - centre[circle, 1], values - centre[circle, 2]
    wc, ws = weights * c, weights * s
    cc, cs, ss = (_sum(circle, part, circles) for part in (wc * c, wc * s, ws * s))
    gram = np.stack([cc, cs, cs, ss], axis=1).reshape(-1, 2, 2)
    right = np.stack([_sum(circle, wc * y, circles), _sum(circle, ws * y, circles)], axis=1)
    unscaled, determined = _inverse_2(gram, total)
    pair = np.einsum("gij,gj->gi", unscaled, right)
    residuals = y - pair[circle, 0] * c - pair[circle, 1] * s
    lever = np.einsum("gi,gij,gj->g", centre[:, :2], unscaled, centre[:, :2])
    with np.errstate(divide="ignore"):
        mean_unscaled = 1 / total + lever
    squares = _sum(circle, weights * residuals**2, circles)
    readings = np.bincount(circle, minlength=circles)
    return Circles(
        mean=centre[:, 2] - (pair * centre[:, :2]).sum(axis=1),
        cosine=pair[:, 0],
        sine=pair[:, 1],
        unscaled=unscaled,
        mean_unscaled=mean_unscaled,
        squares=np.where(determined, squares, 0.0),
        degrees_of_freedom=np.where(determined, readings - 3, 0),
        determined=determined,
        residuals=residuals,
        weight=total,
        gram=gram,
        right=right,
    )


def fit_stacks(circles: Circles, stack: Codes, places: Values, stacks: int) -> Stacks:
    """Fit one first harmonic, and one that leans, to each of many stacks of circles.

    Parameters
    ----------
    circles : Circles
        As fitted one by one; also those not determined alone lend what their angles tell.
    stack : array of int
        The stack of each circle, 0 to `stacks` - 1.
    places : array
        How far along its stack each circle lies, NaN where that is not known.
    """
    total = _sum(stack, circles.weight, stacks)
    gram, right = (_sum_each(stack, part, stacks) for part in (circles.gram, circles.right))
    unscaled, determined = _inverse_2(gram, total)
    pair = np.einsum("gij,gj->gi", unscaled, right)

    known = np.isfinite(places)
    unknown = np.bincount(stack, weights=~known, minlength=stacks) > 0
    along = np.where(known, places, 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        centre = _sum(stack, circles.weight * along, stacks) / total
        z = along - centre[stack]
        spread = np.sqrt(_sum(stack, circles.weight * z**2, stacks) / total)
    scale = np.where(spread > 0, spread, 1.0)
    z /= scale[stack]
    first = _sum_each(stack, circles.gram * z[:, None, None], stacks)
    second = _sum_each(stack, circles.gram * (z**2)[:, None, None], stacks)
    four = np.block([[gram, first], [first, second]])
    sums = np.hstack([right, _sum_each(stack, circles.right * z[:, None], stacks)])
    leans = determined & ~unknown & (np.linalg.det(four) > LEAN_DETERMINED * total**4)
    inverse = np.full(four.shape, np.nan)
    inverse[leans] = np.linalg.inv(four[leans])
    both = np.einsum("gij,gj->gi", inverse, sums)
    return Stacks(
        cosine=pair[:, 0],
        sine=pair[:, 1],
        unscaled=unscaled,
        determined=determined,
        at_centre=both[:, :2],
        lean=both[:, 2:] / scale[:, None],
        lean_unscaled=inverse[:, 2:, 2:] / scale[:, None, None] ** 2,
        centre=np.where(leans, centre, np.nan),
    )


def _sum(group: Codes, parts: Values, groups: int) -> Values:
    sums: Values = np.bincount(group, weights=parts, minlength=groups).astype(float)
    return sums


def _sum_each(group: Codes, parts: Values, groups: int) -> Values:
    """Sum rows of vectors or matrices by group."""
    flat = parts.reshape(len(parts), -1)
    sums = np.stack([_sum(group, column, groups) for column in flat.T], axis=1)
    return sums.reshape(groups, *parts.shape[1:])


def _inverse_2(gram: Values, total: Values) -> tuple[Values, NDArray[np.bool_]]:
    """Invert symmetric 2 x 2 matrices; NaN, and False, where the angles determine nothing."""
    cc, cs, ss = gram[:, 0, 0], gram[:, 0, 1], gram[:, 1, 1]
    determinant = cc * ss - cs**2
    determined = determinant > DETERMINED * np.where(total > 0, total, np.inf) ** 2
    over = np.divide(1.0, determinant, out=np.full(len(gram), np.nan), where=determined)
    inverse = np.stack([ss, -cs, -cs, cc], axis=1) * over[:, None]
    return inverse.reshape(-1, 2, 2), determined
