"""Estimates with their intervals as figures and tables print them."""

from __future__ import annotations

import math
from typing import TypeGuard

from workbench.records.rounding import interval_text, p_text, quantity_text


def percent(confidence: float) -> str:
    """Give a confidence as a whole or short per cent.

    >>> percent(0.95), percent(0.995)
    ('95%', '99.5%')
    """
    return f"{confidence * 100:.6g}%"


def known(number: float | None) -> TypeGuard[float]:
    """Tell whether a number is there and finite."""
    return number is not None and math.isfinite(number)


def estimate_words(
    estimate: float | None,
    low: float | None,
    high: float | None,
    unit: str,
    step: float | None = None,
) -> str:
    """Give an estimate with its interval in brackets, alone where it has none, or say it is absent.

    >>> estimate_words(2.3144, 1.902, 2.7268, "mm")
    '2.31 (1.90 to 2.73) mm'
    """
    if not known(estimate):
        return "no estimate"
    if low is None or high is None or not (math.isfinite(low) or math.isfinite(high)):
        return f"{quantity_text(estimate, None, unit, step)}, no interval"
    if math.isinf(low) or math.isinf(high):
        bound = interval_text(low, high, unit, uncertainty=abs(estimate) / 20, step=step)
        return f"{quantity_text(estimate, abs(estimate) / 20, unit, step)} ({bound})"
    number = quantity_text(estimate, (high - low) / 4, "", step)
    return f"{number} ({interval_text(low, high, step=step)}) {unit}".rstrip()


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
