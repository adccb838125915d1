"""Estimates with their intervals as figures and tables print them."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, Protocol, TypeGuard

from workbench.records.rounding import interval_text, p_text, quantity_text, shown_unit

if TYPE_CHECKING:
    from workbench.claims.verdict import Verdict
    from workbench.errors import Refusal


class Estimated(Protocol):
    """A verdict, a check on it, or a row of a figure: an estimate between its ends."""

    @property
    def estimate(self) -> float:
        """The difference."""

    @property
    def low(self) -> float:
        """The lower end of its interval."""

    @property
    def high(self) -> float:
        """The upper end of its interval."""


def percent(confidence: float) -> str:
    """Give a confidence in per cent, as the sentences of a verdict do.

    >>> percent(0.95), percent(0.995)
    ('95%', '99.5%')
    """
    return f"{round(confidence * 100, 6):g}%"


def why_not(refusal: Refusal) -> str:
    """Say in a cell why it has no number; the numbers asked are those of blocks, one each.

    >>> from workbench.errors import Refusal
    >>> why_not(Refusal("too_few", "The sample holds 3 numbers; at least 5 are needed."))
    'too few blocks'
    """
    return "too few blocks" if refusal.code == "too_few" else str(refusal)


def share_words(share: float, low: float | None = None, high: float | None = None) -> str:
    """Give a share in per cent, with its interval in brackets where it has one.

    >>> share_words(0.0176, 0.0064, 0.0447), share_words(0.484, 0.39, 0.58), share_words(0.00004)
    ('1.8% (0.6% to 4.5%)', '48% (39% to 58%)', 'below 0.1%')
    """
    if low is None or high is None:
        return share_text(share)
    middle, ends = share_text(share), (share_text(low), share_text(high))
    return middle if set(ends) == {middle} else f"{middle} ({ends[0]} to {ends[1]})"


def share_text(share: float) -> str:
    """Give a share in per cent, finer near 0 and 100%, and never as either where it is neither."""
    if share in (0.0, 1.0):
        return f"{100 * share:.0f}%"
    if share < 0.001 or share > 0.999:
        return "below 0.1%" if share < 0.5 else "above 99.9%"
    return f"{100 * share:.1f}%" if share < 0.0995 or share > 0.9005 else f"{100 * share:.0f}%"


def known(number: float | None) -> TypeGuard[float]:
    """Tell whether a number is there and finite."""
    return number is not None and math.isfinite(number)


def estimate_words(
    estimate: float | None,
    low: float | None,
    high: float | None,
    unit: str,
    *,
    uncertainty: float | None = None,
    step: float | None = None,
) -> str:
    """Give an estimate with its interval in brackets, alone where it has none, or say it is absent.

    The standard `uncertainty` sets the digits; without it a quarter of the interval does.

    >>> estimate_words(2.3144, 1.902, 2.7268, "mm")
    '2.31 (1.90 to 2.73) mm'
    """
    if not known(estimate):
        return "no estimate"
    times, unit = shown_unit(unit)
    estimate = times * estimate
    low, high, uncertainty, step = (
        None if number is None else times * number for number in (low, high, uncertainty, step)
    )
    if low is None or high is None or math.isnan(low) or math.isnan(high):
        return f"{quantity_text(estimate, uncertainty, unit, step)}, no interval"
    if not known(uncertainty):
        uncertainty = (high - low) / 4 if math.isfinite(high - low) else abs(estimate) / 20
    number = quantity_text(estimate, uncertainty, "", step)
    return (
        f"{number} ({interval_text(low, high, uncertainty=uncertainty, step=step)}) {unit}".strip()
    )


def verdict_words(of: Estimated, verdict: Verdict) -> str:
    """Give the difference of a verdict, or of a check on it, to the digits of the verdict."""
    return estimate_words(
        of.estimate,
        of.low,
        of.high,
        verdict.unit,
        uncertainty=verdict.standard_error,
        step=verdict.finest if known(verdict.finest) else None,
    )


def as_shown(verdict: Verdict) -> Verdict:
    """Give a verdict in the unit it is printed and drawn in: shares in percentage points."""
    times, unit = shown_unit(verdict.unit)
    if times == 1.0:
        return verdict
    ends = ("estimate", "low", "high")
    own = (*ends, "margin", "inner_low", "inner_high", "standard_error", "finest")
    checks = tuple(
        replace(check, **{name: times * getattr(check, name) for name in ends})
        for check in verdict.checks
    )
    scaled = {name: times * getattr(verdict, name) for name in own}
    return replace(verdict, unit=unit, checks=checks, **scaled)


def range_words(low: float, high: float, unit: str) -> str:
    """Give a range as it was said.

    >>> range_words(11.0, 12.0, "mm")
    '11 to 12 mm'
    """
    return f"{low:.6g} to {high:.6g} {unit}".rstrip()


def p_words(p_value: float | None) -> str:
    """Give a p-value, or say that there is none.

    >>> p_words(0.0134), p_words(None)
    ('p = 0.013', 'no p-value')
    """
    return p_text(p_value) if known(p_value) else "no p-value"
