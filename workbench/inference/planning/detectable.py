"""What a study as it stands could have shown: the least difference, and the least margin.

Asked of the design, not of the difference found: the power for the difference found says nothing
that its p does not.

References
----------
Hoenig, J. M. and Heisey, D. M. (2001). The abuse of power. The American Statistician 55, 19-24
(from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from workbench.errors import Refusal
from workbench.inference.planning.aims import Aim, Kind, check_power
from workbench.inference.planning.layouts import Precision
from workbench.inference.results import Difference

TOLERANCE = 1e-12
HALVINGS = 60
LEAST = 0.25  # standard errors, where a search below one begins


def precision_of(difference: Difference) -> Precision:
    """Give the precision of a difference that has been measured."""
    return Precision(
        standard_error=difference.standard_error,
        degrees_of_freedom=difference.degrees_of_freedom,
    )


def detectable_difference(
    precision: Precision,
    *,
    kind: Kind = "different",
    margin: float = 0.0,
    confidence: float = 0.95,
    power: float = 0.8,
) -> float:
    """Answer how large a true difference must be for the plan to show it with `power`.

    Parameters
    ----------
    precision : Precision
        Of the plan, or of what is measured (`precision_of`).
    kind : {"greater", "less", "different"}
        What would be shown; for "less" the answer is negative.
    margin, confidence
        As for `Aim`.
    power : float
        The chance wanted.

    Raises
    ------
    Refusal
        `bad_choice` for "same" (see `showable_margin`); `bad_power`, `bad_margin`.

    Examples
    --------
    >>> found = detectable_difference(Precision(standard_error=0.1, degrees_of_freedom=30))
    >>> round(found, 3)
    0.29
    """
    check_power(power)
    aim = Aim(kind=kind, difference=0.0, margin=margin, confidence=confidence)
    if kind == "same":
        raise Refusal("bad_choice", "For sameness ask which margin could be shown.")
    sign = -1.0 if kind == "less" else 1.0
    error = precision.standard_error

    def surplus(beyond: float) -> float:
        truth = sign * (margin + beyond * error)
        return _power(replace(aim, difference=truth), precision) - power

    return sign * (margin + error * _root(surplus))


def showable_margin(
    precision: Precision,
    *,
    difference: float = 0.0,
    confidence: float = 0.95,
    power: float = 0.8,
) -> float:
    """Answer within which margin the plan could show sameness with `power`.

    Parameters
    ----------
    precision, confidence, power
        As for `detectable_difference`.
    difference : float
        The true difference supposed.
    """
    check_power(power)
    error = precision.standard_error

    def surplus(beyond: float) -> float:
        aim = Aim(
            kind="same",
            difference=difference,
            margin=abs(difference) + beyond * error,
            confidence=confidence,
        )
        return _power(aim, precision) - power

    return abs(difference) + error * _root(surplus)


def _power(aim: Aim, precision: Precision) -> float:
    return aim.power(precision.standard_error, precision.degrees_of_freedom)


def _root(surplus: Callable[[float], float]) -> float:
    """Find where a rising function of a distance in standard errors crosses 0."""
    low, high = 0.0, 1.0
    while surplus(high) < 0:
        low, high = high, 2 * high
    if low == 0.0:
        low = LEAST
        while surplus(low) > 0 and low > TOLERANCE:
            low /= 4
        if surplus(low) > 0:
            return 0.0
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        if high - low <= TOLERANCE * high:
            break
        low, high = (low, middle) if surplus(middle) >= 0 else (middle, high)
    return (low + high) / 2
