"""Two gauges, or two operators, at the same places: bias with its interval, limits of agreement."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import pandas as pd

from workbench.castings.calibration import Calibrations
from workbench.castings.gauge_studies import FACTORS, places_of_labels, single_readings
from workbench.errors import Refusal
from workbench.inference.measuring.agreement import Agreement, agreement
from workbench.inference.nested.mean_squares import MeanSquare
from workbench.records.settings import Settings

if TYPE_CHECKING:
    from workbench.records.store import Records


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
    records: Records, settings: Settings, calibrations: Calibrations
) -> tuple[RecordedAgreement, ...]:
    """Compare each two gauges, and each two operators, on the places both read.

    Places of one block are alike, so the bias is judged between blocks wherever there are several
    with several places.
    """
    met = set(records.cells["quantity"])
    answer = []
    for name, known in settings.quantities.items():
        if name not in met or known.kind == "feature":
            continue
        readings = single_readings(records, name, known.unit, calibrations)
        if readings.empty:
            continue
        for factor in FACTORS:
            for first, second, pairs, together in places_of_labels(readings, factor):
                repeats = [_repeated(readings, factor, label) for label in (first, second)]
                found = _compared(name, known.unit, factor, first, second, pairs, repeats)
                answer.append(replace(found, together=together))
    return tuple(answer)


def _repeated(readings: pd.DataFrame, factor: str, label: str) -> MeanSquare | None:
    """Give the variance of a reading repeated at its place by the same hand; None without one."""
    other = FACTORS[1 - FACTORS.index(factor)]
    again = readings[readings[factor] == label].groupby(["part", other])["value"]
    freedom = int((again.size() - 1).sum())
    squares = float(((again.size() - 1) * again.var().fillna(0.0)).sum())
    return MeanSquare(value=squares / freedom, degrees_of_freedom=freedom) if freedom else None


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
