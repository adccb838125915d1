"""Where rising functions, many at once, reach what is asked of each: distributions inverted.

Written out because scipy's `elementwise.find_root` asks for ever fewer points, which a function
made for a whole table cannot answer.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Values = NDArray[np.float64]

DOUBLINGS = 60
STEPS = 200
FINEST = 2.0**-52


def inverse(cdf: Callable[[Values], Values], share: Values, like: Values) -> Values:
    """Invert a rising function at each share; `like` gives the shape.

    Ends are doubled out until they hold the answer between them. Then a parabola through three
    points, turned on its side, is followed wherever that is safe, and the middle elsewhere, down to
    the last digits: a dozen steps do what halving takes fifty for.

    References
    ----------
    Chandrupatla, T. R. (1997). A new hybrid quadratic/bisection algorithm for finding the zero of a
    nonlinear function without using derivatives. Advances in Engineering Software 28, 145-149 (from
    memory).
    """
    target = np.asarray(share, dtype=float) + 0.0 * np.asarray(like, dtype=float)
    a, fa = _end(cdf, target, -1.0)
    b, fb = _end(cdf, target, 1.0)
    way = np.full(target.shape, 0.5)
    for _ in range(STEPS):
        x = a + way * (b - a)
        fx = cdf(x) - target
        beyond = np.signbit(fx) == np.signbit(fa)
        c, fc = np.where(beyond, a, b), np.where(beyond, fa, fb)
        b, fb = np.where(beyond, b, a), np.where(beyond, fb, fa)
        a, fa = x, fx
        nearer = np.abs(fa) < np.abs(fb)
        with np.errstate(divide="ignore", invalid="ignore"):
            least = FINEST * np.maximum(np.abs(np.where(nearer, a, b)), FINEST) / np.abs(b - a)
            done = ~(least <= 0.5) | (fa == 0) | (fb == 0)
            if done.all():
                break
            way = np.where(done, 0.0, _way(a, fa, b, fb, c, fc))
        way = np.where(done, 0.0, np.clip(way, least, 1 - least))
    return np.where(np.abs(fa) < np.abs(fb), a, b)


def _end(cdf: Callable[[Values], Values], target: Values, end: float) -> tuple[Values, Values]:
    """Double an end out until the function lies beyond the target there."""
    at = np.full(target.shape, end)
    for _ in range(DOUBLINGS):
        beyond = cdf(at) - target
        short = beyond * end < 0
        if not short.any():
            break
        at = np.where(short, 2 * at, at)
    return at, cdf(at) - target


def _way(a: Values, fa: Values, b: Values, fb: Values, c: Values, fc: Values) -> Values:
    """Give which share of the way from a to b to try next."""
    across, up = (a - b) / (c - b), (fa - fb) / (fc - fb)
    safe = (up**2 < across) & ((1 - up) ** 2 < 1 - across)
    turned = fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
    return np.where(safe, turned, 0.5)
