"""What single numbers, and numbers read in pairs, must be before anything is done with them."""

from __future__ import annotations

import math
from collections.abc import Sized

from workbench.errors import Refusal


def uncertainty(name: str, value: float) -> float:
    """Give a standard uncertainty: 0 or more and finite, else refuse it (`bad_uncertainty`)."""
    if not (math.isfinite(value) and value >= 0):
        raise Refusal("bad_uncertainty", f"{name} must be 0 or more and finite, not {value}.")
    return float(value)


def positive(name: str, value: float) -> float:
    """Give a number above 0 and finite, else refuse it (`not_positive`)."""
    if not (math.isfinite(value) and value > 0):
        raise Refusal("not_positive", f"{name} must be above 0 and finite, not {value}.")
    return float(value)


def finite(name: str, value: float) -> float:
    """Give a finite number, else refuse it (`not_finite`)."""
    if not math.isfinite(value):
        raise Refusal("not_finite", f"{name} must be a finite number, not {value}.")
    return float(value)


def paired(first_name: str, first: Sized, second_name: str, second: Sized) -> None:
    """Refuse two rows of unequal length (`unequal_lengths`); they are read in pairs."""
    if len(first) != len(second):
        raise Refusal(
            "unequal_lengths",
            f"{first_name} and {second_name} are read in pairs, but there are {len(first)} of one "
            f"and {len(second)} of the other.",
        )
