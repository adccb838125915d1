"""What could make hardness readings void, and with them a verdict."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from workbench.castings.void_hardness import void_findings
from workbench.claims.claim import Claim
from workbench.claims.evidence import Evidence
from workbench.claims.verdict import Threat
from workbench.records.settings import Settings

if TYPE_CHECKING:
    from workbench.records.intake import Records


def hardness_threats(
    claim: Claim, evidence: Evidence, records: Records, settings: Settings
) -> Iterator[Threat]:
    """List what speaks against the hardness readings of the two families."""
    if settings.quantities[claim.quantity].kind != "hardness":
        return
    cells = records.cells[records.cells["family"].isin((claim.candidate, claim.reference))]
    enter = {
        gauge
        for family in (claim.candidate, claim.reference)
        for gauge in evidence.names(family, "gauge")
    }
    for finding in void_findings(cells, settings, evidence.calibrations):
        if finding.gauge in enter:
            yield Threat(code=finding.code, text=finding.sentence)
