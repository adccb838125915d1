"""Several intervals that are to hold all at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from workbench.errors import Refusal
from workbench.inference.estimates import WithInterval
from workbench.inference.results import Interval, check_confidence

METHODS = ("bonferroni", "sidak")


@dataclass(frozen=True, slots=True, kw_only=True)
class SimultaneousIntervals:
    """Intervals in the order asked: `confidence` holds for all together, `each` for one alone."""

    intervals: tuple[Interval, ...]
    confidence: float
    each: float
    method: str


def simultaneous_intervals(
    answers: Sequence[WithInterval], confidence: float = 0.95, method: str = "bonferroni"
) -> SimultaneousIntervals:
    """Answer how far each figure may lie so that all the intervals hold together.

    Parameters
    ----------
    answers : sequence
        Anything with `interval(confidence)`: differences, shares, resampled figures.
    confidence : float
        Of all intervals together.
    method : {"bonferroni", "sidak"}
        Bonferroni holds whatever the dependence; Sidak is a little shorter and holds for
        independent answers and for normal or t ones that move together.

    Raises
    ------
    Refusal
        `nothing_asked`, `unknown_method`, `bad_confidence`.

    References
    ----------
    Miller, R. G. (1981). Simultaneous Statistical Inference, 2nd ed., chapter 1 (from memory).
    """
    check_confidence(confidence)
    if not answers:
        raise Refusal("nothing_asked", "There is no figure to give an interval for.")
    if method not in METHODS:
        raise Refusal("unknown_method", f"The method is one of {METHODS}, not {method!r}.")
    count = len(answers)
    each = 1 - (1 - confidence) / count if method == "bonferroni" else confidence ** (1 / count)
    return SimultaneousIntervals(
        intervals=tuple(answer.interval(each) for answer in answers),
        confidence=confidence,
        each=each,
        method=method,
    )
