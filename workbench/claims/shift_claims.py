"""Claims on core shift: a quantity nobody reads, but that the walls round a bore tell."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from typing import TYPE_CHECKING

import pandas as pd

from workbench.castings.answers import Answers
from workbench.castings.inspection import CORE_SHIFT
from workbench.castings.places import WALL
from workbench.claims.claim import Claim, FaultyClaim
from workbench.claims.verdict import Threat
from workbench.errors import Refusal
from workbench.records.rounding import quantity_text
from workbench.records.settings import Settings

if TYPE_CHECKING:
    from workbench.castings.bores.core_shift import CoreShifts
    from workbench.castings.calibration import Calibrations
    from workbench.records.intake import Records

OF_GAUGES = ("no_gauge_uncertainty",)


class Shifts:
    """The core shifts of a study as readings, found when a claim first asks for them.

    Where a study has readings of `core_shift` themselves, those are used and nothing is derived.
    """

    def __init__(self, records: Records, settings: Settings, calibrations: Calibrations) -> None:
        self._given = (records, settings, calibrations)
        self._found: CoreShifts | None = None
        self._why = ""

    def records(self, entries: Collection[Claim | FaultyClaim]) -> Records:
        """Give the records, with a cell for the shift of every bore where a claim is on it."""
        from workbench.castings.bores.shift_readings import shift_cells
        from workbench.castings.inspection import inspect_study

        records, settings, calibrations = self._given
        asked = any(isinstance(one, Claim) and one.quantity == CORE_SHIFT for one in entries)
        length = asked and settings.quantities[CORE_SHIFT].kind == "length"
        if not length or (records.cells["quantity"] == CORE_SHIFT).any():
            return records
        answers = Answers()
        walls = records.cells[records.cells["quantity"] == WALL]
        inspection = inspect_study(walls, settings, calibrations)
        self._found = answers.of(CORE_SHIFT, inspection.core_shifts)
        if self._found is None:
            self._why = answers.refused[CORE_SHIFT]
            return records
        cells = pd.concat([records.cells, shift_cells(self._found)], ignore_index=True)
        return replace(records, cells=cells)

    def require(self, claim: Claim) -> None:
        """Refuse a claim on core shift that cannot be judged, with the reason.

        Raises
        ------
        Refusal
            `no_shift`; `shift_of_blocks` for a claim on the very blocks measured.
        """
        if claim.quantity != CORE_SHIFT:
            return
        if self._why:
            raise Refusal("no_shift", self._why)
        if self._found is not None and claim.scope == "block":
            raise Refusal(
                "shift_of_blocks",
                "A core shift is found from many walls, so no repeated reading shows its error, "
                "and a claim on the very blocks measured is not judged; `workbench place` gives "
                "the shift of each block with its region.",
            )

    def told(
        self, claim: Claim, threats: tuple[Threat, ...], settings: Settings
    ) -> tuple[Threat, ...]:
        """Give the threats to a claim: to one on a derived shift, those that hold for it.

        What gauges share drops out of a shift, and how far errors of measuring may still lengthen
        it is said in their place.
        """
        if claim.quantity != CORE_SHIFT or self._found is None:
            return threats
        kept = tuple(threat for threat in threats if threat.code not in OF_GAUGES)
        return (*kept, self._lengthened(claim, self._found, settings))

    def _lengthened(self, claim: Claim, shifts: CoreShifts, settings: Settings) -> Threat:
        from workbench.castings.bores.shift_readings import short_shifts

        found = short_shifts(shifts)
        parts = [
            f"{found[family].short} of {found[family].bores} {settings.family_label(family)} bores "
            f"(their mean at most {quantity_text(too_long, too_long, found[family].unit)} too long)"
            for family in (claim.candidate, claim.reference)
            if family in found and (too_long := found[family].too_long) > 0
        ]
        return Threat(
            code="derived_length",
            text="The core shift of a bore is derived: the length of a vector found from the walls "
            "round it, freed of what errors of measuring add to a length."
            + (
                f" Where the shift is within twice its error, too little is taken off: "
                f"{'; '.join(parts)}."
                if parts
                else ""
            ),
        )
