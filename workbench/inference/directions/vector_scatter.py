"""Whether vectors of several families scatter alike, and how many times more one does."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike, NDArray

from workbench.errors import Refusal
from workbench.inference.directions.hotelling import VectorSample, clean_vectors
from workbench.inference.means.several_families import one_way
from workbench.inference.spreads.equality import SpreadTest, VarianceRatio

Values = NDArray[np.float64]

LEAST = 3
SETTLED = 1e-12
ROUNDS = 500


def scatter_test(families: Mapping[str, ArrayLike]) -> SpreadTest:
    """Answer whether families of vectors scatter alike, safe against shapes that are not normal.

    The one-way analysis of the distances from each family's spatial median, stretched by
    sqrt(n / (n - 1)) for the median's leaning towards its own vectors.

    Parameters
    ----------
    families : mapping of str to array_like
        Rows (x, y), an independent unit each, three or more a family.

    Raises
    ------
    Refusal
        `too_few`, `too_few_families`, `zero_spread`, `not_vectors`, `not_finite`.

    References
    ----------
    Anderson, M. J. (2006). Distance-based tests for homogeneity of multivariate dispersions.
    Biometrics 62, 245-253 (from memory).
    """
    distances = {}
    for name, vectors in families.items():
        rows = _several(vectors, name)
        stretch = np.sqrt(len(rows) / (len(rows) - 1))
        distances[name] = stretch * np.hypot(*(rows - spatial_median(rows)).T)
    found = one_way(distances)
    return SpreadTest(
        statistic=found.statistic,
        between_degrees_of_freedom=found.between_degrees_of_freedom,
        within_degrees_of_freedom=found.within_degrees_of_freedom,
        p_value=found.p_value,
        method="distances from the spatial median",
    )


def scatter_ratio(candidate: ArrayLike, reference: ArrayLike) -> VarianceRatio:
    """Answer how many times the mean squared distance from the mean of one family is the other's.

    For normal families. The trace of a covariance is taken as a chi-square of
    (n - 1) trace(S)^2 / trace(S^2) degrees of freedom: twice n - 1 for scatter that is round, n - 1
    for scatter along one line.

    Raises
    ------
    Refusal
        `too_few`, `zero_spread`, `not_vectors`, `not_finite`.
    """
    traces, freedom = [], []
    for name, vectors in (("the candidate", candidate), ("the reference", reference)):
        known = VectorSample.of(_several(vectors, name))
        covariance = known.covariance
        trace = float(np.trace(covariance))
        if trace == 0:
            raise Refusal("zero_spread", f"All vectors of {name} are equal.")
        traces.append(trace)
        freedom.append((known.n - 1) * trace**2 / float(np.trace(covariance @ covariance)))
    return VarianceRatio(
        estimate=traces[0] / traces[1],
        candidate_degrees_of_freedom=freedom[0],
        reference_degrees_of_freedom=freedom[1],
    )


def spatial_median(vectors: ArrayLike) -> Values:
    """Give the point whose distances to the vectors add up to the least.

    By Weiszfeld's weights, with the step that lets it leave a vector (Vardi & Zhang 2000, PNAS 97,
    1423-1426; from memory).
    """
    rows = clean_vectors(vectors)
    at: Values = rows.mean(axis=0)
    size = float(np.hypot(*(rows - at).T).max())
    for _ in range(ROUNDS):
        apart = np.hypot(*(rows - at).T)
        here = apart <= SETTLED * size
        if here.all():
            break
        pull = 1 / apart[~here]
        new = pull @ rows[~here] / pull.sum()
        if here.any():
            force = float(np.hypot(*(pull @ (rows[~here] - at))))
            stay = min(1.0, here.sum() / force) if force > 0 else 1.0
            new = (1 - stay) * new + stay * at
        moved = float(np.hypot(*(new - at)))
        at = new
        if moved <= SETTLED * size:
            break
    return at


def _several(vectors: ArrayLike, name: str) -> Values:
    rows = clean_vectors(vectors)
    if len(rows) < LEAST:
        raise Refusal("too_few", f"{name} holds {len(rows)} vectors; at least {LEAST} are needed.")
    return rows
