"""Readings of several steps brought to one, for tests that count readings in common cells.

Readings corrected by several calibrations are intervals whose ends nowhere meet. Each reading is
placed by lot within what it stands for and cut anew to the widest step: the shape of the sample
stays, and a fit that is tested sees the same cells in the sample as in what is drawn from it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from workbench.errors import Refusal

Values = NDArray[np.float64]

TOLERANCE = 1e-6  # of a step


def one_step(
    low: ArrayLike, high: ArrayLike, generator: np.random.Generator
) -> tuple[Values, Values]:
    """Give intervals of one step whose edges none straddles; an end that is infinite stays so.

    Parameters
    ----------
    low, high : array_like
        The ends of each reading, one a reading.
    generator : Generator
        Of the places within them. Not drawn from where the intervals share one lattice already, or
        have no width.

    Raises
    ------
    Refusal
        `bad_interval` where ends run down or both are infinite.
    """
    bottom, top = np.asarray(low, dtype=float), np.asarray(high, dtype=float)
    width = top - bottom
    known = np.isfinite(width)
    if (width < 0).any() or (np.isinf(bottom) & np.isinf(top)).any():
        raise Refusal("bad_interval", "Every interval runs upwards and has a finite end.")
    step = float(width[known].max(initial=0.0))
    if step == 0 or _on_lattice(bottom, top, step):
        return bottom, top
    new_low, new_high = bottom.copy(), top.copy()
    places = bottom[known] + width[known] * generator.random(int(known.sum()))
    k = np.rint(places / step)
    # Written so that neighbours share their edge to the last bit.
    new_low[known], new_high[known] = (2 * k - 1) * (step / 2), (2 * k + 1) * (step / 2)
    for ends in (new_low, new_high):
        limits = ~known & np.isfinite(ends)
        ends[limits] = (2 * np.rint(ends[limits] / step - 0.5) + 1) * (step / 2)
    return new_low, new_high


def _on_lattice(low: Values, high: Values, step: float) -> bool:
    ends = np.concatenate([low[np.isfinite(low)], high[np.isfinite(high)]])
    away = (ends - ends[0]) / step
    width = (high - low)[np.isfinite(high - low)]
    even = bool((np.abs(width - step) <= TOLERANCE * step).all())
    return even and bool((np.abs(away - np.rint(away)) <= TOLERANCE).all())
