"""Does a straight calibration line hold? Lack of fit, bending, one bad reading, drift."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import fdtrc, stdtr

from workbench.errors import Refusal
from workbench.inference.admissible import finite, paired
from workbench.inference.measuring.calibration_line import CalibrationLine
from workbench.inference.measuring.correction_budget import CorrectedPart, correction_budget
from workbench.inference.results import Difference
from workbench.inference.samples import Values, clean_values


@dataclass(frozen=True, slots=True, kw_only=True)
class LackOfFit:
    """F of the means of the pieces about the curve, against the scatter within the pieces."""

    f: float
    numerator_df: int
    denominator_df: int
    p_value: float
    fitted_sd: float
    repeat_sd: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Curvature:
    """The quadratic term of indicated on reference: per unit, squared; positive bends upwards."""

    coefficient: float
    standard_error: float
    degrees_of_freedom: int
    p_value: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FurthestReading:
    """The reading that lies furthest from the line fitted to the others.

    `studentised` is its distance in standard errors of that prediction; `p_value` is two-sided and
    allows for having looked at every reading (Bonferroni).
    """

    position: int
    residual: float
    studentised: float
    p_value: float


def lack_of_fit(reference: ArrayLike, indicated: ArrayLike, *, degree: int = 1) -> LackOfFit:
    """Test whether a polynomial of `degree` passes through the means of the pieces.

    Needs pieces read more than once, and more pieces than the polynomial has coefficients.
    Source: NIST/SEMATECH e-Handbook 4.4.4.6.

    Raises
    ------
    Refusal
        `no_repeats`, `too_few_references`, `no_scatter`, `unequal_lengths`, or those of
        `samples.clean_values`.
    """
    x, y = _pairs(reference, indicated)
    values, piece = np.unique(x, return_inverse=True)
    over, within = values.size - degree - 1, x.size - values.size
    if within < 1:
        raise Refusal("no_repeats", "Lack of fit needs a piece that was read more than once.")
    if over < 1:
        raise _too_few_references(values.size, degree + 2)
    means = np.bincount(piece, y) / np.bincount(piece)
    pure = float(np.sum((y - means[piece]) ** 2))
    if pure == 0:
        raise Refusal(
            "no_scatter", "Every repeat shows the same value: the scatter is below the gauge step."
        )
    design, _ = _design(x, degree)
    about = float(np.sum((y - design @ np.linalg.lstsq(design, y)[0]) ** 2))
    f = max(0.0, about - pure) / over / (pure / within)
    return LackOfFit(
        f=f,
        numerator_df=over,
        denominator_df=within,
        p_value=float(fdtrc(over, within, f)),
        fitted_sd=math.sqrt(about / (over + within)),
        repeat_sd=math.sqrt(pure / within),
    )


def curvature(reference: ArrayLike, indicated: ArrayLike) -> Curvature:
    """Fit a quadratic and tell its bending term from nothing.

    Raises
    ------
    Refusal
        `too_few_references` (three are needed), `no_scatter` (no degree of freedom or an exact
        fit is left), `unequal_lengths`, or those of `samples.clean_values`.
    """
    x, y = _pairs(reference, indicated)
    found = np.unique(x).size
    if found < 3:
        raise _too_few_references(found, 3)
    design, scale = _design(x, 2)
    estimates = np.linalg.lstsq(design, y)[0]
    freedom = x.size - 3
    squares = float(np.sum((y - design @ estimates) ** 2))
    if freedom < 1 or squares == 0:
        raise Refusal("no_scatter", f"{x.size} readings leave no scatter about a quadratic.")
    inverse = np.linalg.inv(design.T @ design)
    error = math.sqrt(squares / freedom * float(inverse[2, 2]))
    return Curvature(
        coefficient=float(estimates[2]) / scale**2,
        standard_error=error / scale**2,
        degrees_of_freedom=freedom,
        p_value=float(2 * stdtr(freedom, -abs(float(estimates[2])) / error)),
    )


def furthest_reading(reference: ArrayLike, indicated: ArrayLike) -> FurthestReading:
    """Find the reading furthest from the straight line through the others.

    Source: Cook & Weisberg (1982), Residuals and Influence in Regression, 2.2.2 (from memory).

    Raises
    ------
    Refusal
        `too_few`, `too_few_references`, `no_scatter`, `unequal_lengths`, or those of
        `samples.clean_values`.
    """
    x, y = _pairs(reference, indicated, least=4)
    found = np.unique(x).size
    if found < 2:
        raise _too_few_references(found, 2)
    design, _ = _design(x, 1)
    q, _ = np.linalg.qr(design)
    leverage = np.sum(q**2, axis=1)
    residual = y - q @ (q.T @ y)
    squares, freedom = float(residual @ residual), x.size - 3
    free = leverage < 1 - 1e-10  # a piece that alone fixes the slope is always met exactly
    without = np.full(x.size, np.inf)
    without[free] = (squares - residual[free] ** 2 / (1 - leverage[free])) / freedom
    if not (squares > 0 and bool(np.all(without > 1e-12 * squares))):
        raise Refusal("no_scatter", "The other readings lie on a line without any scatter.")
    studentised = np.zeros(x.size)
    studentised[free] = residual[free] / np.sqrt(without[free] * (1 - leverage[free]))
    worst = int(np.argmax(np.abs(studentised)))
    tail = 2 * float(stdtr(freedom, -abs(studentised[worst])))
    return FurthestReading(
        position=worst,
        residual=float(residual[worst]),
        studentised=float(studentised[worst]),
        p_value=min(1.0, x.size * tail),
    )


def drift(before: CalibrationLine, after: CalibrationLine, indicated: float) -> Difference:
    """Compare the corrections of one indicated value before and after: after minus before.

    Errors of reference pieces that both calibrations were made with (of one name) leave the
    difference as far as they moved both alike.

    Raises
    ------
    Refusal
        `no_repeatability` when the scatter of either calibration is not known;
        `no_standard_error` when there is none at all.
    """
    finite("The indicated value", indicated)
    now, then = after.corrected(indicated), before.corrected(indicated)
    budget = correction_budget(
        [
            CorrectedPart(label="after", line=after, weight=1.0, moment=now),
            CorrectedPart(label="before", line=before, weight=-1.0, moment=-then),
        ]
    )
    return Difference(
        estimate=now - then,
        standard_error=budget.combined,
        degrees_of_freedom=budget.degrees_of_freedom,
        method="drift between two calibrations",
    )


def _pairs(reference: ArrayLike, indicated: ArrayLike, least: int = 1) -> tuple[Values, Values]:
    x = clean_values(reference, least=least, name="the row of references")
    y = clean_values(indicated, name="the row of indicated values")
    paired("References", x, "indicated values", y)
    return x, y


def _design(x: Values, degree: int) -> tuple[Values, float]:
    """Give powers of x over its largest size, so that they keep their digits, and that size."""
    scale = float(np.max(np.abs(x))) or 1.0
    return np.vander(x / scale, degree + 1, increasing=True), scale


def _too_few_references(found: int, needed: int) -> Refusal:
    return Refusal(
        "too_few_references",
        f"This needs {needed} or more different references; there are {found}.",
    )
