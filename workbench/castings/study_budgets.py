"""Budgets a study can show: one reading and one mean of a quantity, and its walls at their limits.

The block shown is the one read most, so that the example is as good as the records allow.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, cast

import pandas as pd

from workbench.castings.answers import Answers
from workbench.castings.calibration import Calibrations
from workbench.castings.correction import corrected_moments, reached
from workbench.castings.limits import AtLimit, at_limit
from workbench.castings.reading_budget import MeanBudget, mean_budget, scatter_of
from workbench.castings.stated_rules import Duty, stated_duties
from workbench.errors import Refusal
from workbench.records.settings import Settings
from workbench.records.units import factor

if TYPE_CHECKING:
    from workbench.records.store import Records

WALL = "wall_thickness"
PLACE = ("bore", "station", "depth")


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyBudgets:
    """Budgets of one reading, and of a mean where it is of more; `refused` says why others lack."""

    budgets: tuple[tuple[MeanBudget, ...], ...]
    refused: dict[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class WallsAtLimit:
    """The thinnest place of each block against the least wall of one duty, a block a row.

    The thinnest of many readings lies below the thinnest place, the more so the more were read, so
    a block that conforms here does so the more surely.
    """

    duty: str
    note: str
    least: float
    unit: str
    blocks: tuple[tuple[str, str, AtLimit], ...]

    def count(self, outcome: str) -> int:
        """Count the blocks of one outcome."""
        return sum(found.outcome == outcome for _, _, found in self.blocks)

    def nearest(self) -> AtLimit:
        """Give the block whose wall lies nearest to the limit."""
        return min(
            (found for _, _, found in self.blocks),
            key=lambda found: abs(found.measured.value - self.least),
        )


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
    found = []
    for name in most.values():
        made = answers.of(name, partial(example_budgets, records, settings, calibrations, name))
        if made is not None:
            found.append(made if made[1].readings > 1 else made[:1])
    return StudyBudgets(budgets=tuple(found), refused=answers.refused)


def walls_at_limits(
    records: Records, settings: Settings, calibrations: Calibrations
) -> tuple[WallsAtLimit, ...]:
    """Hold the thinnest place of every block against the least wall of every duty stated.

    None where no duty states one or no wall was read.

    Raises
    ------
    Refusal
        As `mean_budget`.
    FaultsError
        With the faults of `[fitness]`.
    """
    duties = {name: duty for name, duty in stated_duties(settings).items() if duty.least_wall}
    if not duties or WALL not in set(records.cells["quantity"]):
        return ()
    unit = settings.quantities[WALL].unit
    rows = sound_rows(records, WALL, unit, calibrations)
    scatter = scatter_of(rows)
    keys = ["family", "block", *PLACE]
    rows["place"] = rows.groupby(keys).ngroup()
    means = rows.groupby([*keys, "place"], as_index=False)["mean"].mean()
    thinnest = means.loc[means.groupby("block")["mean"].idxmin()]
    measured = [
        (
            str(block),
            str(family),
            mean_budget(
                f"Block {block}, " + ", ".join(filter(None, (f"bore {bore}", station, depth))),
                rows[rows["place"] == place],
                scatter,
                settings.gauges,
                calibrations,
            ),
        )
        for family, block, bore, station, depth, place in thinnest[
            ["family", "block", *PLACE, "place"]
        ].itertuples(index=False)
    ]
    return tuple(_held(name, duty, measured, unit, settings) for name, duty in duties.items())


def _held(
    name: str,
    duty: Duty,
    measured: list[tuple[str, str, MeanBudget]],
    unit: str,
    settings: Settings,
) -> WallsAtLimit:
    assert duty.least_wall is not None
    least = duty.least_wall * factor(duty.unit or unit, unit)
    return WallsAtLimit(
        duty=duty.label or name,
        note=duty.note,
        least=least,
        unit=unit,
        blocks=tuple(
            (block, family, at_limit(of, lower=least, confidence=settings.confidence))
            for block, family, of in measured
        ),
    )
