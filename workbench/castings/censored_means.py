"""Means of families some of whose readings say only that a value is not above them.

Left out, they make the mean too large; taken as read, too large as well and too even. Their
likelihood, the chance of lying below, gives what both miss. Readings are taken as independent
here, so the interval is too short where those of a block are alike: a claim never rests on it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from workbench.castings.answers import Answers
from workbench.castings.calibration import Calibrations
from workbench.castings.correction import corrected_values, reached
from workbench.inference.measuring.censoring import CensoredNormal, censored_normal
from workbench.records.columns import BELOW
from workbench.records.settings import Settings

if TYPE_CHECKING:
    from workbench.records.store import Records

BY = ["family", "block", "gauge", "calibration", "sampling", "contact"]


@dataclass(frozen=True, slots=True, kw_only=True)
class CensoredMean:
    """One quantity in one family, in `unit`; `fitted` is None where `why` says why not.

    `seen` and `below` count readings at grid places; `mean_seen` is the plain mean of those seen.
    """

    quantity: str
    family: str
    unit: str
    seen: int
    below: int
    mean_seen: float
    fitted: CensoredNormal | None
    why: str = ""


def censored_means(
    records: Records, settings: Settings, calibrations: Calibrations
) -> tuple[CensoredMean, ...]:
    """Give every family's mean of each quantity of which it has readings at or below a limit."""
    below = records.cells[records.cells["contact"] == BELOW]
    return tuple(
        found
        for name, known in settings.quantities.items()
        if (below["quantity"] == name).any()
        for found in _of_quantity(records, name, known.unit, calibrations)
    )


def _of_quantity(
    records: Records, quantity: str, unit: str, calibrations: Calibrations
) -> Iterator[CensoredMean]:
    values = records.values(quantity, by=BY)
    sound = values["contact"].isin(["good", BELOW]) & (values["sampling"] == "grid")
    values = values[sound & reached(values, unit, calibrations)]
    if values.empty:
        return
    found = corrected_values(values, unit, calibrations, quantity)
    for family, mine in found.groupby("family", sort=False):
        marked = mine["contact"] == BELOW
        if marked.any():
            yield _fitted(quantity, str(family), unit, mine, marked)


def _fitted(
    quantity: str, family: str, unit: str, mine: pd.DataFrame, marked: pd.Series[bool]
) -> CensoredMean:
    n, value = mine["n"], mine["value"]
    seen = int(n[~marked].sum())
    answers = Answers()
    fitted = answers.of(
        family,
        partial(censored_normal, np.repeat(value.to_numpy(), n), np.repeat(marked.to_numpy(), n)),
    )
    return CensoredMean(
        quantity=quantity,
        family=family,
        unit=unit,
        seen=seen,
        below=int(n[marked].sum()),
        mean_seen=float((n * value)[~marked].sum() / seen) if seen else float("nan"),
        fitted=fitted,
        why=answers.refused.get(family, ""),
    )
