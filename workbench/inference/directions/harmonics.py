"""Readings round a circle: their mean, the first harmonic, and the second with its test."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import fdtrc

from workbench.errors import Refusal
from workbench.inference.directions.vector import VectorEstimate, direction_of, unit_vectors
from workbench.inference.samples import clean_values

Values = NDArray[np.float64]

ORDERS = (1, 2)
DETERMINED = 1e-6  # least determinant of the weighted mean squares; thirds of a circle give 1/4


@dataclass(frozen=True, slots=True, kw_only=True)
class HarmonicTest:
    """F against 'this harmonic is 0', 2 degrees of freedom above."""

    statistic: float
    degrees_of_freedom: float
    p_value: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HarmonicFit:
    """y = mean + sum over k of cosine_k cos(k angle) + sine_k sin(k angle), by least squares.

    Attributes
    ----------
    coefficients
        The mean, then cosine and sine of each harmonic.
    unscaled
        Covariance of the coefficients for a variance of 1 at weight 1.
    squares, degrees_of_freedom
        Weighted residual sum of squares, and readings less coefficients.
    """

    coefficients: Values
    unscaled: Values
    squares: float
    degrees_of_freedom: int

    @property
    def mean(self) -> float:
        """The mean round the circle."""
        return float(self.coefficients[0])

    @property
    def variance(self) -> float:
        """The residual variance of a reading of weight 1; refused where nothing is left for it."""
        if self.degrees_of_freedom < 1:
            raise Refusal(
                "no_residual",
                f"{self.coefficients.size} readings for {self.coefficients.size} coefficients "
                "leave none to judge the scatter by.",
            )
        return self.squares / self.degrees_of_freedom

    def amplitude(self, harmonic: int = 1) -> float:
        """Give the amplitude of a harmonic; errors make it too large on average."""
        return math.hypot(*self._pair(harmonic))

    def direction(self, harmonic: int = 1) -> float:
        """Give the angle at which a harmonic is largest, in degrees, from 0 to 360 / harmonic."""
        return direction_of(*self._pair(harmonic)) / harmonic

    def vector(
        self,
        harmonic: int = 1,
        *,
        variance: float | None = None,
        degrees_of_freedom: float | None = None,
    ) -> VectorEstimate:
        """Give cosine and sine of a harmonic with their covariance.

        `variance` of a reading of weight 1 and its degrees of freedom may come from elsewhere
        (pooled, or stated); left out, they are those of the residuals.
        """
        scale = self.variance if variance is None else variance
        df = float(self.degrees_of_freedom) if degrees_of_freedom is None else degrees_of_freedom
        at = slice(2 * harmonic - 1, 2 * harmonic + 1)
        (vxx, vxy), (_, vyy) = (scale * self.unscaled[at, at]).tolist()
        x, y = self._pair(harmonic)
        return VectorEstimate(
            x=x,
            y=y,
            vxx=vxx,
            vxy=vxy,
            vyy=vyy,
            degrees_of_freedom=df if variance is None or degrees_of_freedom else math.inf,
            whole_matrix=False,
            method="harmonic regression",
        )

    def test(self, harmonic: int) -> HarmonicTest:
        """Test whether a harmonic is 0, against the residual scatter."""
        at = slice(2 * harmonic - 1, 2 * harmonic + 1)
        pair = np.array(self._pair(harmonic))
        explained = float(pair @ np.linalg.solve(self.unscaled[at, at], pair)) / 2
        variance, df = self.variance, self.degrees_of_freedom
        if variance == 0:
            raise Refusal("no_scatter", "The readings lie on the curve exactly; there is no test.")
        return HarmonicTest(
            statistic=explained / variance,
            degrees_of_freedom=df,
            p_value=float(fdtrc(2, df, explained / variance)),
        )

    def fitted(self, degrees: ArrayLike) -> Values:
        """Give the fitted curve at angles in degrees."""
        at = np.asarray(degrees, dtype=float)
        value: Values = harmonic_columns(at, self.coefficients.size // 2) @ self.coefficients
        return value

    def _pair(self, harmonic: int) -> tuple[float, float]:
        if not 1 <= harmonic <= self.coefficients.size // 2:
            raise Refusal("unknown_harmonic", f"Harmonic {harmonic} was not fitted.")
        cosine, sine = self.coefficients[2 * harmonic - 1 : 2 * harmonic + 1].tolist()
        return cosine, sine


def harmonic_fit(
    degrees: ArrayLike, values: ArrayLike, weights: ArrayLike | None = None, *, order: int = 1
) -> HarmonicFit:
    """Answer how readings round a circle swing: mean, first and (order 2) second harmonic.

    Angles need not be equally spaced. With n equally spaced ones and no weights the coefficients
    are the sums (2/n) y cos and (2/n) y sin, and each has the variance 2 s^2 / n.

    Parameters
    ----------
    degrees, values : array_like
        Angle and reading, in pairs.
    weights : array_like, optional
        Above 0; proportional to one over the variance of each reading.
    order : {1, 2}
        Harmonics fitted; 2 order + 1 distinct angles are needed.

    Raises
    ------
    Refusal
        `too_few_angles`, `angles_too_near` (they do not determine the harmonics),
        `unequal_lengths`, `not_finite`, `bad_weight`, `unknown_harmonic`.

    References
    ----------
    Bliss, C. I. (1970). Statistics in Biology, vol. 2: periodic regression (from memory).

    Examples
    --------
    >>> wall = harmonic_fit([0, 90, 180, 270], [4.4, 4.1, 4.6, 4.9])
    >>> f"mean {wall.mean:.2f}, amplitude {wall.amplitude():.3f} towards {wall.direction():.0f}"
    'mean 4.50, amplitude 0.412 towards 256'
    """
    if order not in ORDERS:
        raise Refusal("unknown_harmonic", f"The order is one of {ORDERS}, not {order}.")
    angles, y, w = _checked(degrees, values, weights)
    distinct = np.unique(angles % 360.0).size
    if distinct < 2 * order + 1:
        raise Refusal(
            "too_few_angles",
            f"{distinct} distinct angles do not determine {order} "
            f"harmonic{'s' if order > 1 else ''}; {2 * order + 1} are needed.",
        )
    columns = harmonic_columns(angles, order)
    root = np.sqrt(w)
    gram = columns.T @ (columns * w[:, None])
    if np.linalg.det(gram / w.sum()) < DETERMINED**order:
        raise angles_too_near()
    found = np.linalg.lstsq(columns * root[:, None], y * root, rcond=None)[0]
    coefficients: Values = found.astype(np.float64)
    left = y - columns @ coefficients
    return HarmonicFit(
        coefficients=coefficients,
        unscaled=np.linalg.inv(gram).astype(np.float64),
        squares=float(w @ left**2),
        degrees_of_freedom=y.size - columns.shape[1],
    )


def harmonic_columns(degrees: Values, order: int) -> Values:
    """Give the columns 1, cos, sin (, cos 2, sin 2) at angles in degrees."""
    turns = [unit_vectors(harmonic * degrees) for harmonic in range(1, order + 1)]
    return np.column_stack([np.ones(degrees.size), *(part for pair in turns for part in pair)])


def angles_too_near() -> Refusal:
    """Say that three angles in a narrow arc determine nothing in practice."""
    return Refusal(
        "angles_too_near",
        "The angles lie so near each other that they do not determine the harmonic; spread them "
        "round the circle.",
    )


def _checked(
    degrees: ArrayLike, values: ArrayLike, weights: ArrayLike | None
) -> tuple[Values, Values, Values]:
    angles = clean_values(degrees, name="the angles")
    y = clean_values(values, name="the readings")
    w = np.ones(y.size) if weights is None else clean_values(weights, name="the weights")
    if not angles.size == y.size == w.size:
        raise Refusal(
            "unequal_lengths",
            f"Angles, readings and weights go together, but there are {angles.size}, {y.size} and "
            f"{w.size} of them.",
        )
    if not (w > 0).all():
        raise Refusal("bad_weight", f"Every weight must be above 0; one is {w.min():g}.")
    return angles, y, w
