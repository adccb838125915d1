"""Two families' thinnest places by extreme values fitted to them: the medians apart."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from workbench.inference.distributions.fit import Fit
from workbench.inference.distributions.sprung import error_of
from workbench.inference.extremes.thin_spots import minima_fit
from workbench.inference.results import Difference

MIDDLE = np.array([[0.5]])


def fitted_median_difference(
    candidate: ArrayLike, reference: ArrayLike, *, step: float = 0.0
) -> Difference:
    """Answer how far apart the medians of two families' thinnest places lie, each family fitted.

    Parameters
    ----------
    candidate, reference : array_like
        One number a block: its thinnest place on a grid both families were read on.
    step : float
        The gauge's step; 0 for none.

    Returns
    -------
    Difference
        Positive when the candidate is the thicker. Errors by the delta method from each fit, judged
        by Student's t on the blocks of both, less those of the fits' parameters.

    Raises
    ------
    Refusal
        Where a family cannot be fitted (too few or equal values), or its fit leaves the median
        open.

    References
    ----------
    Coles, S. (2001). An Introduction to Statistical Modeling of Extreme Values, section 3.3.3
    (from memory).
    """
    fits = [minima_fit(row, step) for row in (candidate, reference)]
    medians = [float(fit.quantile(0.5)[0]) for fit in fits]
    errors = [_median_error(fit) for fit in fits]
    freedom = sum(fit.readings.size - len(fit.parameters) for fit in fits)
    return Difference(
        estimate=medians[0] - medians[1],
        standard_error=math.hypot(*errors),
        degrees_of_freedom=float(max(freedom, 1)),
        method="medians of fitted extreme values",
    )


def _median_error(fit: Fit) -> float:
    family, frame = fit.likelihood.family, fit.likelihood.frame
    return error_of(fit, lambda rows: family.quantile(MIDDLE, rows, frame)[:, 0])
