"""Means of vectors: one sample, and two samples whose scatter may differ."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from workbench.errors import Refusal
from workbench.inference.directions.vector import VectorEstimate

Values = NDArray[np.float64]

LEAST = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class VectorSample:
    """Count, mean vector and covariance (divisor n - 1) of vectors; NaN covariance for one."""

    n: int
    x: float
    y: float
    cxx: float
    cxy: float
    cyy: float

    @classmethod
    def of(cls, vectors: ArrayLike) -> VectorSample:
        """Summarise vectors given as rows (x, y).

        Raises
        ------
        Refusal
            `not_vectors` where rows are not pairs, `not_finite`.
        """
        rows = clean_vectors(vectors)
        mean = rows.mean(axis=0)
        left = rows - mean
        over = len(rows) - 1
        square = left.T @ left / over if over else np.full((2, 2), math.nan)
        return cls(
            n=len(rows),
            x=float(mean[0]),
            y=float(mean[1]),
            cxx=float(square[0, 0]),
            cxy=float(square[0, 1]),
            cyy=float(square[1, 1]),
        )

    @property
    def covariance(self) -> Values:
        """The covariance of a single vector, 2 x 2."""
        return np.array([[self.cxx, self.cxy], [self.cxy, self.cyy]])


def mean_vector(vectors: ArrayLike | VectorSample) -> VectorEstimate:
    """Answer where the mean of vectors lies, each an independent unit, roughly normal.

    Parameters
    ----------
    vectors : array_like or VectorSample
        Rows (x, y), three or more; or their summary.

    Raises
    ------
    Refusal
        `too_few` below three; `no_region` where they do not spread in both directions.

    References
    ----------
    Hotelling, H. (1931). The generalization of Student's ratio. Annals of Mathematical Statistics
    2, 360-378.
    """
    known = vectors if isinstance(vectors, VectorSample) else VectorSample.of(vectors)
    if known.n < LEAST:
        raise Refusal("too_few", f"A region needs {LEAST} vectors or more; here: {known.n}.")
    return _estimate(
        known.x, known.y, known.covariance / known.n, known.n - 1, "Hotelling, one sample"
    )


def vector_difference(
    candidate: ArrayLike | VectorSample, reference: ArrayLike | VectorSample
) -> VectorEstimate:
    """Answer how far two mean vectors lie apart (candidate less reference).

    Each sample has its own scatter; one of them may hold a single vector, or two, and the
    covariance is then pooled over both, as the single vector has none of its own.

    Parameters
    ----------
    candidate, reference : array_like or VectorSample
        Rows (x, y), an independent unit each; or their summaries.

    Raises
    ------
    Refusal
        `too_few` where both together leave no region; `no_region`.

    References
    ----------
    Krishnamoorthy, K., Yu, J. (2004). Modified Nel and Van der Merwe test for the multivariate
    Behrens-Fisher problem. Statistics & Probability Letters 66, 161-169 (degrees of freedom). From
    memory; with two samples of one size and scatter it is Hotelling's test.
    """
    own, other = (
        sample if isinstance(sample, VectorSample) else VectorSample.of(sample)
        for sample in (candidate, reference)
    )
    x, y = own.x - other.x, own.y - other.y
    if min(own.n, other.n) < LEAST:
        return _pooled(own, other, x, y)
    parts = [sample.covariance / sample.n for sample in (own, other)]
    total = parts[0] + parts[1]
    spread = 0.0
    for part, sample in zip(parts, (own, other), strict=True):
        share = np.linalg.solve(total, part) if np.linalg.det(total) > 0 else part
        spread += float(np.trace(share @ share) + np.trace(share) ** 2) / (sample.n - 1)
    df = 6 / spread if spread > 0 else math.inf
    return _estimate(x, y, total, df, "Hotelling, scatter of each family its own")


def pooled_difference(
    candidate: ArrayLike | VectorSample, reference: ArrayLike | VectorSample
) -> VectorEstimate:
    """Answer as `vector_difference` when both samples scatter alike: Hotelling's own test."""
    own, other = (
        sample if isinstance(sample, VectorSample) else VectorSample.of(sample)
        for sample in (candidate, reference)
    )
    return _pooled(own, other, own.x - other.x, own.y - other.y)


def clean_vectors(vectors: ArrayLike) -> Values:
    """Give vectors as rows (x, y) of finite numbers."""
    try:
        rows = np.asarray(vectors, dtype=np.float64)
    except (TypeError, ValueError):
        raise Refusal("not_vectors", "Vectors are rows of two numbers.") from None
    if rows.ndim != 2 or rows.shape[1] != 2 or not len(rows):
        raise Refusal("not_vectors", f"Vectors are rows of two numbers; the shape is {rows.shape}.")
    if not np.isfinite(rows).all():
        raise Refusal("not_finite", "Every number of every vector must be finite.")
    return rows


def _pooled(own: VectorSample, other: VectorSample, x: float, y: float) -> VectorEstimate:
    df = own.n + other.n - 2
    if df < 2:
        raise Refusal(
            "too_few",
            f"{own.n} and {other.n} vectors leave no region; together 4 or more are needed.",
        )
    squares = np.zeros((2, 2))
    for sample in (own, other):
        if sample.n > 1:
            squares += (sample.n - 1) * sample.covariance
    covariance = squares / df * (1 / own.n + 1 / other.n)
    return _estimate(x, y, covariance, df, "Hotelling, scatter pooled")


def _estimate(x: float, y: float, covariance: Values, df: float, method: str) -> VectorEstimate:
    return VectorEstimate(
        x=x,
        y=y,
        vxx=float(covariance[0, 0]),
        vxy=float(covariance[0, 1]),
        vyy=float(covariance[1, 1]),
        degrees_of_freedom=df,
        whole_matrix=True,
        method=method,
    )
