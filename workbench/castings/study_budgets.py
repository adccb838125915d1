"""Budgets a study can show: one reading and one mean of the quantities read most.

The block shown is the one read most, so that the example is as good as the records allow.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, cast

import pandas as pd

from workbench.castings.answers import Answers
from workbench.castings.calibration import Calibrations
from workbench.castings.correction import corrected_moments, reached
from workbench.castings.reading_budget import MeanBudget, mean_budget, scatter_of
from workbench.errors import Refusal
from workbench.records.settings import Settings

if TYPE_CHECKING:
    from workbench.records.store import Records

PLACE = ("bore", "station", "depth")


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyBudgets:
    """By quantity: budgets of one reading, and of a mean where it is of more than one.

    `refused` says why other quantities have none.
    """

    budgets: Mapping[str, tuple[MeanBudget, ...]]
    refused: dict[str, str]


def sound_rows(
    records: Records, quantity: str, unit: str, calibrations: Calibrations
) -> pd.DataFrame:
    """Give the corrected moments of grid readings with good contact.

    Raises
    ------
    Refusal
        `no_readings` where there are none.
    """
    cells = records.cells
    sound = (cells["sampling"] == "grid") & (cells["contact"] == "good") & (cells["n"] > 0)
    mine = cells[sound & (cells["quantity"] == quantity)]
    mine = mine[reached(mine, unit, calibrations)]
    if mine.empty:
        raise Refusal("no_readings", f"No reading of {quantity} may enter a mean.")
    return corrected_moments(mine, unit, calibrations)


def example_budgets(
    records: Records, settings: Settings, calibrations: Calibrations, quantity: str
) -> tuple[MeanBudget, MeanBudget]:
    """Budget one reading of a quantity, and the mean of its bore (or block, where none is named).

    Raises
    ------
    Refusal
        As `sound_rows` and `mean_budget`.
    """
    known = settings.quantities[quantity]
    rows = sound_rows(records, quantity, known.unit, calibrations)
    scatter = scatter_of(rows)
    totals = rows.groupby(["block", "bore"])["n"].sum().sort_index()
    block, bore = cast("tuple[str, str]", totals.idxmax())
    mine = rows[(rows["block"] == block) & (rows["bore"] == bore)]
    one = mine.sort_values(list(PLACE)).iloc[:1]
    whose = f"block {block}" + (f", bore {bore}" if bore else "")
    at = ", ".join(part for part in one[["station", "depth"]].iloc[0] if part)
    given = (scatter, settings.gauges, calibrations)
    return (
        mean_budget(
            f"one reading of {known.label} ({whose}{f', {at}' if at else ''})",
            one,
            *given,
            single=True,
        ),
        mean_budget(f"mean {known.label} of {whose}", mine, *given),
    )


def study_budgets(records: Records, settings: Settings, calibrations: Calibrations) -> StudyBudgets:
    """Give the example budgets of the quantity read most of each kind; features have none.

    A mean of a single reading is that reading, and is not budgeted again.
    """
    answers = Answers()
    counts = records.cells.groupby("quantity")["n"].sum()
    most: dict[str, str] = {}
    for name, known in settings.quantities.items():
        if name in counts and known.kind != "feature":
            before = most.get(known.kind)
            if before is None or counts[name] > counts[before]:
                most[known.kind] = name
    found = {}
    for name in most.values():
        made = answers.of(name, partial(example_budgets, records, settings, calibrations, name))
        if made is not None:
            found[name] = made if made[1].readings > 1 else made[:1]
    return StudyBudgets(budgets=found, refused=answers.refused)
