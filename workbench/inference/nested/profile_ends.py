"""Where a profile whose slope is known rises to a bound: the ends of its interval.

The value is laid onto the whole line, as its logarithm or that of its odds. The root of the rise is
nearly straight there, so Newton steps on it get there in a few.
"""

from __future__ import annotations

import math
from collections.abc import Callable

Above = Callable[[float], tuple[float, float]]

FIRST = math.log(2.0)  # the first step out from the estimate
REACH = 4.0  # the furthest step out
FURTHEST = 60 * math.log(2.0)  # from the estimate: an upper end beyond it is the limit
PRECISION = 1e-4  # of an end, relative
MOST_STEPS = 60


def ends(
    above: Above, estimate: float, rise: float, *, least: float, limit: float = math.inf
) -> tuple[float, float]:
    """Give the ends of the interval in which a profile lies below its bound.

    Parameters
    ----------
    above
        Gives, at a value, the profile less the bound, and its slope in the logarithm of the value;
        with a `limit` the slope in that of its odds.
    estimate
        Where the profile is least, `rise` below the bound.
    least
        A lower end below it is 0, an upper end so near to the limit is the limit.
    limit
        What the value cannot exceed.
    """

    def at(place: float) -> tuple[float, float]:
        return above(back(place, limit))

    floor = forth(least, limit)
    ceiling = forth(max(estimate, least), limit) + FURTHEST if limit == math.inf else -floor
    start = min(max(forth(estimate, limit), floor), ceiling)
    low, high = _end(at, start, rise, floor), _end(at, start, rise, ceiling)
    return 0.0 if low <= floor else back(low, limit), limit if high >= ceiling else back(
        high, limit
    )


def _end(at: Above, start: float, rise: float, furthest: float) -> float:
    """Give where the profile passes its bound between the start and the furthest, or that."""
    bound, toward, span = (
        math.sqrt(rise),
        math.copysign(1.0, furthest - start),
        abs(furthest - start),
    )
    inside, outside, out = 0.0, math.inf, min(FIRST, span)
    for _ in range(MOST_STEPS):
        over, slope = at(start + toward * out)
        if over > 0:
            outside = out
        elif out >= span:
            return furthest
        else:
            inside = out
        root, steep = math.sqrt(max(over + rise, 0.0)), toward * slope
        there = out + (2 * root * (bound - root) / steep if steep > 0 else math.inf)
        if not inside <= there <= outside:
            there = (inside + outside) / 2
        there = min(there, out + REACH, span)
        if abs(there - out) < PRECISION:
            return start + toward * there
        out = there
    return start + toward * out


def forth(value: float, limit: float) -> float:
    """Bring 0 to the limit onto the whole line: a logarithm, or that of the odds."""
    if value <= 0:
        return -math.inf
    if value >= limit:
        return math.inf
    return math.log(value) if limit == math.inf else math.log(value / (limit - value))


def back(log: float, limit: float) -> float:
    """Bring the whole line back to 0 to the limit."""
    if log == math.inf:
        return limit
    return math.exp(log) if limit == math.inf else limit / (1 + math.exp(-log))
