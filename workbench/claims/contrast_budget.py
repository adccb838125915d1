"""The uncertainty budget of a difference of families: blocks and readings, and what is shared."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbench.castings.calibration import Calibrations
from workbench.castings.reading_budget import MeanBudget
from workbench.claims.analysis import analyse
from workbench.claims.claim import Claim
from workbench.claims.evidence import gather
from workbench.errors import Refusal
from workbench.inference.measuring.budget import Budget, Component
from workbench.records.settings import Settings

if TYPE_CHECKING:
    from workbench.claims.ledger import Ledger
    from workbench.records.store import Records

OWN = {
    "family": "spread of blocks, bores and readings",
    "block": "scatter of readings",
}


def contrast_budget(
    quantity: str,
    ledger: Ledger,
    records: Records,
    settings: Settings,
    calibrations: Calibrations,
) -> MeanBudget | None:
    """Budget the difference of the first claim on the mean of a quantity; None where none can be.

    Its combined uncertainty and degrees of freedom are those of the verdict. What a claim cannot be
    answered for is said by its verdict and not here.
    """
    for claim in ledger.entries:
        if isinstance(claim, Claim) and (claim.quantity, claim.figure) == (quantity, "mean"):
            try:
                return _budget(claim, records, settings, calibrations)
            except Refusal:
                continue
    return None


def _budget(
    claim: Claim, records: Records, settings: Settings, calibrations: Calibrations
) -> MeanBudget:
    evidence = gather(
        records.cells,
        quantity=claim.quantity,
        candidate=claim.candidate,
        reference=claim.reference,
        unit=claim.unit,
        calibrations=calibrations,
    )
    analysis = analyse(evidence, settings.gauges, claim.scope, asked=claim.analysis)
    own = Component(
        name=OWN[claim.scope],
        kind="A",
        stated=analysis.readings_only.standard_error,
        degrees_of_freedom=analysis.readings_only.degrees_of_freedom,
    )
    shared = analysis.shared.budget.components if analysis.shared.budget else ()
    first, second = (settings.family_label(of) for of in (claim.candidate, claim.reference))
    return MeanBudget(
        label=f"{first} minus {second}, {settings.quantities[claim.quantity].label}",
        unit=claim.unit,
        value=analysis.difference.estimate,
        readings=sum(evidence.count(of).readings for of in (claim.candidate, claim.reference)),
        budget=Budget(components=(own, *shared)),
        finest=evidence.finest,
    )
