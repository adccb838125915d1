"""Readings of several steps brought to one, for tests that count readings in common cells.

Readings corrected by several calibrations are intervals whose ends nowhere meet. Each reading is
placed by lot within what it stands for and cut anew to the widest step: the shape of the sample
stays, and a fit that is tested sees the same cells in the sample as in what is drawn from it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from workbench.errors import Refusal
from workbench.inference.distributions.readings import Window

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


def within_window(
    low: ArrayLike, high: ArrayLike, window: Window
) -> tuple[NDArray[np.bool_], Window]:
    """Give which readings lie wholly in a window, narrowed to whole steps of one lattice.

    Parameters
    ----------
    low, high : array_like
        Ends that share one lattice, as `one_step` gives them; readings without width share all.
    window : (float, float)
        Where readings would have been kept. A reading whose finite ends do not lie in the narrowed
        one is left out: it says nothing that one of another step beside it could have said.
    """
    bottom, top = np.asarray(low, dtype=float), np.asarray(high, dtype=float)
    step = float((top - bottom)[np.isfinite(top - bottom)].max(initial=0.0))
    edges = bottom[np.isfinite(bottom) & (top > bottom)]
    if step > 0 and edges.size:
        ends = [(end - edges[0]) / step for end in window]
        start = np.ceil(ends[0] - TOLERANCE), np.floor(ends[1] + TOLERANCE)
        window = (float(edges[0] + step * start[0]), float(edges[0] + step * start[1]))
    slack = TOLERANCE * step
    inside = (np.isinf(bottom) | (bottom >= window[0] - slack)) & (
        np.isinf(top) | (top <= window[1] + slack)
    )
    # A reading known only to lie beyond a limit needs some room in the window.
    inside &= np.isfinite(bottom) | (top > window[0] + slack)
    inside &= np.isfinite(top) | (bottom < window[1] - slack)
    return inside, window


def _on_lattice(low: Values, high: Values, step: float) -> bool:
    ends = np.concatenate([low[np.isfinite(low)], high[np.isfinite(high)]])
    away = (ends - ends[0]) / step
    width = (high - low)[np.isfinite(high - low)]
    even = bool((np.abs(width - step) <= TOLERANCE * step).all())
    return even and bool((np.abs(away - np.rint(away)) <= TOLERANCE).all())
