"""Everything a study read of its blocks, quantity by quantity, ready to be asked about a block."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial

import pandas as pd

from workbench.castings.answers import Answers
from workbench.castings.bores.core_shift import CoreShifts, core_shifts
from workbench.castings.bores.wall_model import WallModel, wall_model
from workbench.castings.calibration import Calibrations
from workbench.castings.correction import corrected_moments
from workbench.castings.gauge_errors import gauge_errors
from workbench.castings.places import WALL, Places, places_of
from workbench.errors import Refusal
from workbench.records.settings import Settings

DECK, HARDNESS, MASS = "deck_thickness", "hardness", "mass"
CORE_SHIFT = "core_shift"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Inspection:
    """The places of each quantity read, and the core shifts found from the walls.

    `families` gives the family of each block. `not_answered` says of what is missing why it is: by
    the name of the quantity, or `core_shift`.
    """

    settings: Settings
    places: Mapping[str, Places]
    shifts: CoreShifts | None
    families: Mapping[str, str]
    not_answered: Mapping[str, str]

    def of(self, quantity: str) -> Places:
        """Give the places of a quantity, or refuse it with the reason there are none."""
        if quantity not in self.places:
            why = self.not_answered.get(quantity)
            said = quantity.replace("_", " ")
            raise Refusal("no_readings", why or f"There is no reading of {said} in the study.")
        return self.places[quantity]

    def core_shifts(self) -> CoreShifts:
        """Give the core shifts, or refuse them with the reason."""
        if self.shifts is None:
            raise Refusal("no_shift", self.not_answered[CORE_SHIFT])
        return self.shifts

    def family(self, block: str) -> str:
        """Give the family of a block; refused (`no_such_block`) for one that was not read."""
        if block not in self.families:
            raise Refusal("no_such_block", f"There is no reading of a block “{block}” here.")
        return self.families[block]

    def wall_model(self, family: str) -> WallModel:
        """Give the roughness of walls: of the family, or of the study where it is too small."""
        walls = self.of(WALL)
        try:
            return wall_model(walls.of_family(family))
        except Refusal:
            return wall_model(walls)


def inspect_study(
    cells: pd.DataFrame, settings: Settings, calibrations: Calibrations | None = None
) -> Inspection:
    """Gather the readings of a study by quantity and place, corrected where they can be.

    A quantity whose units do not go together (two hardness scales) is left out with the reason.
    """
    known = calibrations or Calibrations()
    answers = Answers()
    places = {}
    for name in cells["quantity"].unique():
        mine = cells[cells["quantity"] == name]
        found = answers.of(str(name), partial(gathered, mine, settings, str(name), known))
        if found is not None:
            places[str(name)] = found
    shifts = None
    if WALL in places:
        shifts = answers.of(CORE_SHIFT, lambda: core_shifts(places[WALL]))
    else:
        answers.refused[CORE_SHIFT] = answers.refused.get(WALL, "No wall was read.")
    blocks = cells[["block", "family"]].drop_duplicates("block")
    return Inspection(
        settings=settings,
        places=places,
        shifts=shifts,
        families=dict(zip(blocks["block"], blocks["family"], strict=True)),
        not_answered=answers.refused,
    )


def gathered(
    cells: pd.DataFrame,
    settings: Settings,
    quantity: str,
    calibrations: Calibrations,
    unit: str | None = None,
) -> Places:
    """Gather the cells of one quantity by place, corrected, in `unit` or that of the settings.

    Raises
    ------
    Refusal
        As `places_of`; `unit_mismatch` or `hardness_scale` where a cell cannot be given in `unit`.
    """
    unit = settings.quantities[quantity].unit if unit is None else unit
    shown = corrected_moments(cells, unit, calibrations)
    errors = gauge_errors(shown, settings, calibrations, unit)
    corrected = bool((shown["corrected_by"] != "").any())
    worst = max((error.uncertainty for error in errors), default=0.0) if corrected else None
    return places_of(shown, settings, quantity, gauge_uncertainty=worst, errors=errors)
