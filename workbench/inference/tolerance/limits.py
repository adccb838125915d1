"""What a tolerance interval is, and what may be asked of one."""

from __future__ import annotations

import math
from dataclasses import dataclass

from workbench.errors import Refusal
from workbench.inference.results import Interval, check_confidence

SIDES = ("both", "lower", "upper")


@dataclass(frozen=True, slots=True, kw_only=True)
class ToleranceInterval(Interval):
    """Limits between which at least the share `coverage` lies, with `confidence`.

    A one-sided interval has one infinite end. `attained` is the confidence it really has where the
    limits are observations and the confidence moves in steps; else it is the one asked for.
    """

    coverage: float
    attained: float
    method: str


def check_asked(coverage: float, confidence: float, side: str) -> None:
    """Refuse a coverage or confidence outside 0 to 1, and an unknown side."""
    check_confidence(confidence)
    if not 0 < coverage < 1:
        raise Refusal("bad_coverage", f"Coverage must lie between 0 and 1, not at {coverage}.")
    if side not in SIDES:
        raise Refusal("unknown_side", f"The side is one of {', '.join(SIDES)}, not {side!r}.")


def opened(low: float, high: float, side: str) -> tuple[float, float]:
    """Leave the end open that was not asked for."""
    return (
        -math.inf if side == "upper" else low,
        math.inf if side == "lower" else high,
    )
