"""Make a calibration line: a ratio from one piece, a line from two or more, or a known speed."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from workbench.errors import Refusal
from workbench.inference.admissible import paired, positive, uncertainty
from workbench.inference.calibration_line import CalibrationLine, LineCovariance
from workbench.inference.samples import Values, clean_values


def ratio(
    reference: float,
    indicated: ArrayLike,
    *,
    reference_uncertainty: float = 0.0,
    zero_uncertainty: float = 0.0,
    repeatability: float | None = None,
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
        reference_covariance=LineCovariance(
            zero=u_zero**2,
            slope=(u_zero**2 + (slope * u_reference) ** 2) / reference**2,
            both=-(u_zero**2) / reference,
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
) -> CalibrationLine:
    """Fit slope and zero to readings on two or more reference pieces, by (weighted) least squares.

    Readings with one reference value are readings on one piece and share its error. That error
    enters by the law of propagation (JCGM 100, 5.1): the estimate stays the least-squares one, its
    covariance gains slope^2 times the variance of each piece, weighted as the fit weighs it. Where
    reference uncertainties differ much between pieces, `errors_in_variables.york` fits better.

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

    Raises
    ------
    Refusal
        `one_reference`, `slope_not_positive`, `bad_weights`, `bad_uncertainty`,
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
    values, piece = np.unique(x, return_inverse=True)
    if values.size == 1:
        raise Refusal(
            "one_reference",
            f"All {x.size} readings are on one reference ({values[0]:g}); a slope and a zero need "
            "two different ones, a single piece gives a ratio.",
        )
    u = _reference_uncertainties(reference_uncertainty, piece, values)

    total = float(w.sum())
    centre = float(w @ x) / total
    spread = float(w @ (x - centre) ** 2)
    to_slope = w * (x - centre) / spread
    to_zero = w / total - centre * to_slope
    slope, zero = _rising(float(to_slope @ y)), float(to_zero @ y)

    if bool(np.any(u > 0)) and x.size > values.size:
        within = np.bincount(piece, w * y) / np.bincount(piece, w)
        squares, freedom = float(w @ (y - within[piece]) ** 2), x.size - values.size
    else:
        squares, freedom = float(w @ (y - zero - slope * x) ** 2), x.size - 2
    sd, nu = _scatter(squares, freedom, repeatability)

    gains = (
        np.column_stack([np.bincount(piece, to_zero), np.bincount(piece, to_slope)])
        * (slope * u)[:, None]
    )
    of_pieces = gains.T @ gains
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
        reference_covariance=LineCovariance(
            zero=float(of_pieces[0, 0]), slope=float(of_pieces[1, 1]), both=float(of_pieces[0, 1])
        ),
        reading_sd=sd,
        degrees_of_freedom=nu,
        low=float(y.min()),
        high=float(y.max()),
        method="line from two pieces" if values.size == 2 else "line from several pieces",
        pieces=values.size,
        readings=x.size,
    )


def known_speed(
    *,
    set_to: float,
    true: float,
    true_uncertainty: float = 0.0,
    zero_uncertainty: float = 0.0,
    repeatability: float | None = None,
) -> CalibrationLine:
    """Give the ratio of a gauge that times an echo: it was set to one speed, the true one is known.

    true value = indicated x true / set_to (ASTM E797 and ISO 16809, from memory: t = V x dt / 2).
    No piece bounds it, so nothing counts as extrapolated. `zero_uncertainty` is in the unit of the
    readings, `true_uncertainty` in that of the speeds; all standard uncertainties.

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
        reference_covariance=LineCovariance(zero=u_zero**2, slope=(slope * u_true / true) ** 2),
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


def _reference_uncertainties(stated: ArrayLike, piece: np.ndarray, values: Values) -> Values:
    u = clean_values(np.atleast_1d(stated), name="the row of reference uncertainties")
    if u.size == 1:
        u = np.full(piece.size, u[0])
    if u.size != piece.size or bool(np.any(u < 0)):
        raise Refusal(
            "bad_uncertainty",
            f"Reference uncertainties are 0 or more, one for all or one for each of {piece.size} "
            f"readings; there are {u.size}, the least is {u.min():g}.",
        )
    each = np.zeros(values.size)
    np.maximum.at(each, piece, u)
    differing = np.flatnonzero(u != each[piece])
    if differing.size:
        value = values[piece[differing[0]]]
        raise Refusal(
            "bad_uncertainty", f"The piece of {value:g} is given with two different uncertainties."
        )
    return each
