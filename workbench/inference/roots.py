"""Where a function crosses zero between two points that lie on either side of it.

Written out because the ready routine loads a whole library of optimisers, a tenth of a second of
every command.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from workbench.errors import Refusal

FINEST = 4 * 2.0**-52  # relative; no double lies closer
STEPS = 1000


def root_between(
    function: Callable[[float], float],
    low: float,
    high: float,
    *,
    absolute: float = 2e-12,
    relative: float = FINEST,
    values: tuple[float, float] | None = None,
) -> float:
    """Give a point where `function` crosses zero between `low` and `high`.

    Chandrupatla's method: a parabola through three points, turned on its side, wherever that is
    safe, and halving elsewhere. It ends when the crossing is known within `absolute` plus
    `relative` times its size, also where the function jumps. `values` are the function's at `low`
    and `high`, where they are known already.

    Raises
    ------
    Refusal
        `no_crossing` where the function has one sign at both ends, or is no number there.

    References
    ----------
    Chandrupatla, T. R. (1997). A new hybrid quadratic/bisection algorithm for finding the zero of a
    nonlinear function without using derivatives. Advances in Engineering Software 28, 145-149 (from
    memory).

    Examples
    --------
    >>> f"{root_between(lambda x: x**2 - 2, 0.0, 2.0):.9f}"
    '1.414213562'
    """
    if not (math.isfinite(low) and math.isfinite(high) and absolute > 0):
        raise Refusal("no_crossing", f"No crossing is looked for between {low} and {high}.")
    at_low, at_high = (function(low), function(high)) if values is None else values
    newest, other = (low, float(at_low)), (high, float(at_high))
    if not newest[1] * other[1] <= 0:
        raise Refusal(
            "no_crossing",
            f"Between {low:g} and {high:g} no crossing of 0 is known: the function goes from "
            f"{newest[1]:g} to {other[1]:g}.",
        )
    return _closed_in(function, newest, other, absolute, max(relative, FINEST))


def _closed_in(
    function: Callable[[float], float],
    newest: tuple[float, float],
    other: tuple[float, float],
    absolute: float,
    relative: float,
) -> float:
    """Close in on the crossing between the newest point and one on the other side of it."""
    (a, fa), (b, fb) = newest, other
    share = 0.5
    for _ in range(STEPS):
        if fa == 0 or fb == 0:
            break
        x = a + share * (b - a)
        fx = float(function(x))
        if math.isnan(fx):
            raise Refusal("no_crossing", f"The function is no number at {x:g}.")
        if (fx > 0) == (fa > 0):
            c, fc = a, fa
        else:
            c, fc, b, fb = b, fb, a, fa
        a, fa = x, fx
        nearest = a if abs(fa) < abs(fb) else b
        tolerance = (absolute + relative * abs(nearest)) / abs(b - a)
        if tolerance > 0.5:
            break
        share = min(1 - tolerance, max(tolerance, _step(a, fa, b, fb, c, fc)))
    return a if abs(fa) < abs(fb) else b


def _step(a: float, fa: float, b: float, fb: float, c: float, fc: float) -> float:
    """Give which share of the way from a to b to try next."""
    across, up = (a - b) / (c - b), (fa - fb) / (fc - fb)
    if not (1 - math.sqrt(1 - across) < up < math.sqrt(across)):
        return 0.5
    ends = fa / (fb - fa) * fc / (fb - fc)
    return ends + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
