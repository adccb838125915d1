"""Make a calibration line: a ratio from one piece, a line from two or more, or a known speed."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from workbench.errors import Refusal
from workbench.inference.admissible import paired, positive, uncertainty
from workbench.inference.measuring.calibration_line import (
    CalibrationLine,
    LineCovariance,
    ReferenceError,
)
from workbench.inference.measuring.reference_pieces import named_pieces, uncertainty_of_each
from workbench.inference.samples import Values, clean_values


def ratio(
    reference: float,
    indicated: ArrayLike,
    *,
    reference_uncertainty: float = 0.0,
    zero_uncertainty: float = 0.0,
    repeatability: float | None = None,
    piece: str = "piece",
    zero: str = "zero",
) -> CalibrationLine:
    """Fit a ratio to one reference piece, read once or more; nothing is taken to read as nothing.

    A single piece cannot tell a wrong slope from a wrong zero. `zero_uncertainty` is the standard
    uncertainty of that assumed zero: at the piece itself it has no effect, away from it it grows.
    The line covers what lies between nothing and the piece.

    Parameters
    ----------
    reference
        The known value of the piece, above 0, in the unit of the readings.
    indicated
        What the gauge showed on it; the mean must be above 0.
    reference_uncertainty, zero_uncertainty
        Standard uncertainties, same unit.
    repeatability
        Standard deviation of one reading where it is known; otherwise taken from the repeats.
    piece, zero
        Names of the things whose errors these are, for lines that have them in common.

    Raises
    ------
    Refusal
        `not_positive`, `slope_not_positive`, `bad_uncertainty`, or those of `samples.clean_values`.

    Examples
    --------
    The worked example of a US technical manual (TM 1-1500-335-23, paragraph 5.5.3.3): a piece of
    0.167 in reads 0.133 in; a reading of 0.200 in is corrected to 0.25 in.

    >>> round(ratio(0.167, [0.133]).corrected(0.200), 3)
    0.251
    """
    positive("The reference", reference)
    shown = clean_values(indicated, name="the row of indicated values")
    u_reference = uncertainty("The uncertainty of the reference", reference_uncertainty)
    u_zero = uncertainty("The uncertainty of the zero", zero_uncertainty)
    slope = _rising(float(shown.mean()) / reference)
    sd, freedom = _scatter(
        float(np.sum((shown - shown.mean()) ** 2)), shown.size - 1, repeatability
    )
    return CalibrationLine(
        zero=0.0,
        slope=slope,
        scatter_covariance=None
        if sd is None
        else LineCovariance(slope=sd**2 / shown.size / reference**2),
        reference_errors=(
            ReferenceError(
                source=piece,
                zero=0.0,
                slope=slope * u_reference / reference,
                stated=u_reference,
            ),
            ReferenceError(source=zero, zero=-u_zero, slope=u_zero / reference, stated=u_zero),
        ),
        reading_sd=sd,
        degrees_of_freedom=freedom,
        low=0.0,
        high=float(shown.max()),
        method="ratio from one piece",
        pieces=1,
        readings=shown.size,
    )


def line(
    reference: ArrayLike,
    indicated: ArrayLike,
    *,
    weights: ArrayLike | None = None,
    reference_uncertainty: ArrayLike = 0.0,
    repeatability: float | None = None,
    pieces: Sequence[str] | None = None,
) -> CalibrationLine:
    """Fit slope and zero to readings on two or more reference pieces, by (weighted) least squares.

    Readings on one piece share its error. That error enters by the law of propagation (JCGM 100,
    5.1): the estimate stays the least-squares one, its covariance gains slope^2 times the variance
    of each piece, weighted as the fit weighs it. Where reference uncertainties differ much between
    pieces, `errors_in_variables.york` fits better.

    Parameters
    ----------
    reference, indicated
        The known value and what the gauge showed, one pair a reading, in one unit.
    weights
        Relative weights of the readings, above 0; their variances are as 1 / weight. A new
        reading is taken to have weight 1.
    reference_uncertainty
        Standard uncertainty of the pieces: one for all, or one a reading (equal within a piece).
    repeatability
        Standard deviation of one reading of weight 1 where it is known. Otherwise it is the
        scatter within the pieces when they have uncertainties and repeats, else the scatter about
        the line (which then holds part of the pieces' error already: the uncertainty errs wide).
    pieces
        The name of the piece of each reading. Left out, readings with one reference value are on
        one piece, named by that value.

    Raises
    ------
    Refusal
        `one_reference`, `slope_not_positive`, `bad_weights`, `bad_pieces`, `bad_uncertainty`,
        `unequal_lengths`, or those of `samples.clean_values`.

    Examples
    --------
    >>> fitted = line([5.0, 10.0], [5.4, 10.6])
    >>> round(fitted.zero, 9), round(fitted.slope, 9), round(fitted.corrected(8.0), 9)
    (0.2, 1.04, 7.5)
    """
    x = clean_values(reference, least=2, name="the row of references")
    y = clean_values(indicated, name="the row of indicated values")
    paired("References", x, "indicated values", y)
    w = _weights(weights, x.size)
    if np.ptp(x) == 0:
        raise Refusal(
            "one_reference",
            f"All {x.size} readings are on one reference ({x[0]:g}); a slope and a zero need "
            "two different ones, a single piece gives a ratio.",
        )
    names, piece = named_pieces(pieces, x)
    u = uncertainty_of_each(reference_uncertainty, names, piece)

    total = float(w.sum())
    centre = float(w @ x) / total
    spread = float(w @ (x - centre) ** 2)
    to_slope = w * (x - centre) / spread
    to_zero = w / total - centre * to_slope
    slope, zero = _rising(float(to_slope @ y)), float(to_zero @ y)

    if bool(np.any(u > 0)) and x.size > len(names):
        within = np.bincount(piece, w * y) / np.bincount(piece, w)
        squares, freedom = float(w @ (y - within[piece]) ** 2), x.size - len(names)
    else:
        squares, freedom = float(w @ (y - zero - slope * x) ** 2), x.size - 2
    sd, nu = _scatter(squares, freedom, repeatability)
    return CalibrationLine(
        zero=zero,
        slope=slope,
        scatter_covariance=None
        if sd is None
        else LineCovariance(
            zero=sd**2 * (1 / total + centre**2 / spread),
            slope=sd**2 / spread,
            both=-(sd**2) * centre / spread,
        ),
        reference_errors=tuple(
            ReferenceError(
                source=name, zero=float(of_zero), slope=float(of_slope), stated=float(own)
            )
            for name, own, of_zero, of_slope in zip(
                names,
                u,
                slope * u * np.bincount(piece, to_zero),
                slope * u * np.bincount(piece, to_slope),
                strict=True,
            )
        ),
        reading_sd=sd,
        degrees_of_freedom=nu,
        low=float(y.min()),
        high=float(y.max()),
        method="line from two pieces" if len(names) == 2 else "line from several pieces",
        pieces=len(names),
        readings=x.size,
    )


def known_speed(
    *,
    set_to: float,
    true: float,
    true_uncertainty: float = 0.0,
    zero_uncertainty: float = 0.0,
    repeatability: float | None = None,
    speed: str = "speed",
    zero: str = "zero",
) -> CalibrationLine:
    """Give the ratio of a gauge that times an echo: it was set to one speed, the true one is known.

    true value = indicated x true / set_to (ASTM E797 and ISO 16809, from memory: t = V x dt / 2).
    No piece bounds it, so nothing counts as extrapolated. `zero_uncertainty` is in the unit of the
    readings, `true_uncertainty` in that of the speeds; both are standard uncertainties, `speed` and
    `zero` the names of the things whose errors they are.

    Examples
    --------
    >>> round(known_speed(set_to=5920, true=4600).corrected(6.0), 3)
    4.662
    """
    slope = positive("The speed set", set_to) / positive("The true speed", true)
    u_true = uncertainty("The uncertainty of the true speed", true_uncertainty)
    u_zero = uncertainty("The uncertainty of the zero", zero_uncertainty)
    sd, freedom = _scatter(0.0, 0, repeatability)
    return CalibrationLine(
        zero=0.0,
        slope=slope,
        scatter_covariance=LineCovariance(),
        reference_errors=(
            ReferenceError(source=speed, zero=0.0, slope=slope * u_true / true),
            ReferenceError(source=zero, zero=-u_zero, slope=0.0, stated=u_zero),
        ),
        reading_sd=sd,
        degrees_of_freedom=freedom,
        low=0.0,
        high=math.inf,
        method="known speed",
        pieces=0,
        readings=0,
    )


def _scatter(
    squares: float, freedom: int, repeatability: float | None
) -> tuple[float | None, float]:
    if repeatability is not None:
        return uncertainty("The repeatability", repeatability), math.inf
    if freedom < 1:
        return None, math.inf
    return math.sqrt(squares / freedom), float(freedom)


def _rising(slope: float) -> float:
    if not (slope > 0 and math.isfinite(slope)):
        raise Refusal(
            "slope_not_positive",
            f"The indicated values must rise with the reference; their slope is {slope:g}.",
        )
    return slope


def _weights(weights: ArrayLike | None, size: int) -> Values:
    if weights is None:
        return np.ones(size)
    w = clean_values(weights, name="the row of weights")
    if w.size != size or not bool(np.all(w > 0)):
        raise Refusal(
            "bad_weights",
            f"There must be one weight above 0 for each of {size} readings; "
            f"there are {w.size}, the least is {w.min():g}.",
        )
    return w
