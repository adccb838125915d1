"""Readings that say only that a value is not above them, and the verdict wherever they may lie.

They are left out, and what is left so lies too high. Between nought and what was shown is all
there is to them: the difference is taken anew with those of one family at nought and those of the
other as shown, both ways, and the verdict is held against both; for a spread, with that of one
family at its least and that of the other at its greatest. No distribution is assumed.
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
    """Say between what differences the readings left out as censored put the true one."""
    if settings.quantities[claim.quantity].signed:
        return
    if not any(part.reason == "below" for part in evidence.left_out):
        return
    try:
        if claim.figure == "spread":
            ends = list(_of_spreads(claim, evidence, cells, settings, seed))
        else:
            ends = [
                _with_them(claim, evidence, cells, lowest, settings, seed)
                for lowest in (claim.candidate, claim.reference)
            ]
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


def _taken(
    claim: Claim, evidence: Evidence, cells: pd.DataFrame, lowest: Sequence[str]
) -> tuple[pd.DataFrame, Evidence]:
    """Take them in: those of the families `lowest` at nought, all others as shown."""
    below = cells["contact"] == BELOW
    taken = cells.assign(contact=np.where(below, "good", cells["contact"]))
    taken.loc[below & cells["family"].isin(lowest), [name for name in SUMS if name != "n"]] = 0
    return taken, gather(
        taken,
        quantity=claim.quantity,
        candidate=claim.candidate,
        reference=claim.reference,
        unit=evidence.unit,
        calibrations=evidence.calibrations,
    )


def _of_spreads(
    claim: Claim,
    evidence: Evidence,
    cells: pd.DataFrame,
    settings: Settings,
    seed: Sequence[int],
) -> Iterator[tuple[float, float, Outcome]]:
    """Give the same with one family's spread at its least and the other's at its greatest."""
    from workbench.claims.censored_spreads import spread_ends, with_spreads
    from workbench.claims.figure_claims import analyse_figure, judge_figure

    taken, shown = _taken(claim, evidence, cells, ())
    _, nought = _taken(claim, evidence, cells, (claim.candidate, claim.reference))
    analysis = analyse_figure(claim, shown, taken, settings, seed)
    ours, others = spread_ends(nought, shown)
    for pair in ((ours[0], others[1]), (ours[1], others[0])):
        found = judge_figure(claim, with_spreads(analysis, *pair), settings)
        other = found.analysis.difference
        yield other.estimate, other.standard_error, found.decision.outcome


def _with_them(
    claim: Claim,
    evidence: Evidence,
    cells: pd.DataFrame,
    lowest: str,
    settings: Settings,
    seed: Sequence[int],
) -> tuple[float, float, Outcome]:
    """Give difference, its error and the outcome with those of the family `lowest` at nought."""
    taken, whole = _taken(claim, evidence, cells, (lowest,))
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
