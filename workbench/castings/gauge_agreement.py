"""Two gauges, or two operators, at the same places: bias with its interval, limits of agreement."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import combinations

import numpy as np
import pandas as pd

from workbench.castings.gauge_studies import FACTORS
from workbench.errors import Refusal
from workbench.inference.grouping import Codes, group_codes, rows_of
from workbench.inference.measuring.agreement import Agreement, agreement
from workbench.inference.nested.mean_squares import MeanSquare
from workbench.inference.samples import Values
from workbench.records.settings import Settings

NAMES = ("first", "second")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RecordedAgreement:
    """What two labels of a factor read at the same places, first minus second.

    `pairs` has `block`, `first` and `second` (means of the readings there), a row a place, in
    `unit`, corrected; the limits of `found` are for single readings all the same. `found` is None
    where it was refused, and `why` says why. `together` tells that operators changed with gauges
    at all these places, so that the two cannot be told apart.
    """

    quantity: str
    unit: str
    factor: str
    first: str
    second: str
    pairs: pd.DataFrame = field(repr=False)
    found: Agreement | None = None
    why: str = ""
    together: bool = False


def recorded_agreements(
    readings: Mapping[str, pd.DataFrame], settings: Settings
) -> tuple[RecordedAgreement, ...]:
    """Compare each two gauges, and each two operators, by the `repeated_readings` of either.

    Places of one block are alike, so the bias is judged between blocks wherever there are several
    with several places.
    """
    answer = []
    for name, mine in readings.items():
        for factor in FACTORS if len(mine) else ():
            repeats = {label: _repeated(mine.iloc[at]) for label, at in rows_of(mine[factor])}
            for first, second, pairs, together in _places_of_labels(mine, factor):
                own = [repeats[label] for label in (first, second)]
                unit = settings.quantities[name].unit
                found = _compared(name, unit, factor, first, second, pairs, own)
                answer.append(replace(found, together=together))
    return tuple(answer)


def _repeated(readings: pd.DataFrame) -> MeanSquare | None:
    """Give the variance of a reading repeated at its place by the same hand; None without one."""
    codes, groups = group_codes(readings, ["part", *FACTORS])
    value, freedom = readings["value"].to_numpy(float), len(codes) - len(groups)
    means = np.bincount(codes, value) / np.bincount(codes)
    squares = float(((value - means[codes]) ** 2).sum())
    return MeanSquare(value=squares / freedom, degrees_of_freedom=freedom) if freedom else None


def _places_of_labels(
    readings: pd.DataFrame, factor: str
) -> Iterator[tuple[str, str, pd.DataFrame, bool]]:
    """Give each pair of labels with the places both read: block and the mean of either.

    A row a place, with `first` and `second` in the unit of the readings, and the variances of
    these means in those of a single reading (`first_share`, `second_share`: 1/m of m readings);
    then whether the other factor changed with them. It did not where places were read by both
    under the same one; then only these count.
    """
    other = pd.factorize(readings[FACTORS[1 - FACTORS.index(factor)]])[0]
    part, value = readings["part"].to_numpy(), readings["value"].to_numpy(float)
    ways = int(other.max()) + 1
    blocks = readings["block"].array[np.unique(part, return_index=True)[1]]
    labels = [(label, at) for label, at in rows_of(readings[factor]) if label]
    for (first, mine), (second, yours) in combinations(labels, 2):
        for key, width in ((part * ways + other, ways), (part, 1)):
            first_means, second_means = (_means(key[at], value[at]) for at in (mine, yours))
            places = _shared(first_means, second_means, width)
            if len(places):
                yield first, second, places.assign(block=blocks[places.index]), width < ways
                break


def _means(key: Codes, value: Values) -> tuple[Codes, Values, Values]:
    """Give the different keys, and the mean and the number of the readings of each."""
    keys, codes, counts = np.unique(key, return_inverse=True, return_counts=True)
    return keys, np.bincount(codes, value) / counts, counts.astype(float)


def _shared(
    first: tuple[Codes, Values, Values], second: tuple[Codes, Values, Values], width: int
) -> pd.DataFrame:
    """Give the places, `width` keys each, at which both have a key: the means over these keys."""
    keys, *at = np.intersect1d(first[0], second[0], assume_unique=True, return_indices=True)
    parts, codes = np.unique(keys // width, return_inverse=True)
    many, found = np.bincount(codes), {}
    for name, (_, means, counts), mine in zip(NAMES, (first, second), at, strict=True):
        found[name] = np.bincount(codes, means[mine]) / many
        found[f"{name}_share"] = np.bincount(codes, 1 / counts[mine]) / many**2
    return pd.DataFrame(found, index=parts)


def _compared(
    quantity: str,
    unit: str,
    factor: str,
    first: str,
    second: str,
    pairs: pd.DataFrame,
    repeats: Sequence[MeanSquare | None],
) -> RecordedAgreement:
    blocks = pairs["block"].nunique()
    grouped = 1 < blocks < len(pairs)
    found, why = None, ""
    try:
        found = agreement(
            pairs["first"].to_numpy(),
            pairs["second"].to_numpy(),
            pairs["block"].to_numpy() if grouped else None,
        ).of_single_readings(
            *(
                replace(repeat, value=(1 - float(pairs[column].mean())) * repeat.value)
                for column, repeat in zip(("first_share", "second_share"), repeats, strict=True)
                if repeat is not None
            )
        )
    except Refusal as refusal:
        why = str(refusal).rstrip(".")
    return RecordedAgreement(
        quantity=quantity,
        unit=unit,
        factor=factor,
        first=first,
        second=second,
        pairs=pairs.reset_index(drop=True),
        found=found,
        why=why,
    )
