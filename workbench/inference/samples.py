"""What a sample must be before it is analysed: finite numbers in one row, and enough of them."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike, NDArray

from workbench.errors import Refusal
from workbench.inference.means.welch import Summary

Values = NDArray[np.float64]


def clean_values(values: ArrayLike, *, least: int = 1, name: str = "the sample") -> Values:
    """Give `values` as one row of finite floats, at least `least` of them.

    Raises
    ------
    Refusal
        `not_numbers`, `not_one_row`, `not_finite` (with the place) or `too_few` (with the bound).
    """
    try:
        row = np.asarray(values, dtype=np.float64)
    except (TypeError, ValueError):
        raise Refusal("not_numbers", f"{name} holds something that is not a number.") from None
    if row.ndim != 1:
        raise Refusal(
            "not_one_row", f"{name} must be one row of numbers; it has {row.ndim} dimensions."
        )
    unusable = np.flatnonzero(~np.isfinite(row))
    if unusable.size:
        place = int(unusable[0])
        raise Refusal(
            "not_finite",
            f"{name} holds {row[place]} at place {place + 1}; every number must be finite.",
        )
    if row.size < least:
        raise Refusal(
            "too_few",
            f"{name} holds {row.size} {'number' if row.size == 1 else 'numbers'}; at least {least} "
            "are needed.",
        )
    return row


def summarised(sample: ArrayLike | Summary, *, least: int = 2, name: str = "the sample") -> Summary:
    """Give a sample or a printed summary as a summary of at least `least` numbers."""
    if not isinstance(sample, Summary):
        return Summary.of(clean_values(sample, least=max(least, 2), name=name))
    if sample.n < least:
        raise Refusal("too_few", f"{name} counts {sample.n}; at least {least} are needed.")
    return sample


def clean_families(
    families: Mapping[str, ArrayLike], *, least: int = 2, fewest: int = 2
) -> dict[str, Values]:
    """Give `fewest` or more named families as clean rows of at least `least` numbers each."""
    check_number_of_families(len(families), fewest)
    return {
        name: clean_values(values, least=least, name=f"family {name!r}")
        for name, values in families.items()
    }


def check_number_of_families(count: int, fewest: int = 2) -> None:
    """Refuse fewer than `fewest` families."""
    if count < fewest:
        raise Refusal(
            "too_few_families", f"{count} families are given; at least {fewest} are needed."
        )


def settled(values: Values, margin: float = 0.0, *, scale: float | None = None) -> Values:
    """Give `values` less `margin` without the last digits' noise, so that what ties stays tied.

    0.31 - 0.10 and 0.21 differ in binary; ranks would call them different, and a p would move with
    the unit. Numbers closer than 1e-12 of `scale` (the largest number they were worked out from)
    are made equal. Good for ranking only: the numbers come back divided by the scale.
    """
    largest = max(float(np.abs(values).max()), abs(margin), scale or 0.0)
    if largest == 0:
        return values
    rounded: Values = np.round((values - margin) / largest, 12)
    return rounded


def require_spread(values: Values, *, name: str = "the sample") -> None:
    """Refuse a sample whose numbers are all equal."""
    if np.ptp(values) == 0:
        raise Refusal(
            "zero_spread", f"All {values.size} numbers of {name} are equal: there is no spread."
        )
