"""The three outcomes: an interval held against a margin, and the p-value of that boundary.

`difference` is always candidate minus reference. A claim states:

===========  ========================================  =============================
direction    claim                                     boundary
===========  ========================================  =============================
`greater`    difference above `margin`                 margin
`less`       difference below minus `margin`           -margin
`different`  difference outside -margin to +margin     the nearer of -margin, +margin
`same`       difference inside -margin to +margin      -margin and +margin
===========  ========================================  =============================

A margin below zero is allowed for `greater` and `less` ("no more than 1 mm thinner" is
`greater` with margin -1), never for the other two.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, Protocol

from workbench.errors import Refusal
from workbench.inference.results import Interval

Direction = Literal["greater", "less", "same", "different"]
Outcome = Literal["supported", "contradicted", "unresolved"]

DIRECTIONS: tuple[Direction, ...] = ("greater", "less", "same", "different")
OUTCOMES: tuple[Outcome, ...] = ("supported", "contradicted", "unresolved")


class Answer(Protocol):
    """What an analysis must answer to be held against a margin."""

    @property
    def estimate(self) -> float:
        """Candidate minus reference."""

    def interval(self, confidence: float = ...) -> Interval:
        """Give the two-sided interval."""

    def p_value(self, margin: float = ...) -> float:
        """Give the two-sided p of a boundary."""

    def p_above(self, margin: float) -> float:
        """Give the one-sided p against 'the difference is `margin` or less'."""

    def p_below(self, margin: float) -> float:
        """Give the one-sided p against 'the difference is `margin` or more'."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """An outcome with its numbers.

    `interval` is at the study's confidence. `inner`, for `same` only, is the interval at
    2 * confidence - 1 whose lying inside the margins is the two one-sided tests. `p_value` is that
    of the boundary: two-sided, but for `same` the larger of the two one-sided. `deciding_p` is the
    p-value that is below 1 - confidence exactly when the claim is decided, either way; it differs
    from `p_value` only for a `same` whose estimate lies outside the margins.
    """

    outcome: Outcome
    interval: Interval
    inner: Interval | None
    p_value: float
    deciding_p: float

    @property
    def told_p(self) -> float:
        """The p-value a reader is told: of a contradicted claim, the one that contradicts it."""
        return self.deciding_p if self.outcome == "contradicted" else self.p_value


def decide(answer: Answer, *, direction: Direction, margin: float, confidence: float) -> Decision:
    """Hold an analysis against a claim's margin at `confidence` (above 0.5 for `same`)."""
    interval = answer.interval(confidence)
    inner = answer.interval(inner_confidence(confidence)) if direction == "same" else None
    outside = two_sided_p(answer, direction, margin)
    p_value = deciding = outside
    if direction == "same":
        p_value = max(answer.p_above(-margin), answer.p_below(margin))
        deciding = p_value if abs(answer.estimate) < margin else outside
    return Decision(
        outcome=outcome(direction, margin, interval, inner),
        interval=interval,
        inner=inner,
        p_value=p_value,
        deciding_p=deciding,
    )


def outcome(
    direction: Direction, margin: float, interval: Interval, inner: Interval | None = None
) -> Outcome:
    """Give the outcome of a claim from its interval; touching the margin settles nothing."""
    if direction == "greater":
        return _beyond(interval.low > margin, interval.high < margin)
    if direction == "less":
        return _beyond(interval.high < -margin, interval.low > -margin)
    outside = interval.low > margin or interval.high < -margin
    if direction == "different":
        return _beyond(outside, interval.low > -margin and interval.high < margin)
    if inner is None:
        raise ValueError("`same` is judged by the inner interval; none was given")
    return _beyond(inner.low > -margin and inner.high < margin, outside)


def two_sided_p(answer: Answer, direction: Direction, margin: float) -> float:
    """Give the two-sided p of the claim's boundary, the nearer one where there are two."""
    if direction == "greater":
        return answer.p_value(margin)
    if direction == "less":
        return answer.p_value(-margin)
    return max(answer.p_value(-margin), answer.p_value(margin))


def inner_confidence(confidence: float) -> float:
    """Give the confidence of the interval that equals two one-sided tests at 1 - confidence."""
    inner = 2 * confidence - 1
    if inner <= 0:
        raise Refusal(
            "bad_confidence",
            f"A claim of sameness needs a confidence above 0.5; the study's is {confidence}.",
        )
    return inner


def _beyond(supported: bool, contradicted: bool) -> Outcome:
    if supported:
        return "supported"
    return "contradicted" if contradicted else "unresolved"
