"""The thinnest wall of every block against the least wall of each duty, given its uncertainty.

Places hunted for count: they can only lower the thinnest. So do places read only as not above a
value; a block with one is never said to conform.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from workbench.castings.calibration import Calibrations
from workbench.castings.correction import corrected_moments, reached
from workbench.castings.hidden_places import hidden_places
from workbench.castings.limits import AtLimit, at_limit
from workbench.castings.reading_budget import MeanBudget, mean_budget, scatter_of
from workbench.castings.stated_rules import Duty, stated_duties
from workbench.errors import Refusal
from workbench.inference.measuring.conformity import Risks
from workbench.records.columns import BELOW
from workbench.records.settings import Settings
from workbench.records.units import factor

if TYPE_CHECKING:
    from workbench.records.store import Records

WALL = "wall_thickness"
PLACE = ["family", "block", "bore", "station", "depth", "sampling", "contact"]
LEAST_BLOCKS = 5  # of which a spread is told


@dataclass(frozen=True, slots=True, kw_only=True)
class Thinnest:
    """The thinnest place of one block; `at_most` where some were read only as not above a value."""

    block: str
    family: str
    measured: MeanBudget
    at_most: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class FamilyRisk:
    """What passing every block by its thinnest wall does to a family (JCGM 106, 9.5)."""

    family: str
    blocks: int
    risks: Risks


@dataclass(frozen=True, slots=True, kw_only=True)
class WallsAtLimit:
    """The thinnest place of each block against the least wall of one duty, a block a row.

    The thinnest of many readings lies below the thinnest place, the more so the more were read, so
    a block that conforms here does so the more surely. `families` has those whose spread is known.
    """

    duty: str
    note: str
    least: float
    unit: str
    blocks: tuple[tuple[str, str, AtLimit], ...]
    families: tuple[FamilyRisk, ...] = ()

    def count(self, outcome: str) -> int:
        """Count the blocks of one outcome."""
        return sum(found.outcome == outcome for _, _, found in self.blocks)

    def nearest(self) -> AtLimit:
        """Give the block whose wall lies nearest to the limit."""
        return min(
            (found for _, _, found in self.blocks),
            key=lambda found: abs(found.measured.value - self.least),
        )


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
    if not duties:
        return ()
    unit = settings.quantities[WALL].unit
    cells = records.cells
    usable = cells["contact"].isin(["good", BELOW]) & (cells["n"] > 0)
    mine = cells[usable & (cells["quantity"] == WALL)]
    mine = mine[reached(mine, unit, calibrations)]
    if mine.empty:
        return ()
    thinnest = tuple(_thinnest(corrected_moments(mine, unit, calibrations), settings, calibrations))
    return tuple(_held(name, duty, thinnest, unit, settings) for name, duty in duties.items())


def _thinnest(
    rows: pd.DataFrame, settings: Settings, calibrations: Calibrations
) -> Iterator[Thinnest]:
    scatter = scatter_of(rows)
    rows["place"] = rows.groupby(PLACE).ngroup()
    means = rows.groupby([*PLACE, "place"], as_index=False)["mean"].mean()
    below = set(means.loc[means["contact"] == BELOW, "block"])
    below |= {block for block, _ in hidden_places(rows, settings.truncations, WALL)}
    least = means.loc[means.groupby("block")["mean"].idxmin()]
    there = rows[rows["place"].isin(least["place"])]
    of_place = there.groupby("place").indices
    for found in least.to_dict("records"):
        at = (f"bore {found['bore']}" if found["bore"] else "", found["station"], found["depth"])
        hunted = "hunted for" if found["sampling"] != "grid" else ""
        yield Thinnest(
            block=str(found["block"]),
            family=str(found["family"]),
            measured=mean_budget(
                ", ".join(filter(None, (f"Block {found['block']}", *at, hunted))),
                there.iloc[of_place[found["place"]]],
                scatter,
                settings.gauges,
                calibrations,
            ),
            at_most=found["block"] in below,
        )


def _held(
    name: str, duty: Duty, thinnest: Sequence[Thinnest], unit: str, settings: Settings
) -> WallsAtLimit:
    assert duty.least_wall is not None
    least = duty.least_wall * factor(duty.unit or unit, unit)
    return WallsAtLimit(
        duty=duty.label or name,
        note=duty.note,
        least=least,
        unit=unit,
        blocks=tuple(
            (
                of.block,
                of.family,
                at_limit(
                    of.measured,
                    lower=least,
                    confidence=settings.confidence,
                    at_most=of.at_most,
                ),
            )
            for of in thinnest
        ),
        families=tuple(_risks(thinnest, least, settings.confidence)),
    )


def _risks(thinnest: Sequence[Thinnest], least: float, confidence: float) -> Iterator[FamilyRisk]:
    """Give the risks of each family whose thinnest walls are known in enough blocks.

    The walls are taken as normal. What they spread by measuring is taken off their spread.
    """
    for family in dict.fromkeys(of.family for of in thinnest):
        mine = sorted(
            (of.measured for of in thinnest if of.family == family and not of.at_most),
            key=lambda of: of.value,
        )
        if len(mine) < LEAST_BLOCKS:
            continue
        values = np.array([of.value for of in mine])
        errors = np.array([of.budget.combined for of in mine])
        variance = float(values.var(ddof=1) - np.mean(errors**2))
        middle = mine[len(mine) // 2]
        if variance <= 0:
            continue
        spread = (float(values.mean()), variance**0.5)
        try:
            found = at_limit(middle, lower=least, confidence=confidence, family=spread)
        except Refusal:
            continue
        assert found.family is not None
        yield FamilyRisk(family=family, blocks=len(mine), risks=found.family)
