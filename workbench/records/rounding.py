"""Numbers as text, by one written rule.

The standard uncertainty sets the digits: two significant digits of it (JCGM 100, 7.2.6: at most
two are usually enough), and never finer than the step of the gauge. A value without an uncertainty
is printed to its step. Halves go to the even digit (ISO 80000-1, annex B, rule A). The unit is
always printed, the locale never asked. A difference of shares, kept from -1 to 1, is printed in
percentage points.
"""

from __future__ import annotations

import math
from decimal import ROUND_HALF_EVEN, Decimal

from workbench.records.quantity_table import SHARE

POINTS = "percentage points"
SIGNIFICANT = 2
DECIMALS_WITHOUT_STEP = 6
A_LITTLE_UNDER = math.log10(math.sqrt(2))


def digits_for(uncertainty: float, step: float | None = None) -> int:
    """Give the decimals to print: two significant digits of `uncertainty`, no finer than `step`.

    Negative counts round to tens and hundreds. An uncertainty that is 0 or not a number leaves it
    to the step alone.

    >>> digits_for(0.0234), digits_for(0.0234, step=0.01), digits_for(31.0), digits_for(1234.0)
    (3, 2, 0, -2)
    """
    finest = DECIMALS_WITHOUT_STEP if step is None else _decimals_of(step)
    if not (math.isfinite(uncertainty) and uncertainty > 0):
        return finest
    exact = Decimal(repr(float(uncertainty)))
    decimals = SIGNIFICANT - 1 - exact.adjusted()
    # 0.0996 rounds up to 0.10: one decimal less keeps two digits.
    rounded = exact.quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_HALF_EVEN)
    return min(SIGNIFICANT - 1 - rounded.adjusted(), finest)


def number_text(value: float, decimals: int) -> str:
    """Give a number with so many decimals, halves to even, no sign on zero.

    >>> number_text(2.345, 2), number_text(-0.004, 2), number_text(1250.0, -2)
    ('2.34', '0.00', '1200')
    """
    if not math.isfinite(value):
        return "not known" if math.isnan(value) else ("-∞" if value < 0 else "∞")
    rounded = Decimal(repr(float(value))).quantize(
        Decimal(1).scaleb(-decimals), rounding=ROUND_HALF_EVEN
    )
    return f"{rounded if rounded else abs(rounded):f}"


def shown_unit(unit: str) -> tuple[float, str]:
    """Give what numbers in `unit` are multiplied with to be printed, and the unit printed.

    >>> shown_unit("share"), shown_unit("mm")
    ((100.0, 'percentage points'), (1.0, 'mm'))
    """
    return (100.0, POINTS) if unit == SHARE else (1.0, unit)


def quantity_text(
    value: float, uncertainty: float | None = None, unit: str = "", step: float | None = None
) -> str:
    """Give a value with its unit, to the digits its uncertainty and gauge step allow.

    >>> quantity_text(5.23456, 0.0123, "mm"), quantity_text(5.2, unit="mm", step=0.01)
    ('5.235 mm', '5.20 mm')
    >>> quantity_text(-0.0537, 0.031, "share", 0.001)
    '-5.4 percentage points'
    """
    times, unit = shown_unit(unit)
    value = times * value
    uncertainty = None if uncertainty is None else times * uncertainty
    step = None if step is None else times * step
    if uncertainty is None and step is None:
        return _with_unit(f"{value:.6g}" if math.isfinite(value) else number_text(value, 0), unit)
    return _with_unit(number_text(value, digits_for(uncertainty or 0.0, step)), unit)


def interval_text(
    low: float,
    high: float,
    unit: str = "",
    *,
    uncertainty: float | None = None,
    step: float | None = None,
) -> str:
    """Give `low to high unit`; without an uncertainty a quarter of the length sets the digits.

    A quarter is the standard uncertainty behind a 95 % interval. An open end is said in words.

    >>> interval_text(1.98765, 2.34567, "mm"), interval_text(2.5, math.inf, "mm", step=0.01)
    ('1.988 to 2.346 mm', 'above 2.50 mm')
    """
    times, unit = shown_unit(unit)
    low, high = times * low, times * high
    spread = (high - low) / 4 if uncertainty is None else times * uncertainty
    step = None if step is None else times * step
    decimals = digits_for(spread, step)
    if math.isinf(low) and math.isinf(high):
        return "no limit either way"
    if math.isinf(high):
        return f"above {_with_unit(number_text(low, decimals), unit)}"
    if math.isinf(low):
        return f"below {_with_unit(number_text(high, decimals), unit)}"
    return _with_unit(f"{number_text(low, decimals)} to {number_text(high, decimals)}", unit)


def p_text(p: float) -> str:
    """Give a p-value: two significant digits, two decimals from 0.1 on, bounds at the ends.

    >>> p_text(0.0134), p_text(0.00002), p_text(0.263), p_text(0.9999)
    ('p = 0.013', 'p < 0.001', 'p = 0.26', 'p > 0.99')
    """
    if not math.isfinite(p):
        return "p not known"
    if p < 0.001:
        return "p < 0.001"
    if p > 0.99:
        return "p > 0.99"
    return f"p = {number_text(p, min(digits_for(p), 4) if p < 0.1 else 2)}"


def _decimals_of(step: float) -> int:
    """Give the decimals that show `step`: a step of 0.05 has two, one of 0.0254 too.

    A step a little under a power of ten, as a calibration leaves one of 0.01 mm (0.0078 mm), has
    those of the power: its hundredths are what the gauge showed.
    """
    return math.ceil(-math.log10(step) - A_LITTLE_UNDER)


def _with_unit(text: str, unit: str) -> str:
    return f"{text} {unit}" if unit else text
