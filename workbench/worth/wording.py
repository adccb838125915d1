"""Odds as counts in ten or a hundred, money and blocks in words; never a bare probability."""

from __future__ import annotations

import math

from workbench.inference.results import Interval
from workbench.records.rounding import digits_for, number_text

CENT, CENT_DECIMALS = 0.01, 2
NEAR_TENTH = 0.02


def odds_text(chance: float) -> str:
    """Give a chance as a count: in ten where that is near enough, else in a hundred.

    The ends are said in words, as no simulation and no small count makes anything certain.

    >>> odds_text(0.31), odds_text(0.64), odds_text(0.04), odds_text(0.999), odds_text(0.0)
    ('3 in ten', '64 in a hundred', '4 in a hundred', 'more than 99 in a hundred', \
'fewer than 1 in a hundred')
    """
    if not 0 <= chance <= 1:
        return "odds not known"
    if chance < 0.005:
        return "fewer than 1 in a hundred"
    if chance > 0.995:
        return "more than 99 in a hundred"
    tenths = round(10 * chance)
    if 1 <= tenths <= 9 and abs(chance - tenths / 10) <= NEAR_TENTH:
        return f"{tenths} in ten"
    return f"{round(100 * chance)} in a hundred"


def simulated_odds_text(chance: float, error: float) -> str:
    """Give simulated odds with the standard error of the simulation.

    >>> simulated_odds_text(0.3086, 0.0015)
    '3 in ten (30.9 in a hundred, simulated, standard error 0.15)'
    """
    if error == 0:
        return odds_text(chance)
    decimals = max(1, digits_for(100 * error))
    return (
        f"{odds_text(chance)} ({number_text(100 * chance, decimals - 1)} in a hundred, simulated, "
        f"standard error {number_text(100 * error, decimals)})"
    )


def hundred_text(chance: float) -> str:
    """Give a chance as the number of a count in a hundred; one below 1 is not rounded to none.

    >>> hundred_text(0.64), hundred_text(0.0031), hundred_text(0.0)
    ('64', '0.31', '0')
    """
    rest = min(chance, 1 - chance)
    decimals = 0 if rest >= 0.01 or rest <= 0 else max(1, digits_for(100 * rest))
    return number_text(100 * chance, decimals)


def cases_text(share: float) -> str:
    """Give a share of cases that something is enough for.

    >>> cases_text(0.9), cases_text(0.95)
    ('9 cases of ten', '95 cases of a hundred')
    """
    tenths = round(10 * share)
    if abs(share - tenths / 10) < 1e-9:
        return f"{tenths} cases of ten"
    return f"{round(100 * share)} cases of a hundred"


def money_text(amount: float, currency: str, uncertainty: float = 0.0) -> str:
    """Give an amount to the cent, or to two digits of how unsure it is, never finer than a cent.

    Two digits of the amount itself are always kept.

    >>> money_text(1080, "GBP"), money_text(4896.2, "GBP", 310), money_text(36.4, "GBP", 3600)
    ('1080.00 GBP', '4900 GBP', '36 GBP')
    >>> money_text(float("inf"), "GBP")
    'without bound'
    """
    if not math.isfinite(amount):
        return "without bound"
    return f"{number_text(amount, _decimals(amount, uncertainty))} {currency}"


def money_interval_text(interval: Interval, currency: str) -> str:
    """Give an interval of money, its digits set by a quarter of its length; an open end in words.

    >>> money_interval_text(Interval(low=1778.5, high=15379.2, confidence=0.95), "GBP")
    '1800 to 15400 GBP'
    >>> money_interval_text(Interval(low=1551.6, high=3.45e6, confidence=0.95), "GBP")
    '1600 to 3450000 GBP'
    >>> money_interval_text(Interval(low=1551.6, high=math.inf, confidence=0.95), "GBP")
    '1552 GBP and up, without bound'
    """
    low, high = interval.low, interval.high
    if math.isinf(low) and math.isinf(high):
        return "no bound either way"
    if math.isinf(high):
        return f"{money_text(low, currency, abs(low) / 20)} and up, without bound"
    if math.isinf(low):
        return f"{money_text(high, currency, abs(high) / 20)} and down, without bound"
    ends = (number_text(end, _decimals(end, (high - low) / 4)) for end in (low, high))
    return f"{' to '.join(ends)} {currency}"


def difference_text(interval: Interval, currency: str) -> str:
    """Give an interval of a difference in words: so much more, so much less, or across.

    >>> difference_text(Interval(low=310.2, high=802.9, confidence=0.95), "GBP")
    '310 to 800 GBP more'
    >>> difference_text(Interval(low=-281000, high=-5512, confidence=0.95), "GBP")
    '5500 to 281000 GBP less'
    >>> difference_text(Interval(low=-300, high=500, confidence=0.95), "GBP")
    '300 GBP less to 500 GBP more'
    >>> difference_text(Interval(low=-math.inf, high=-300, confidence=0.95), "GBP")
    'at least 300 GBP less'
    """
    low, high = interval.low, interval.high
    if low >= 0 and math.isinf(high):
        return f"at least {money_text(low, currency, low / 20)} more"
    if high <= 0 and math.isinf(low):
        return f"at least {money_text(-high, currency, -high / 20)} less"
    if low >= 0:
        return f"{money_interval_text(interval, currency)} more"
    if high <= 0:
        turned = Interval(low=-high, high=-low, confidence=interval.confidence)
        return f"{money_interval_text(turned, currency)} less"
    spread = (high - low) / 4
    ends = (
        money_text(abs(end), currency, spread if math.isfinite(spread) else abs(end) / 20)
        for end in (low, high)
    )
    return " less to ".join(ends) + " more"


def _decimals(amount: float, uncertainty: float) -> int:
    """Give the digits the uncertainty allows, but two of the amount and no finer than a cent."""
    decimals = digits_for(uncertainty, CENT)
    if amount != 0:
        decimals = max(decimals, 1 - math.floor(math.log10(abs(amount))))
    return min(decimals, CENT_DECIMALS)


def blocks_text(number: float) -> str:
    """Give a number of blocks.

    >>> blocks_text(1), blocks_text(17), blocks_text(float("inf"))
    ('1 block', '17 blocks', 'more blocks than can be counted')
    """
    if math.isinf(number):
        return "more blocks than can be counted"
    return f"{number:.0f} block{'' if number == 1 else 's'}"
