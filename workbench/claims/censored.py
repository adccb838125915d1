"""Readings that say only that a value is not above them, and the verdict wherever they may lie.

They are left out, and what is left so lies too high. Between nought and what was shown is all
there is to them: the difference is taken anew with those of one family at nought and those of the
other as shown, both ways, and the verdict is held against both. No distribution is assumed.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import pandas as pd

from workbench.claims.analysis import analyse
from workbench.claims.claim import Claim
from workbench.claims.evidence import Evidence, gather
from workbench.claims.rules import Decision, Outcome, decide
from workbench.claims.verdict import Threat
from workbench.errors import Refusal
from workbench.records.columns import BELOW
from workbench.records.quantity_table import SHARE
from workbench.records.reduction import SUMS
from workbench.records.rounding import interval_text, quantity_text
from workbench.records.settings import Settings


def censored_threats(
    claim: Claim,
    evidence: Evidence,
    cells: pd.DataFrame,
    decision: Decision,
    settings: Settings,
    seed: Sequence[int],
) -> Iterator[Threat]:
    """Say between what differences the readings left out as censored put the true one.

    A spread is neither least nor greatest at these ends, so nothing is said of it.
    """
    if claim.figure == "spread" or settings.quantities[claim.quantity].signed:
        return
    if not any(part.reason == "below" for part in evidence.left_out):
        return
    ends = []
    for lowest in (claim.candidate, claim.reference):
        try:
            ends.append(_with_them(claim, evidence, cells, lowest, settings, seed))
        except Refusal as refusal:
            yield Threat(
                code="censored_bounds",
                text="What the readings not above their limit would make of the difference cannot "
                f"be told: {refusal}",
            )
            return
    low, high = sorted(estimate for estimate, _, _ in ends)
    error = max(error for _, error, _ in ends)
    outcomes = tuple(dict.fromkeys(outcome for _, _, outcome in ends))
    unit = SHARE if claim.figure == "share_below" else claim.unit
    least, most = (quantity_text(end, error, unit) for end in (low, high))
    span = least if least == most else interval_text(low, high, unit, uncertainty=error)
    stands = (
        "the verdict is the same at both ends"
        if outcomes == (decision.outcome,)
        else f"the claim would be {' or '.join(outcomes)} at these ends, so the verdict leans on "
        "where they lie"
    )
    yield Threat(
        code="censored_bounds",
        text="With the readings not above their limit anywhere from nought to it, the difference "
        f"is {span}; {stands}.",
    )


def _with_them(
    claim: Claim,
    evidence: Evidence,
    cells: pd.DataFrame,
    lowest: str,
    settings: Settings,
    seed: Sequence[int],
) -> tuple[float, float, Outcome]:
    """Give difference, its error and the outcome with those of the family `lowest` at nought."""
    below = cells["contact"] == BELOW
    taken = cells.assign(contact=np.where(below, "good", cells["contact"]))
    taken.loc[below & (cells["family"] == lowest), [name for name in SUMS if name != "n"]] = 0
    whole = gather(
        taken,
        quantity=claim.quantity,
        candidate=claim.candidate,
        reference=claim.reference,
        unit=evidence.unit,
        calibrations=evidence.calibrations,
    )
    if claim.figure != "mean":
        from workbench.claims.figure_claims import analyse_figure, judge_figure

        lowered = analyse_figure(claim, whole, taken, settings, seed)
        other = judge_figure(claim, lowered, settings)
        shown = other.analysis.difference
        return shown.estimate, shown.standard_error, other.decision.outcome
    difference = analyse(whole, settings.gauges, claim.scope, asked=claim.analysis).difference
    found = decide(
        difference,
        direction=claim.direction,
        margin=claim.margin,
        confidence=settings.confidence,
    )
    return difference.estimate, difference.standard_error, found.outcome
